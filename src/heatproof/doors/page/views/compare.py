"""Compare: variants that have been solved, side by side. Nothing is shown that was not run."""

from typing import Any

from heatproof.doors.page import units
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.edits import State
from heatproof.doors.page.views.head import labour_text, money, power
from heatproof.doors.page.views.margins import margin_alone, worst_of
from heatproof.verdict.verdict import WORST_FIRST, state_of
from heatproof.verdict.verdict import State as Worst
from heatproof.verdict.words import number


def compare_view(desk: Desk) -> dict[str, Any]:
    """Columns: the saved variant, the present one, and every single measure tried from it."""
    with desk.lock:
        base = desk.base()
        if base is None:
            return {"columns": [], "parts": [], "tried": 0, "measures": 0, "kept": kept_view(desk)}
        halves = {(r.part, r.duty): r.half for r in base.verdict.rows}
        titles = {r.part: r.title for r in base.verdict.worst_rows}
        columns = reference_columns(desk, halves)
        columns.append(column(desk, desk.state, "Now", "saved" if not desk.dirty else "not saved", halves))
        for name, measure in base.project.measures.items():
            other = desk.toggled(base.state, name)
            if other in desk.results.tried:
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
            "kept": kept_view(desk),
            "has_spread": base.verdict.sensitivities is not None,
        }


def reference_columns(desk: Desk, halves: dict[tuple[str, str], float | None]) -> list[dict[str, Any]]:
    """The variant as saved, where edits wait; and every kept one that is solved, the one compared with first."""
    found = [column(desk, desk.saved, "Saved", "on file", halves)] if desk.dirty else []
    names = sorted(desk.named, key=lambda name: name != desk.against)
    for name in names:
        state = desk.named[name]
        if state in desk.results.tried and state != desk.state:
            note = "kept, compared with" if name == desk.against else "kept"
            found.append(column(desk, state, name, note, halves))
    return found


def kept_view(desk: Desk) -> list[dict[str, Any]]:
    """Variants kept by name: what each fits beyond the present one, and whether it is solved."""
    now = set(desk.state.fitted)
    return [
        {
            "name": name,
            "fitted": len(state.fitted),
            "edits": len(state.edits),
            "differs": len(now ^ set(state.fitted)) + len(set(state.edits) ^ set(desk.state.edits)),
            "solved": state in desk.results.tried,
            "unsolved": state in desk.results.unsolved,
            "against": name == desk.against,
        }
        for name, state in desk.named.items()
    ]


def column(
    desk: Desk, state: State, title: str, note: str, halves: dict[tuple[str, str], float | None]
) -> dict[str, Any]:
    """One variant."""
    variant, margins = desk.variant_of(state), desk.results.tried.get(state, {})
    answer = desk.results.answers.get(state)
    worst = worst_of(margins)
    states: dict[str, Worst] = dict.fromkeys(worst, "holds")
    for (part, duty), m in margins.items():  # thin in one duty is thin, also where another has less margin
        states[part] = min(states[part], state_of(m, halves.get((part, duty))), key=WORST_FIRST.__getitem__)
    counts = {word: sum(1 for s in states.values() if s == word) for word in ("over", "thin", "holds")}
    verdict = "over" if counts["over"] else "thin" if counts["thin"] else "holds"
    return {
        "title": title,
        "note": note,
        "state": verdict,
        "verdict": f"{counts[verdict]} {verdict}" if verdict != "holds" else "holds",
        "cost": money(variant.cost, variant.head.currency),
        "mass": number(units.mass(variant.mass), 1),
        "labour": labour_text(variant.labour),
        "power": units.reader().power(power(answer.verdict)).rpartition(" ")[0] if answer else "–",
        "worst": units.dT(min(worst.values(), default=0.0)),
        "cost_value": variant.cost,
        "margins": {
            part: {"margin": units.dT(m), "text": margin_alone(m, states[part]), "state": states[part]}
            for part, m in worst.items()
        },
    }
