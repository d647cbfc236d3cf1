"""The release as a record for machines: JSON, temperatures degC, differences K, SI otherwise. What the papers say,
and what `--verify` compares."""

import json
from typing import Any

from heatproof.kit.fields import fields_of
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Variant
from heatproof.report.assumptions import assumptions, limit_sources
from heatproof.report.citations import data, models
from heatproof.report.evidence import Limit
from heatproof.report.gathered import Gathered
from heatproof.units.quantity import Quantity
from heatproof.units.show import display
from heatproof.verdict.words import ZERO_C

FORMAT = "heatproof release 1"


def record(found: Gathered) -> dict[str, Any]:
    """One object; `json.dumps` takes it."""
    verdict, head = found.verdict, found.variant.head
    return {
        "format": FORMAT,
        "released": found.released,
        "day": found.day,
        "kit": {"name": head.name, "revision": head.revision, "fitted": list(found.variant.fitted)},
        "car": {"name": found.car},
        "uses": uses(found),
        "verdict": verdict.state,
        "sentence": verdict.sentence,
        "required_confidence": verdict.required,
        "cost": verdict.cost,
        "currency": verdict.currency,
        "mass_kg": verdict.mass,
        "labour_s": verdict.labour,
        "limits": [limit_record(one) for one in found.limits],
        "duties": [
            {
                "key": one.key,
                "title": one.name,
                "use": found.project.duties[one.key].use,
                "ambient_degC": one.ambient - ZERO_C,
                "duration_s": one.duration,
                "power_W": one.power,
                "boost_Pa": one.boost,
                "closure": one.closure,
                "heat_W": one.balance,
            }
            for one in verdict.duties
        ],
        "measures": [vars(one) | {"also": list(one.also)} for one in found.why],
        "rating": [cell_record(one) for one in found.cells],
        "ledgers": [
            {
                "part": one.part,
                "duty": one.duty,
                "time_s": one.time,
                "rise_K": one.rise,
                "causes": [{"cause": cause, "rise_K": rise} for cause, rise in one.causes],
            }
            for one in found.ledgers
        ],
        "assumptions": [
            {
                "path": a.path,
                "value": a.value,
                "spread": a.spread,
                "source": a.source,
                "worth_K": a.worth,
                "part": a.part,
            }
            for a in assumptions(found.variant, verdict)
        ],
        "limit_sources": [list(one) for one in limit_sources(found.variant)],
        "open": [
            {"what": one.what, "file": one.where.file, "next_step": one.next_step}
            for one in found.open_findings
        ],
        "deviations": [one.model_dump() for one in found.deviations],
        "cautions": list(verdict.cautions),
        "sources": [vars(one) for one in (*models(found.variant), *data(found.variant))],
        "values": dict(values(found.variant)),
        "inputs": [{"file": one.name, "sha256": one.sha256, "bytes": one.size} for one in found.inputs],
        "project_hash": verdict.project_hash,
        "versions": dict(verdict.versions),
    }


def uses(found: Gathered) -> list[str]:
    """Uses of the duties, in their order."""
    return list(dict.fromkeys(duty.use for duty in found.project.duties.values()))


def limit_record(one: Limit) -> dict[str, Any]:
    """One limit with its evidence."""
    row = one.row
    return {
        "part": one.part,
        "title": one.title,
        "duty": one.duty,
        "duty_title": one.duty_title,
        "state": one.state,
        "limit_degC": one.limit - ZERO_C,
        "margin_K": one.margin,
        "evidence": one.kind,
        "tests": [
            {"log": t.log, "peak_degC": t.peak - ZERO_C, "when": t.when, "note": t.note} for t in one.tests
        ],
        "predicted": None
        if row is None
        else {
            "peak_degC": row.found.peak - ZERO_C,
            "time_s": row.found.time,
            "judged_degC": row.found.judged - ZERO_C,
            "margin_K": row.margin,
            "spread_K": row.half,
            "sd_K": row.sd,
            "confidence": row.confidence,
            "state": row.state,
            "rule": row.found.rule,
        },
        "signed": one.signed.model_dump() if one.signed is not None else None,
    }


def cell_record(one: dict[str, Any]) -> dict[str, Any]:
    """A cell in degC."""
    shown = {key: value for key, value in one.items() if key not in ("ambient", "lat", "atb", "power")}
    for key in ("ambient", "lat", "atb"):
        shown[f"{key}_degC"] = None if one[key] is None else one[key] - ZERO_C
    return shown | {"power_W": one["power"]}


def values(variant: Variant) -> list[tuple[str, str]]:
    """Dotted path and text of every number and name of the variant: what a change list compares."""
    found: list[tuple[str, str]] = []
    _walk(variant.assembly, "", found)
    return found


def _walk(holder: Any, path: str, found: list[tuple[str, str]]) -> None:
    if isinstance(holder, dict):
        for key, below in holder.items():
            _walk(below, f"{path}.{key}" if path else key, found)
        return
    kind: type[Record] = type(holder)
    for key, field in fields_of(kind).items():
        value = getattr(holder, field.name)
        below = f"{path}.{key}" if path else key
        if value is None:
            continue
        if isinstance(value, Record | dict):
            _walk(value, below, found)
        elif isinstance(value, tuple) and value and isinstance(value[0], Record):
            for k, one in enumerate(value):
                _walk(one, f"{below}.{k}", found)
        elif isinstance(field.declaration, Quantity) and isinstance(value, float):
            found.append((below, display(value, field.declaration, 4)))
        else:
            found.append((below, str(value)))


def text(plain: dict[str, Any]) -> str:
    """The record as it is written."""
    return json.dumps(plain, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
