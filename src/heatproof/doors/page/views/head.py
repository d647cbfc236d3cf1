"""What stands on every screen: project, verdict, figures, what is being computed, cautions."""

from typing import Any

from heatproof._version import __version__
from heatproof.doors.page import units
from heatproof.doors.page.answers import Answer, worst_state
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.units import finding_view, reader
from heatproof.verdict.cautions import USUAL
from heatproof.verdict.verdict import Row, Verdict, headline, others, sentence
from heatproof.verdict.words import number, within

CURRENCY = {"EUR": "€", "USD": "$", "GBP": "£"}


def money(value: float, currency: str, *, signed: bool = False) -> str:
    """`€2 015`, `+€31`."""
    sign = "−" if value < -0.5 else "+" if signed and value > 0.5 else ""
    mark = CURRENCY.get(currency, f"{currency} ")
    return f"{sign}{mark}{number(abs(value))}"


def ten_power(value: float) -> str:
    """`3 × 10⁻⁶`; 0 stays 0."""
    if value == 0.0:
        return "0"
    digits, _, power = f"{abs(value):.0e}".partition("e")
    up = str(int(power)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{digits} × 10{up}"


def labour_text(seconds: float, *, signed: bool = False) -> str:
    """`8 h 12`; below an hour, or as a change, `20 min`."""
    minutes = round(abs(seconds) / 60.0)
    sign = "−" if seconds < 0 else "+" if signed else ""
    return f"{sign}{minutes // 60} h {minutes % 60:02d}" if minutes >= 60 else f"{sign}{minutes} min"


def head_view(desk: Desk) -> dict[str, Any]:
    """Project, edits, progress, verdict."""
    with desk.lock:
        answer, quick = desk.answer(), desk.quick()
        project = desk.project_of(desk.state)
        shown = answer or desk.base()
        rows, whole = quick if quick is not None else ((), False)
        return {
            "version": desk.version,
            "pulse": desk.pulse,
            "run": desk.run,
            "notices": list(desk.notices),
            "changed": list(desk.away),
            "fingerprint": desk.fingerprint,
            "program": __version__,
            "units": units.words(),
            "project": {
                "folder": desk.folder.name,
                "car": car_name(desk),
                "kit": project.head.name,
                "revision": project.head.revision,
                "currency": project.head.currency,
                "required": project.head.confidence,
            },
            "edits": {
                "unsaved": desk.dirty,
                "undo": desk.at,
                "redo": len(desk.history) - 1 - desk.at,
                "files": sorted(desk.save_edits()),
            },
            "progress": {
                "what": desk.progress.what,
                "done": desk.progress.done,
                "steps": desk.progress.steps,
                "detail": desk.progress.detail,
                "text": progress_text(desk, answer),
            },
            "full": answer is not None,
            "answer": answer_name(desk),
            "against": {"name": desk.against, "names": list(desk.named)},
            "whole": whole,
            "failed": desk.failed[1] if desk.failed else None,
            "verdict": verdict_view(rows, shown, answer is not None, project.head.confidence),
            "figures": figures(desk, rows, shown),
            "duties": [{"key": k, "name": d.name, "note": d.note} for k, d in project.duties.items()],
            "findings": [finding_view(f) for f in shown.verdict.findings] if shown else [],
            "cautions": list(shown.verdict.cautions if shown else USUAL),
        }


def answer_name(desk: Desk) -> str:
    """Tells one full answer from another; empty where there is none yet."""
    answer = desk.answer()
    if answer is None:
        return ""
    return f"{desk.version} {answer.own_spread} {answer.seconds} {desk.against} {desk.reference in desk.results.answers}"


def car_name(desk: Desk) -> str:
    """Name in the car file."""
    node = desk.disk.car.tree.entries.get("name") if desk.disk.car else None
    return getattr(node, "text", "") or "car"


def progress_text(desk: Desk, answer: Answer | None) -> str:
    """One line for the top bar."""
    p = desk.progress
    if answer is None:
        return "Not solved" if desk.failed else f"Quick answer ≈ {p.done} of {max(p.steps, 1)} duties"
    duties = len(answer.solved)
    done = f"{duties} {'duty' if duties == 1 else 'duties'} {number(answer.seconds, 2)} s"
    if p.what == "measures" or (p.what == "spreads" and not answer.own_spread):
        # Told as each begins: the last one is not done before the whole is in.
        return f"{done} · {p.what} {min(p.done, p.steps - 1)} of {p.steps}"
    return done


def verdict_view(rows: tuple[Row, ...], shown: Answer | None, full: bool, required: float) -> dict[str, Any]:
    """State, sentence, counts; the quick answer's where the full one is not there."""
    if shown is None:
        return {
            "state": "none",
            "title": "Not computed yet",
            "detail": "All duties are being solved.",
            "counts": {},
        }
    text = sentence_of(shown, rows, full, required)
    title, _, rest = text.partition(". ")
    counts = part_counts(rows)
    held = f"{counts['holds']} of {sum(counts.values())} parts hold"
    sure = (
        f" at {number(100 * required)} % confidence"
        if shown.verdict.sensitivities is not None
        else ", spreads not in yet"
    )
    detail = f"{rest} {held}{sure}.".strip()
    return {
        "state": shown.verdict.state if full else worst_state(rows),
        "title": title.rstrip(".") + ".",
        "detail": detail if full else f"Quick answer; all duties are being solved again. {detail}",
        "counts": counts,
        "own_spread": shown.own_spread and full,
        "has_spread": shown.verdict.sensitivities is not None,
    }


def sentence_of(shown: Answer, rows: tuple[Row, ...], full: bool, required: float) -> str:
    """The verdict's own sentence; in US units the same finding in short, as the verdict speaks metric."""
    if not reader().us or not rows:
        return shown.verdict.sentence if full else sentence(rows, shown.verdict.duties, required)
    worst = headline(rows)
    margin = reader().margin(worst.margin, worst.half)
    name, duty = within(worst.title), worst.duty_name.lower()
    if worst.state == "over":
        past = reader().difference(abs(worst.margin)).lstrip("+")
        return f"Over: {name} passes its limit by {past}, {duty}.{others(rows)}"
    if worst.state == "thin":
        return f"Thin: {name} has {margin} left, {duty}.{others(rows)}"
    return f"Holds: every part, {number(len(shown.verdict.duties))} duties. Closest: {name}, {margin}."


def part_counts(rows: tuple[Row, ...]) -> dict[str, int]:
    """Parts by their worst state."""
    worst: dict[str, str] = {}
    for row in rows:
        if (
            row.state == "over"
            or (worst.get(row.part) != "over" and row.state == "thin")
            or row.part not in worst
        ):
            worst[row.part] = row.state
    return {state: sum(1 for s in worst.values() if s == state) for state in ("over", "thin", "holds")}


def figures(desk: Desk, rows: tuple[Row, ...], shown: Answer | None) -> list[dict[str, str]]:
    """Power, mass, cost, fitting, and the change against the saved variant."""
    try:
        now = desk.variant_of(desk.state)
        saved = desk.variant_of(desk.reference)
    except Exception:
        return []
    currency = now.head.currency
    base = desk.results.answers.get(desk.reference)
    found = [
        {
            "label": "Power",
            "value": reader().power(power(shown.verdict)).rpartition(" ")[0] if shown else "–",
            "unit": units.words()["power"],
            "note": power_note(shown, base),
        },
        {
            "label": "Kit mass",
            "value": number(units.mass(now.mass), 1),
            "unit": units.words()["mass"],
            "note": same(now.mass - saved.mass, reader().mass(now.mass - saved.mass)),
        },
        {
            "label": "Kit cost",
            "value": money(now.cost, currency),
            "unit": "",
            "note": same(now.cost - saved.cost, money(now.cost - saved.cost, currency), plus=True),
        },
        {
            "label": "Fitting",
            "value": labour_text(now.labour),
            "unit": "",
            "note": same(now.labour - saved.labour, labour_text(now.labour - saved.labour)),
        },
    ]
    return [*found, against_saved(desk, rows, base)]


def same(change: float, text: str, *, plus: bool = False) -> str:
    """`no change`, or the change with its sign."""
    if abs(change) < 1e-9:
        return "no change"
    return f"+{text}" if change > 0 and not text.startswith("+") else text


def power(verdict: Verdict) -> float:
    """Highest brake power of any duty, W."""
    return max((duty.power for duty in verdict.duties), default=0.0)


def power_note(shown: Answer | None, base: Answer | None) -> str:
    """Against the saved variant."""
    if shown is None or base is None:
        return "highest of any duty"
    change = power(shown.verdict) - power(base.verdict)
    if abs(change) < 50.0:
        return "highest of any duty"
    return reader().power(change) if change < 0 else f"+{reader().power(change)}"


def against_saved(desk: Desk, rows: tuple[Row, ...], base: Answer | None) -> dict[str, str]:
    """Parts over and worst margin against the saved variant."""
    label = f"Against {desk.against or 'saved'}"
    same_one = desk.state == desk.reference
    if same_one or base is None or not rows:
        note = "the same variant" if same_one else "that variant is not solved yet"
        return {"label": label, "value": "no change" if same_one else "–", "unit": "", "note": note}
    now, then = part_counts(rows)["over"], part_counts(base.verdict.rows)["over"]
    change = min(r.margin for r in rows) - min(r.margin for r in base.verdict.rows)
    value = f"{abs(now - then)} {'fewer' if now < then else 'more'} over" if now != then else "as many over"
    return {
        "label": label,
        "value": value,
        "unit": "",
        "note": f"worst margin {reader().difference(change)}",
    }
