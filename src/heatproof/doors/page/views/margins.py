"""Margins: measures, every part against its limit, and what each measure would do to it."""

from typing import Any

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.units import T, T_text, dT, dT_text, mass, reader
from heatproof.doors.page.views.head import head_view, money
from heatproof.verdict.duty_facts import DutyFacts
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Row, State, worst_first
from heatproof.verdict.words import clock, minutes, number, share

NEAR = 5.0  # K of margin below which figures show a tenth
MOST_DIGITS = 3


def margins_view(desk: Desk) -> dict[str, Any]:
    """The whole screen."""
    with desk.lock:
        quick, base, saved = desk.quick(), desk.base(), desk.results.answers.get(desk.reference)
        rows, full = sorted(quick[0] if quick else (), key=worst_first), desk.answer() is not None
        start = base.margins if base else {}
        facts = {d.key: d for d in base.verdict.duties} if base else {}
        before = saved.margins if saved is not None and desk.state != desk.reference else {}
        return {
            "head": head_view(desk),
            "rows": [
                row_view(r, facts, before.get((r.part, r.duty)), not full and moved(r, start)) for r in rows
            ],
            "measures": measures_view(desk),
            "gains": gains_view(desk),
            "limits": [] if rows else limits_only(desk),
        }


def moved(row: Row, start: dict[Key, float]) -> bool:
    """Whether the quick answer moved this margin by as much as shows."""
    return abs(row.margin - start.get((row.part, row.duty), row.margin)) > 0.05


def row_view(row: Row, facts: dict[str, DutyFacts], saved: float | None, approx: bool) -> dict[str, Any]:
    """One part in one duty."""
    margin, half = dT(row.margin), None if row.half is None else dT(row.half)
    digits = digits_of(row)
    limit, short = round(T(row.found.limit), digits), round(margin, digits)
    return {
        "part": row.part,
        "title": row.title,
        "duty": row.duty,
        "duty_name": row.duty_name,
        "state": row.state,
        "margin": margin,
        "half": half,
        "left": dT(row.left),
        "margin_text": dT_text(row.margin, digits),
        "half_text": "" if half is None else f"± {number(half, digits)}",
        "peak": T(row.found.peak),
        "judged": T(row.found.judged),
        "limit": T(row.found.limit),
        "peak_text": T_text(row.found.peak),
        "judged_text": number(limit - short, digits),
        "limit_text": number(limit, digits),
        "rule_text": short_rule(row),
        "rule": rule_text(row),
        "when": when_text(row, facts),
        "time": row.found.time,
        "saved": None if saved is None else dT(saved),
        "approx": approx,
        "sure": "–" if row.confidence is None else share(row.confidence),
        "caution": row.caution,
    }


def digits_of(row: Row) -> int:
    """Decimals of margin, judged and limit on one row: whole; a tenth near zero, where thin, or where whole figures would
    not agree by subtraction; more where what is left of a margin would read as nothing."""
    margin, judged, limit = dT(row.margin), T(row.found.judged), T(row.found.limit)
    closes = round(limit) - round(judged) == round(margin)
    if closes and abs(row.margin) >= NEAR and row.state != "thin":
        return 0
    return near_digits(margin)


def near_digits(margin: float) -> int:
    """A tenth, or as many decimals as keep a margin from reading as nothing."""
    return next((k for k in range(1, MOST_DIGITS) if round(margin, k) != 0.0), MOST_DIGITS)


def margin_alone(kelvin: float, state: State) -> str:
    """A margin that stands without its limit, with the decimals it has on its row."""
    return dT_text(kelvin, near_digits(dT(kelvin)) if abs(kelvin) < NEAR or state == "thin" else 0)


def short_rule(row: Row) -> str:
    """What the judged temperature is and which limit it is held against, in few words: `20 min, lasting`, `peak, short`."""
    found = row.found
    if found.rule == "boiling":
        return "peak, boiling"
    if found.rule == "short":
        return "peak, short"
    return f"{minutes(found.allowed_time)}, lasting" if found.allowed_time > 0.0 else "peak, lasting"


def rule_text(row: Row) -> str:
    """Which limit decides, in words."""
    found = row.found
    if found.rule == "boiling":
        return f"{reader().difference(found.limit - found.judged).lstrip('+')} left to the distance from boiling asked for"
    if found.rule == "continuous" and found.allowed_time > 0.0:
        judged, limit = reader().temperature(found.judged), reader().temperature(found.limit)
        return f"{judged} is exceeded for the {minutes(found.allowed_time)} allowed; its limit is {limit}"
    kind = "short-term limit" if found.rule == "short" else "limit"
    return (
        f"peak {reader().temperature(found.peak)} against the {kind} of {reader().temperature(found.limit)}"
    )


def when_text(row: Row, facts: dict[str, DutyFacts]) -> str:
    """`6 min after key-off`, `12:30 in`."""
    duty = facts.get(row.duty)
    if duty is not None and duty.stops and row.found.time > duty.key_off:
        return f"{minutes(row.found.time - duty.key_off)} after key-off"
    return f"at {clock(row.found.time)}"


def measures_view(desk: Desk) -> dict[str, Any]:
    """Measures by group, and the totals."""
    project, state = desk.project_of(desk.state), desk.state
    groups: dict[str, list[dict[str, Any]]] = {}
    currency = project.head.currency
    for name, measure in project.measures.items():
        groups.setdefault(measure.group or "Other", []).append(
            {
                "name": name,
                "title": measure.title or name,
                "fitted": name in state.fitted,
                "changed": (name in state.fitted) != (name in desk.saved.fitted),
                "cost": number(measure.cost),
                "mass": number(mass(measure.mass), 1),
                "labour": number(measure.labour / 60.0),
                "cost_text": money(measure.cost, currency),
                "note": measure.note,
                "needs": list(measure.needs),
                "excludes": list(measure.excludes),
            }
        )
    now, base = desk.variant_of(state), project.head.base
    return {
        "groups": [{"title": title, "measures": found} for title, found in groups.items()],
        "fitted": len(state.fitted),
        "count": len(project.measures),
        "currency": money(0, currency).rstrip("0").strip(),
        "base": {
            "cost": number(base.cost),
            "mass": number(mass(base.mass), 1),
            "labour": number(base.labour / 60),
        },
        "total": {
            "cost": number(now.cost),
            "mass": number(mass(now.mass), 1),
            "labour": number(now.labour / 60),
        },
    }


def gains_view(desk: Desk) -> dict[str, dict[str, float]]:
    """Measure to part to what it does to the part's worst margin, K."""
    base = desk.base()
    if base is None:
        return {}
    before, found = base.margins, {}
    start = worst_of(before)
    for name, gain in desk.gains().items():
        after = worst_of({key: before[key] + move for key, move in gain.items()})
        found[name] = {part: round(dT(after[part] - start[part]), 2) for part in after if part in start}
    return found


def worst_of(margins: dict[Key, float]) -> dict[str, float]:
    """Part to its smallest margin."""
    found: dict[str, float] = {}
    for (part, _), margin in margins.items():
        found[part] = min(margin, found.get(part, margin))
    return found


def limits_only(desk: Desk) -> list[dict[str, Any]]:
    """Parts and limits where nothing is solved yet."""
    from heatproof.verdict.judged import judged

    found = []
    for part in judged(desk.variant_of(desk.state)):
        limit = part.limit.continuous if part.limit.continuous is not None else part.limit.short
        found.append(
            {
                "part": part.part,
                "title": part.title,
                "limit_text": "–" if limit is None else T_text(limit),
            }
        )
    return found
