"""What would buy a part degrees, and what makes its spread."""

from typing import Any

import numpy as np

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.units import dT, dT_text
from heatproof.doors.page.views.head import money
from heatproof.doors.page.views.margins import margin_alone
from heatproof.verdict.names import spaced
from heatproof.verdict.spread import half_width
from heatproof.verdict.verdict import Row, state_of
from heatproof.verdict.words import number


def buys_view(desk: Desk, answer: Answer, row: Row) -> list[dict[str, Any]]:
    """Measures not fitted that help this part, most first; each fitted alone."""
    with desk.lock:
        gains, project = desk.gains(), answer.project
        base = desk.base()
    if base is not answer:
        return []
    found = []
    currency = project.head.currency
    for name, gain in gains.items():
        if name in answer.state.fitted or (row.part, row.duty) not in gain:
            continue
        after = worst_after(answer, gain, row.part)
        change = after - min(r.margin for r in answer.verdict.rows if r.part == row.part)
        if change < 0.05:
            continue
        measure = project.measures[name]
        others = {p for (p, d), k in gain.items() if k > 0.5 and p != row.part}
        found.append(
            {
                "measure": name,
                "title": measure.title or name,
                "gain": dT(change),
                "gain_text": dT_text(change, 0 if change >= 1 else 1),
                "left": dT(after),
                "left_text": margin_alone(after, state_of(after, row.half)),
                "half_text": "" if row.half is None else f"± {number(dT(row.half))}",
                "state": state_of(after, row.half),
                "cost": money(measure.cost, currency),
                "labour": number(measure.labour / 60.0),
                "helps": f"helps {len(others)} {'part' if len(others) == 1 else 'parts'} too"
                if others
                else "helps nothing else",
            }
        )
    return sorted(found, key=lambda b: -b["gain"])


def worst_after(answer: Answer, gain: dict[tuple[str, str], float], part: str) -> float:
    """The part's smallest margin with every duty's margin moved, K."""
    return min(r.margin + gain.get((r.part, r.duty), 0.0) for r in answer.verdict.rows if r.part == part)


def spread_view(answer: Answer, row: Row) -> dict[str, Any]:
    """What makes the ±: largest values, the others together. Squares add."""
    matrix = answer.verdict.sensitivities
    if matrix is None or (row.part, row.duty) not in matrix.keys:
        return {"rows": [], "half": None, "own": False, "drawn": False}
    required = answer.variant.confidence
    moves = matrix.of((row.part, row.duty))
    big = [(p, k) for p, k in moves[:5] if abs(k) > 0.02]
    rest = float(np.sqrt(sum(k * k for _, k in moves[len(big) :])))
    rows: list[dict[str, Any]] = [
        {"path": p, "title": value_title(p), "half": dT(half_width(abs(k), required))} for p, k in big
    ]
    if rest > 0.02:
        rows.append(
            {
                "path": "",
                "title": f"{len(moves) - len(big)} others together",
                "half": dT(half_width(rest, required)),
            }
        )
    drawn = (row.part, row.duty) in dict(matrix.drawn)
    half = None if row.half is None else dT(row.half)
    return {"rows": rows, "half": half, "own": answer.own_spread, "drawn": drawn}


def value_title(path: str) -> str:
    """`parts.downpipe.emissivity` → `Emissivity, downpipe`."""
    keys = path.split(".")
    last = spaced(keys[-1])
    if len(keys) < 2 or (keys[-2] in ("geometry", "cover") and len(keys) < 3):
        return last
    owner = keys[-3] if keys[-2] in ("geometry", "cover") else keys[-2]
    return f"{last}, {owner.replace('_', ' ')}"
