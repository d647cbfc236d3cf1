"""A test plan on the terminal, as a card and as JSON."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from heatproof.doors.console import print_table, say
from heatproof.verdict.words import MISSING, celsius, clock, margin_text, minutes, number, temperature

if TYPE_CHECKING:
    from heatproof.kit.records.duty import Duty
    from heatproof.kit.records.variant import Variant
    from heatproof.logs.planning.acceptance import Expected
    from heatproof.logs.planning.plan import ChosenSensor, Plan
    from heatproof.report.test_card import TestCard
    from heatproof.verdict.verdict import Verdict


# --- text -------------------------------------------------------------------------------------------------
def print_plan(plan: "Plan", readings: "Sequence[Expected]", variant: "Variant") -> None:
    """Sentence, sensors, runs, margins before and after, acceptance, what to mind."""
    from heatproof.logs.planning.acceptance import place_cautions

    say(sentence(plan), style="bold")
    say()
    print_table(
        ("No.", "Place", "", "Kind", "Response", "Doubt left"),
        [sensor_cells(k, s) for k, s in enumerate(plan.sensors, start=1)],
        left=("Place", "", "Kind"),
    )
    say(
        f"Doubt left: sum of the doubtful margins' standard deviations; {doubt(plan.start)} without a test.",
        style="dim",
    )
    others = "; ".join(f"{place.mass} ({doubt(left)} with it)" for place, _, left in plan.others)
    say(f"Next best places: {others or 'none'}.", style="dim")
    say()
    say("Runs", style="bold")
    for k, (key, left) in enumerate(plan.run_steps, start=1):
        say(f"  {k}. {plan.duties[key].name}: {doubt(left)} left after it")
    say()
    say("Margins in doubt", style="bold")
    rows = [
        (row.title, row.duty_name, margin_text(row.margin, 2 * before), f"± {number(2 * after, 1)} K")
        for row, before, after in plan.doubtful
    ]
    print_table(("Part", "Duty", "Margin, two sd", "After the test"), rows, left=("Part", "Duty"))
    say()
    say("What the sensors should read at their highest", style="bold")
    heads = ("No.", "Place", "Duty", "Expected", "Between", "At", "Pass up to", "Over from")
    print_table(heads, reading_rows(plan, readings), left=("Place", "Duty"))
    say(
        "Pass up to: proves the limit for the duty's own day with the confidence the kit asks for. Over from: the "
        "limit does not hold there. Between the two the test decides nothing; correct the model with its log.",
        style="dim",
    )
    say()
    say("Mind", style="bold")
    for k, sensor in enumerate(plan.sensors, start=1):
        say(f"  {k} {sensor.place.mass}: {' '.join(place_cautions(variant, sensor))}")
    say()


def sentence(plan: "Plan") -> str:
    """How much the plan buys."""
    runs = sum(plan.runs.values())
    share = 100.0 * (1.0 - plan.end / plan.start) if plan.start > 0.0 else 0.0
    margins = len(plan.doubtful)
    return (
        f"{counted(len(plan.sensors), 'sensor')} and {counted(runs, 'run')} take away {number(share)} % of the doubt of "
        f"{counted(margins, 'margin')}: {doubt(plan.start)} before, {doubt(plan.end)} after{', summed' if margins > 1 else ''}."
    )


def counted(n: int, what: str) -> str:
    """`1 run`, `3 runs`."""
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def doubt(kelvin: float) -> str:
    """A standard deviation or a sum of them: `12.3 K`, `0.42 K`."""
    return f"{number(kelvin, 1 if kelvin >= 1.0 else 2)} K"


def sensor_cells(k: int, s: "ChosenSensor") -> tuple[str, ...]:
    """One sensor."""
    title = "" if s.place.title == s.place.mass else s.place.title
    response = f"{number(s.response, 1 if s.response < 10 else 0)} s"
    return (str(k), s.place.mass, title, kind_text(s), response, doubt(s.left))


def kind_text(s: "ChosenSensor") -> str:
    """The kind, and a simpler one that will do."""
    return s.kind.title if s.simpler is None else f"{s.kind.title} ({s.simpler.title} will do)"


def reading_rows(plan: "Plan", readings: "Sequence[Expected]") -> list[tuple[str, ...]]:
    """One row for every sensor in every duty."""
    order = {id(s): k for k, s in enumerate(plan.sensors, start=1)}
    return [
        (
            str(order[id(one.sensor)]),
            one.sensor.place.mass,
            plan.duties[one.duty].name,
            temperature(one.peak),
            f"{number(celsius(one.low))} … {number(celsius(one.high))} °C",
            clock(one.time),
            MISSING if one.passes is None else temperature(one.passes),
            MISSING if one.fails is None else temperature(one.fails),
        )
        for one in readings
    ]


# --- card -------------------------------------------------------------------------------------------------
def card_of(
    plan: "Plan",
    readings: "Sequence[Expected]",
    variant: "Variant",
    verdict: "Verdict",
    measures: Sequence[str],
) -> "TestCard":
    """The card's texts. measures: titles of what is fitted."""
    from heatproof.logs.planning.acceptance import place_cautions
    from heatproof.report.test_card import CardReading, CardRun, CardSensor, TestCard

    sensors = tuple(
        CardSensor(
            k, s.place.mass, s.place.title, kind_text(s), sensor_cells(k, s)[4], place_cautions(variant, s)
        )
        for k, s in enumerate(plan.sensors, start=1)
    )
    order = {id(s): k for k, s in enumerate(plan.sensors, start=1)}
    runs = []
    for key, times in plan.runs.items():
        rows = tuple(
            CardReading(
                order[id(one.sensor)],
                one.sensor.place.title,
                f"{number(celsius(one.low))} … {number(celsius(one.high))} °C",
                clock(one.time),
                MISSING if one.passes is None else temperature(one.passes),
                MISSING if one.fails is None else temperature(one.fails),
            )
            for one in readings
            if one.duty == key
        )
        runs.append(CardRun(plan.duties[key].name, how_text(plan.duties[key]), times, rows))
    revision = getattr(variant.head, "revision", "") or ""
    return TestCard(
        project=variant.name,
        revision=f"{revision}.".lstrip(".") if revision else "",
        fitted="; ".join(measures) or "no measure",
        why=sentence(plan),
        day=day_text(plan),
        sensors=sensors,
        runs=tuple(runs),
        cautions=verdict.cautions,
    )


def how_text(duty: "Duty") -> str:
    """What to drive."""
    parts = [duty.note or f"As in the duty {duty.name}."]
    cold = duty.start.cold
    parts.append(
        "Start with the car at ambient."
        if cold
        else f"First {minutes(duty.start.settle)} at {number(duty.start.speed * 3.6)} km/h."
    )
    parts.append(f"Air conditioning {'on' if duty.air_conditioning else 'off'}.")
    if duty.soak > 0.0:
        parts.append(f"Then key off and log {minutes(duty.soak)} more, bonnet shut.")
    return " ".join(parts)


def day_text(plan: "Plan") -> str:
    """The day the figures are for."""
    days = {round(celsius(duty.air.ambient), 1) for key, duty in plan.duties.items() if key in plan.runs}
    named = " or ".join(f"{number(day)} °C" for day in sorted(days))
    return (
        f"Figures are for {named} ambient. Within 5 K of it move every figure by the difference; further off, plan "
        "again with the ambient of the day. Log vehicle speed, engine speed, air flow, pedal, ambient and coolant too."
    )


# --- JSON -------------------------------------------------------------------------------------------------
def plan_data(plan: "Plan", readings: "Sequence[Expected]", variant: "Variant") -> dict[str, Any]:
    """The object of `plan --json`."""
    from heatproof.logs.planning.acceptance import place_cautions

    return {
        "sentence": sentence(plan),
        "sensors": [
            {
                "place": s.place.mass,
                "title": s.place.title,
                "medium": s.place.medium,
                "kind": s.kind.key,
                "kind_text": s.kind.title,
                "simpler": None if s.simpler is None else s.simpler.key,
                "response_s": s.response,
                "doubt_left_K": s.left,
                "cautions": list(place_cautions(variant, s)),
            }
            for s in plan.sensors
        ],
        "others": [
            {"place": p.mass, "kind": kind.key, "doubt_left_K": left} for p, kind, left in plan.others
        ],
        "runs": plan.runs,
        "doubt_K": {"before": plan.start, "after": plan.end},
        "margins": [
            {"part": r.part, "duty": r.duty, "margin_K": r.margin, "sd_before_K": b, "sd_after_K": a}
            for r, b, a in plan.doubtful
        ],
        "readings": [reading_data(one) for one in readings],
    }


def reading_data(one: "Expected") -> dict[str, Any]:
    """One expected reading."""
    return {
        "place": one.sensor.place.mass,
        "duty": one.duty,
        "peak_degC": celsius(one.peak),
        "sd_K": one.sd,
        "time_s": one.time,
        "at_key_off_degC": celsius(one.at_key_off),
        "pass_up_to_degC": None if one.passes is None else celsius(one.passes),
        "over_from_degC": None if one.fails is None else celsius(one.fails),
        "part": one.part,
    }
