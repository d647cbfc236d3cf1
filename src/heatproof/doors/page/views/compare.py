"""Compare: variants that have been solved, side by side. Nothing is shown that was not run."""

from typing import Any

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.edits import State
from heatproof.doors.page.views.head import labour_text, money, power
from heatproof.doors.page.views.margins import worst_of
from heatproof.verdict.verdict import state_of
from heatproof.verdict.words import number


def compare_view(desk: Desk) -> dict[str, Any]:
    """Columns: the saved variant, the present one, and every single measure tried from it."""
    with desk.lock:
        base = desk.base()
        if base is None:
            return {"columns": [], "parts": [], "tried": 0, "measures": 0}
        halves = {(r.part, r.duty): r.half for r in base.verdict.rows}
        titles = {r.part: r.title for r in base.verdict.worst_rows}
        columns = [column(desk, desk.saved, "Saved", "on file", halves)] if desk.dirty else []
        columns.append(column(desk, desk.state, "Now", "saved" if not desk.dirty else "not saved", halves))
        for name, measure in base.project.measures.items():
            other = desk.toggled(base.state, name)
            if other in desk.tried:
                word = "left out" if name in base.state.fitted else "fitted"
                columns.append(
                    {
                        **column(desk, other, measure.title or name, word, halves),
                        "measure": name,
                        "fits": name not in base.state.fitted,
                    }
                )
        return {
            "columns": [c for c in columns if c["margins"]],
            "parts": [{"part": part, "title": title} for part, title in titles.items()],
            "tried": sum(1 for c in columns if c.get("measure")),
            "measures": len(base.project.measures),
            "has_spread": base.verdict.sensitivities is not None,
        }


def column(
    desk: Desk, state: State, title: str, note: str, halves: dict[tuple[str, str], float | None]
) -> dict[str, Any]:
    """One variant."""
    variant, margins = desk.variant_of(state), desk.tried.get(state, {})
    answer = desk.answers.get(state)
    worst = worst_of(margins)
    duty_of = {part: min((m, d) for (p, d), m in margins.items() if p == part)[1] for part in worst}
    states = {part: state_of(m, halves.get((part, duty_of[part]))) for part, m in worst.items()}
    counts = {word: sum(1 for s in states.values() if s == word) for word in ("over", "thin", "holds")}
    verdict = "over" if counts["over"] else "thin" if counts["thin"] else "holds"
    return {
        "title": title,
        "note": note,
        "state": verdict,
        "verdict": f"{counts[verdict]} {verdict}" if verdict != "holds" else "holds",
        "cost": money(variant.cost, variant.head.currency),
        "mass": number(variant.mass, 1),
        "labour": labour_text(variant.labour),
        "power": number(power(answer.verdict) / 1e3) if answer else "–",
        "worst": min(worst.values(), default=0.0),
        "cost_value": variant.cost,
        "margins": {
            part: {"margin": m, "text": f"+{number(m)}" if m >= 0.5 else number(m), "state": states[part]}
            for part, m in worst.items()
        },
    }
