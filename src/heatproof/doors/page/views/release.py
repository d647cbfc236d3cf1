"""Release: what stands in the way, and the evidence there is. Signing is not done on this screen."""

from typing import Any

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.views.head import ten_power
from heatproof.doors.page.views.margins import row_view
from heatproof.verdict.words import number

WEAK = ("invented", "estimate", "guess", "from memory", "default")


def release_view(desk: Desk) -> dict[str, Any]:
    """Blockers with their fixes, and figures of evidence."""
    with desk.lock:
        answer = desk.answer()
        blockers: list[dict[str, Any]] = []
        if desk.dirty:
            blockers.append(
                {
                    "mark": "draft",
                    "title": "Edits are not saved",
                    "detail": ", ".join(sorted(desk.save_edits())),
                    "action": "Save",
                    "do": "save",
                }
            )
        if answer is None:
            blockers.append(
                {
                    "mark": "none",
                    "title": "The variant is not solved",
                    "detail": "all duties are needed",
                    "action": "",
                    "do": "",
                }
            )
            return {"blockers": blockers, "evidence": [], "logs": 0}
        facts = {d.key: d for d in answer.verdict.duties}
        for row in answer.verdict.worst_rows:
            if row.state != "holds":
                shown = row_view(row, facts, None, False)
                blockers.append(
                    {
                        "mark": row.state,
                        "title": f"{row.title} is {row.state}",
                        "detail": f"{shown['margin_text']} {shown['half_text']} K in {row.duty_name.lower()}",
                        "action": "Open part",
                        "do": f"part:{row.part}",
                    }
                )
        weak = [
            p for p in answer.parts.values() if not p.limit.source or p.limit.source.lower().startswith(WEAK)
        ]
        if weak:
            blockers.append(
                {
                    "mark": "look",
                    "title": f"{len(weak)} limits have no firm source",
                    "detail": ", ".join(p.title.lower() for p in weak[:6]) + (" …" if len(weak) > 6 else ""),
                    "action": "",
                    "do": "",
                }
            )
        if not answer.own_spread:
            blockers.append(
                {
                    "mark": "look",
                    "title": "Spreads are not this variant's own",
                    "detail": "they are being worked out in the background",
                    "action": "",
                    "do": "",
                }
            )
        logs = list((desk.folder / "logs").glob("*")) if (desk.folder / "logs").is_dir() else []
        if not logs:
            blockers.append(
                {
                    "mark": "look",
                    "title": "No test run is on file",
                    "detail": "a prediction is not proof",
                    "action": "Read a log",
                    "do": "screen:test-day",
                }
            )
        return {"blockers": blockers, "evidence": evidence(desk, len(logs)), "logs": len(logs)}


def evidence(desk: Desk, logs: int) -> list[dict[str, str]]:
    """Figures behind the verdict."""
    answer = desk.answer()
    assert answer is not None
    spreads = answer.variant.spreads
    sourced = sum(1 for s in spreads.values() if s.source and not s.source.lower().startswith(WEAK))
    worst = max((abs(d.closure) for d in answer.verdict.duties), default=0.0)
    return [
        {"label": "Measured runs on file", "value": number(logs)},
        {"label": "Values with a spread", "value": number(len(spreads))},
        {"label": "Of them with a firm source", "value": number(sourced)},
        {"label": "Energy closure, worst duty", "value": ten_power(worst)},
        {"label": "Masses solved", "value": number(answer.verdict.masses)},
        {"label": "Files fixed by fingerprint", "value": number(len(answer.project.files))},
        {"label": "Fingerprint", "value": answer.project.hash()[:12]},
    ]
