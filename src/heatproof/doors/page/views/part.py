"""Part: ledger, heat paths, history, what would buy degrees, what makes the spread."""

from functools import lru_cache
from typing import Any

import numpy as np

from heatproof.doors.page import units
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.units import T, T_text, dT, reader
from heatproof.doors.page.views.head import ten_power
from heatproof.doors.page.views.margins import row_view
from heatproof.doors.page.views.part_gains import buys_view, spread_view
from heatproof.doors.page.views.series import rounded, thinned
from heatproof.kit.findings import Finding, Refused, listed, nearest
from heatproof.kit.records.parts import Limit
from heatproof.network import signals as S
from heatproof.verdict.explain import Explanation, explain_at
from heatproof.verdict.margins import saturation_of
from heatproof.verdict.names import spaced
from heatproof.verdict.verdict import Row, headline
from heatproof.verdict.words import clock, minutes, number

MOST_ROWS = 10


def row_of(answer: Answer, part: str, duty: str | None) -> Row:
    """The row asked for; the part's worst without a duty. Refused where there is none."""
    rows = [r for r in answer.verdict.rows if r.part == part]
    found = [r for r in rows if duty is None or r.duty == duty]
    if not found:
        known = sorted({r.part for r in answer.verdict.rows})
        what = f"part {part!r} is not judged" if not rows else f"part {part!r} is not judged in {duty!r}"
        raise Refused([Finding("error", what, allowed=listed(known), nearest=nearest(part, known))])
    return headline(tuple(found))


@lru_cache(maxsize=64)
def _explained(answer_id: int, part: str, duty: str, holder: "Held") -> Explanation:
    return explain_at(holder.answer.parts[part], duty, holder.answer.solved[duty], holder.answer.variant)


class Held:
    """Carries an answer through the cache, equal by identity."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __hash__(self) -> int:
        return id(self.answer.solved)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Held) and other.answer.solved is self.answer.solved


def explained(answer: Answer, part: str, duty: str) -> Explanation:
    """The explanation at the instant that decides, kept."""
    return _explained(id(answer.solved), part, duty, Held(answer))


def short_view(desk: Desk, answer: Answer, part: str, duty: str | None) -> dict[str, Any]:
    """The right column of Margins: row, history; the ledger comes with the whole view."""
    row = row_of(answer, part, duty)
    facts = {d.key: d for d in answer.verdict.duties}
    return {
        "row": row_view(row, facts, None, False),
        "history": history_view(answer, row.part, row.duty),
        "limit": limit_view(answer, row),
    }


def part_view(desk: Desk, answer: Answer, part: str, duty: str | None) -> dict[str, Any]:
    """The whole screen for one part in one duty."""
    row = row_of(answer, part, duty)
    told = explained(answer, row.part, row.duty)
    saved = desk.results.answers.get(desk.reference)
    before = None
    if saved is not None and saved is not answer and row.part in saved.parts and row.duty in saved.solved:
        before = explained(saved, row.part, row.duty)
    return {
        **short_view(desk, answer, part, duty),
        "duties": [
            {"key": r.duty, "name": r.duty_name, "margin": dT(r.margin)} for r in in_order(answer, row.part)
        ],
        "ledger": ledger_view(answer, told, row, before),
        "paths": paths_view(answer, told),
        "buys": buys_view(desk, answer, row),
        "spread": spread_view(answer, row),
        "closure": closure_text(answer, row.duty),
    }


def in_order(answer: Answer, part: str) -> list[Row]:
    """The part's rows in the order of the duties."""
    rows = {r.duty: r for r in answer.verdict.rows if r.part == part}
    return [rows[key] for key in answer.solved if key in rows]


def closure_text(answer: Answer, duty: str) -> str:
    """`Energy closes to 3 × 10⁻⁶ of heat in.`"""
    closure = abs(next(d.closure for d in answer.verdict.duties if d.key == duty))
    return (
        "Energy closes exactly." if closure == 0.0 else f"Energy closes to {ten_power(closure)} of heat in."
    )


def ledger_view(answer: Answer, told: Explanation, row: Row, before: Explanation | None) -> dict[str, Any]:
    """Causes, largest first, small ones together; the sum is the rise."""
    was = dict(before.causes) if before is not None else {}
    big = [c for c in told.causes if abs(c[1]) >= 0.05][:MOST_ROWS]
    rest = told.rise - sum(rise for _, rise in big)
    rows: list[dict[str, Any]] = [
        {
            "cause": spaced(c),
            "rise": dT(r),
            "share": r / told.rise if told.rise else 0.0,
            "change": dT(r - was[c]) if c in was else None,
        }
        for c, r in big
    ]
    if len(told.causes) > len(big):
        rest_count = len(told.causes) - len(big)
        rows.append(
            {
                "cause": f"{rest_count} smaller ones together",
                "rise": dT(rest),
                "share": rest / told.rise if told.rise else 0.0,
                "change": None,
            }
        )
    return {
        "time": told.time,
        "time_text": clock(told.time),
        "ambient": T(told.temperature - told.rise),
        "temperature": T(told.temperature),
        "rise": dT(told.rise),
        "rise_text": number(dT(told.rise), 1),
        "limit": T(row.found.limit),
        "judged": T(row.found.judged),
        "half": None if row.half is None else dT(row.half),
        "state": row.state,
        "rows": rows,
        "sum": sum(r["rise"] for r in rows),
        "change": dT(told.rise - before.rise) if before is not None else None,
    }


def paths_view(answer: Answer, told: Explanation) -> dict[str, Any]:
    """Heat into and out of the part, most first, small ones together beyond ten."""
    run = answer.solved[told.duty].run
    names = run.network.masses
    row = int(np.argmin(np.abs(run.time - told.time)))
    found: list[dict[str, Any]] = []
    for path in told.paths:
        kelvin = run.state[row, names.index(path.origin)] if path.origin in names else run.around.temperature
        found.append(
            {
                "from": path.title,
                "kind": path.kind,
                "heat": path.heat,
                "temperature": T(float(kelvin)),
            }
        )
    shown, rest = found[:MOST_ROWS], found[MOST_ROWS:]
    if rest:
        shown.append(
            {
                "from": f"{len(rest)} smaller ways",
                "kind": "",
                "heat": sum(p["heat"] for p in rest),
                "temperature": T(told.temperature),
            }
        )
    return {
        "rows": shown,
        "in": sum(p["heat"] for p in shown if p["heat"] > 0),
        "out": -sum(p["heat"] for p in shown if p["heat"] < 0),
        "stored": told.storing,
        "temperature": T(told.temperature),
    }


def history_view(answer: Answer, part: str, duty: str) -> dict[str, Any]:
    """Temperature over the whole duty, thinned; with speed, key-off and the limits."""
    run = answer.solved[duty].run
    judged = answer.parts[part]
    mass = judged.mass_in(run.network.masses)
    kelvin = run.state[:, run.network.mass(mass)]
    rows = thinned(run.time, kelvin)
    speed = units.speed(run.signal[:, S.VEHICLE_SPEED])
    limit = judged.limit
    lines: list[dict[str, Any]] = []
    if judged.boil:
        allowed = T(saturation_of(run, mass)[rows] - (limit.boil_margin or 0.0))
        lines.append({"label": "limit before boiling", "values": rounded(allowed)})
    else:
        for label, value in (("continuous limit", limit.continuous), ("short-term limit", limit.short)):
            if value is not None:
                lines.append({"label": f"{label} {T_text(value)}", "value": T(value)})
    return {
        "part": part,
        "title": judged.title,
        "duty": duty,
        "duty_name": answer.solved[duty].duty.name,
        "time": rounded(run.time[rows], 1),
        "value": rounded(T(kelvin[rows])),
        "peak": int(np.argmax(kelvin[rows])),
        "speed": rounded(speed[rows], 0),
        "key_off": float(run.duty.key_off),
        "duration": float(run.duty.duration),
        "ambient": T(run.around.temperature),
        "limits": lines,
        "running_only": judged.when == "running",
    }


def limit_text(limit: Limit) -> str:
    """All that a part's limit says, the same on every screen: `100 °C continuous, 130 °C for 20 min`."""
    pieces = []
    if limit.continuous is not None:
        pieces.append(f"{reader().temperature(limit.continuous)} continuous")
    if limit.short is not None:
        pieces.append(f"{reader().temperature(limit.short)} for {minutes(limit.short_time or 0.0)}")
    if limit.boil_margin is not None:
        pieces.append(f"{reader().difference(limit.boil_margin).lstrip('+')} from boiling")
    return ", ".join(pieces)


def limit_view(answer: Answer, row: Row) -> dict[str, str]:
    """What the limit says and where it comes from."""
    limit = answer.parts[row.part].limit
    where = answer.variant.where(row.path)
    return {
        "text": limit_text(limit),
        "source": limit.source or "no source given",
        "where": f"{where.file}:{where.line}" if where.line else where.file,
        "path": row.path,
    }
