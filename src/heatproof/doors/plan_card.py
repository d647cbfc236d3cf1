"""A test plan as the card that goes to the shop, in the reader's units."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatproof.doors.plan_text import METRIC, between_text, kind_text, mark_text, response_text, sentence
from heatproof.report.reader_units import ReaderUnits
from heatproof.verdict.words import clock, minutes

if TYPE_CHECKING:
    from heatproof.kit.records.duty import Duty
    from heatproof.kit.records.variant import Variant
    from heatproof.logs.planning.acceptance import Expected
    from heatproof.logs.planning.plan import Plan
    from heatproof.report.test_card import TestCard
    from heatproof.verdict.verdict import Verdict


def card_of(
    plan: "Plan",
    readings: "Sequence[Expected]",
    variant: "Variant",
    verdict: "Verdict",
    measures: Sequence[str],
    units: ReaderUnits = METRIC,
) -> "TestCard":
    """The card's texts. measures: titles of what is fitted."""
    from heatproof.logs.planning.acceptance import place_cautions
    from heatproof.report.test_card import CardReading, CardRun, CardSensor, TestCard

    sensors = tuple(
        CardSensor(k, s.place.mass, s.place.title, kind_text(s), response_text(s), place_cautions(variant, s))
        for k, s in enumerate(plan.sensors, start=1)
    )
    runs = []
    for key, times in plan.runs.items():
        rows = tuple(
            CardReading(
                plan.number(one.sensor),
                one.sensor.place.title,
                between_text(one, units),
                clock(one.time),
                mark_text(one.passes, units),
                mark_text(one.fails, units),
            )
            for one in readings
            if one.duty == key
        )
        runs.append(CardRun(plan.duties[key].name, how_text(plan.duties[key], units), times, rows))
    revision = getattr(variant.head, "revision", "") or ""
    return TestCard(
        project=variant.name,
        revision=f"{revision}.".lstrip(".") if revision else "",
        fitted="; ".join(measures) or "no measure",
        why=sentence(plan, units),
        day=day_text(plan, units),
        sensors=sensors,
        runs=tuple(runs),
        cautions=verdict.cautions,
    )


def how_text(duty: "Duty", units: ReaderUnits = METRIC) -> str:
    """What to drive."""
    parts = [duty.note or f"As in the duty {duty.name}."]
    cold = duty.start.cold
    parts.append(
        "Start with the car at ambient."
        if cold
        else f"First {minutes(duty.start.settle)} at {units.speed(duty.start.speed)}."
    )
    parts.append(f"Air conditioning {'on' if duty.air_conditioning else 'off'}.")
    if duty.soak > 0.0:
        parts.append(f"Then key off and log {minutes(duty.soak)} more, bonnet shut.")
    return " ".join(parts)


def day_text(plan: "Plan", units: ReaderUnits = METRIC) -> str:
    """The day the figures are for."""
    days = sorted(duty.air.ambient for key, duty in plan.duties.items() if key in plan.runs)
    named = " or ".join(dict.fromkeys(units.temperature(day) for day in days))
    near = units.difference(5.0).removeprefix("+")
    return (
        f"Figures are for {named} ambient. Within {near} of it move every figure by the difference; further off, plan "
        "again with the ambient of the day. Log vehicle speed, engine speed, air flow, pedal, ambient and coolant too."
    )
