"""Bay: shapes of the parts that have one, every part's temperature over a duty."""

from typing import Any

import numpy as np

from heatproof.doors.page import units
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.views.instants import duty_run, duty_view, row_at
from heatproof.doors.page.views.part import limit_text
from heatproof.doors.page.views.series import rounded
from heatproof.kit.records.parts import Limit
from heatproof.kit.records.shapes import Plate
from heatproof.network.solve import Run
from heatproof.verdict.names import mass_title
from heatproof.verdict.verdict import Row

FRAMES = 600
LEAST_LOCAL = 2.0  # K over the mean, from which on a place counts as a hot spot


def bay_view(
    answer: Answer, duty: str | None, before: Answer | None = None, called: str = ""
) -> dict[str, Any]:
    """Parts, their limits, and temperatures at up to 600 instants of one duty; those of another answer beside them."""
    key, run = duty_run(answer, duty)
    rows = np.unique(
        np.searchsorted(run.time, np.linspace(run.time[0], run.time[-1], FRAMES)).clip(0, run.time.size - 1)
    )
    shapes = shapes_view(answer)
    shaped = {s["part"] for s in shapes["parts"]}
    worst = {r.part: r for r in answer.verdict.rows if r.duty == key}
    parts = []
    for name in answer.variant.parts:
        if name not in run.network.masses:
            continue
        T = units.T(run.state[rows, run.network.mass(name)])
        row = worst.get(name)
        parts.append(
            {
                "part": name,
                "title": mass_title(answer.variant, name),
                "shape": name in shaped,
                "values": rounded(T, 1),
                **limits_view(answer, row),
                "state": None if row is None else row.state,
                "peak_time": None if row is None else row.found.time,
            }
        )
    for name in sorted(shaped - {p["part"] for p in parts}):
        values = patch_values(run, rows, name)
        if values is not None:
            parts.append(
                {
                    "part": name,
                    "title": mass_title(answer.variant, name),
                    "shape": True,
                    "values": values,
                    **NO_LIMIT,
                    "state": None,
                    "peak_time": None,
                }
            )
    if before is not None and before is not answer and key in before.solved:
        add_before(parts, before, key, run.time[rows])
    return {
        "before": called if any("before" in part for part in parts) else "",
        "duty": duty_view(answer, key, run),
        "time": rounded(run.time[rows], 1),
        "parts": sorted(parts, key=lambda p: (p["limit"] is None, (p["limit"] or 0.0) - max(p["values"]))),
        "peaks": sorted({round(r.found.time) for r in worst.values()}),
        "scale": units.scale_of(40.0, 160.0),
        "shapes": shapes,
    }


NO_LIMIT: dict[str, Any] = {"limit": None, "most": None, "limit_text": ""}


def limits_view(answer: Answer, row: Row | None) -> dict[str, Any]:
    """limit: what may last. most: what may never be passed. Where only the distance to boiling is limited, both are the one
    judged. limit_text: as on the part's own screen."""
    if row is None:
        return NO_LIMIT
    limit = answer.parts[row.part].limit
    most = most_allowed(limit)
    lasting = limit.continuous if limit.continuous is not None else most
    return {
        "limit": units.T(row.found.limit if lasting is None else lasting),
        "most": units.T(row.found.limit if most is None else most),
        "limit_text": limit_text(limit),
    }


def add_before(parts: list[dict[str, Any]], before: Answer, duty: str, time: np.ndarray) -> None:
    """Each part's temperatures in another variant, at the same times of the same duty."""
    other = before.solved[duty].run
    for part in parts:
        if part["part"] in other.network.masses:
            kelvin = np.interp(time, other.time, other.state[:, other.network.mass(part["part"])])
            part["before"] = rounded(units.T(kelvin), 1)


def hot_spots_view(answer: Answer, duty: str | None, time: float | None) -> dict[str, Any]:
    """Where parts that spread heat poorly are hotter than their mean, at one instant; hottest first."""
    from heatproof.assembly.bay.hot_spots import local_peaks

    key, run = duty_run(answer, duty)
    row = row_at(run, time, run.time.size - 1)
    limits = {name: most_allowed(part.limit) for name, part in answer.parts.items()}
    found = local_peaks(answer.solved[key], float(run.time[row]))
    return {
        "duty": key,
        "time": float(run.time[row]),
        "spots": [
            {
                "part": one.part,
                "title": mass_title(answer.variant, one.part),
                "mean": units.T(one.mean),
                "peak": units.T(one.peak),
                "place": list(one.place),
                "past": (limit := limits.get(one.part)) is not None and one.peak > limit,
                "limit": None if limit is None else units.T(limit),
            }
            for one in found
            if one.peak - one.mean > LEAST_LOCAL
        ],
    }


def most_allowed(limit: Limit) -> float | None:
    """What a part may never pass, K: the short-term limit where there is one."""
    return limit.short if limit.short is not None else limit.continuous


def patch_values(run: Run, rows: np.ndarray, name: str) -> list[float] | None:
    """Mean of a part's patches where it has no mass of its own name, °C."""
    masses = np.array(
        [k for k, m in enumerate(run.network.masses) if m == name or m.startswith(f"{name}.")], dtype=int
    )
    return rounded(units.T(run.state[np.ix_(rows, masses)].mean(axis=1)), 1) if masses.size else None


def shapes_view(answer: Answer) -> dict[str, Any]:
    """Triangles of every part with a shape; those without, and shapes that could not be built, named."""
    from heatproof.assembly.bay.scene import shape_of, wall_parts
    from heatproof.shapes.errors import ShapeError

    parts: list[dict[str, Any]] = []
    missing: list[dict[str, str]] = []
    failed: list[dict[str, str]] = []
    walls = set(wall_parts(answer.variant.bay).values()) if answer.variant.bay is not None else set()
    for name, record in answer.variant.parts.items():
        if record.shape is None:
            missing.append({"part": name, "title": record.title or name})
            continue
        try:
            part = shape_of(answer.variant, name).part
        except ShapeError as error:
            failed.append({"part": name, "title": record.title or name, "what": str(error)})
            continue
        parts.append(
            {
                "part": name,
                "title": record.title or name,
                "wall": name in walls or bounds(record.shape),
                "vertices": rounded(part.vertices.ravel(), 4),
                "faces": part.faces.ravel().tolist(),
            }
        )
    return {
        "parts": parts,
        "missing": missing,
        "failed": failed,
        "triangles": sum(len(p["faces"]) // 3 for p in parts),
    }


def bounds(shape: Any) -> bool:
    """Whether a shape is a panel that only bounds the bay: it would hide what is behind it."""
    return isinstance(shape, Plate) and shape.faces == "front"


def clearance_view(answer: Answer, first: str, second: str) -> dict[str, Any]:
    """Shortest distance between two parts with shapes."""
    from heatproof.assembly.bay.scene import shape_of
    from heatproof.kit.findings import Refused, unknown

    known = [name for name, part in answer.variant.parts.items() if part.shape is not None]
    for name in (first, second):
        if name not in known:
            raise Refused(
                [unknown(f"part {name!r} has no shape", name, known, next_step="give the part a shape")]
            )
    a, b = shape_of(answer.variant, first).part, shape_of(answer.variant, second).part
    from heatproof.shapes.clearance import clearance

    found = clearance(a, b)
    if found is None:
        return {"first": first, "second": second, "distance_mm": None, "text": "far apart", "points": []}
    return {
        "first": first,
        "second": second,
        "distance_mm": found.distance * 1e3,
        "text": units.reader().length(found.distance),
        "points": [list(found.point), list(found.other_point)],
    }
