"""A test plan on the terminal and as JSON; words that the page and the card share."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from heatproof.doors.console import print_table, say
from heatproof.report.reader_units import ReaderUnits
from heatproof.verdict.words import MISSING, celsius, clock, margin_text, minutes, number, temperature

if TYPE_CHECKING:
    from heatproof.kit.records.variant import Variant
    from heatproof.logs.planning.acceptance import Expected
    from heatproof.logs.planning.plan import ChosenSensor, Plan

METRIC = ReaderUnits()
BANDS = (
    "Pass up to: proves the limit for the duty's own day with the confidence the kit asks for. Over from: the "
    "limit does not hold there. Between the two the test decides nothing; correct the model with its log."
)


# --- text -------------------------------------------------------------------------------------------------
def print_plan(plan: "Plan", readings: "Sequence[Expected]", variant: "Variant") -> None:
    """Sentence, sensors, runs, margins before and after, acceptance, what to mind."""
    from heatproof.logs.planning.acceptance import place_cautions, undecided_after

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
        say(f"  {k}. {plan.duties[key].name}, {length_text(plan, key)}: {doubt(left)} left after it")
    say()
    say("Margins in doubt", style="bold")
    rows = [
        (
            row.title,
            row.duty_name,
            margin_text(row.margin, 2 * before),
            f"± {number(2 * after, 1)} K",
            "undecided" if undecided_after(row, after, variant.confidence) else "",
        )
        for row, before, after in plan.doubtful
    ]
    print_table(("Part", "Duty", "Margin, two sd", "After the test", ""), rows, left=("Part", "Duty", ""))
    say()
    say("What the sensors should read at their highest", style="bold")
    heads = ("No.", "Place", "Duty", "Expected", "Between", "At", "Pass up to", "Over from")
    print_table(heads, reading_rows(plan, readings), left=("Place", "Duty"))
    say(BANDS, style="dim")
    say()
    say("Mind", style="bold")
    for k, sensor in enumerate(plan.sensors, start=1):
        say(f"  {k} {sensor.place.mass}: {' '.join(place_cautions(variant, sensor))}")
    say()


def sentence(plan: "Plan", units: ReaderUnits = METRIC) -> str:
    """How much the plan buys."""
    runs = sum(plan.runs.values())
    share = 100.0 * (1.0 - plan.end / plan.start) if plan.start > 0.0 else 0.0
    margins = len(plan.doubtful)
    return (
        f"{counted(len(plan.sensors), 'sensor')} and {counted(runs, 'run')} take away {number(share)} % of the doubt of "
        f"{counted(margins, 'margin')}: {doubt(plan.start, units)} before, {doubt(plan.end, units)} after{', summed' if margins > 1 else ''}."
    )


def counted(n: int, what: str) -> str:
    """`1 run`, `3 runs`."""
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def doubt(kelvin: float, units: ReaderUnits = METRIC) -> str:
    """A standard deviation or a sum of them: `12.3 K`, `0.42 K`."""
    shown = units.difference_value(kelvin)
    return f"{number(shown, 1 if shown >= 1.0 else 2)} {units.step}"


def length_text(plan: "Plan", key: str) -> str:
    """`20 min`, `20 min and 30 min soak`."""
    key_off, end = plan.lengths[key]
    return minutes(key_off) + (f" and {minutes(end - key_off)} soak" if end > key_off else "")


def sensor_cells(k: int, s: "ChosenSensor") -> tuple[str, ...]:
    """One sensor."""
    title = "" if s.place.title == s.place.mass else s.place.title
    return (str(k), s.place.mass, title, kind_text(s), response_text(s), doubt(s.left))


def response_text(s: "ChosenSensor") -> str:
    """63 % of a step."""
    return f"{number(s.response, 1 if s.response < 10 else 0)} s"


def kind_text(s: "ChosenSensor") -> str:
    """The kind, and a simpler one that will do."""
    return s.kind.title if s.simpler is None else f"{s.kind.title} ({s.simpler.title} will do)"


def mark_text(T: float | None, units: ReaderUnits = METRIC) -> str:
    """A temperature (K) that counts as pass or fail, where there is one."""
    return MISSING if T is None else units.temperature(T)


def reading_rows(plan: "Plan", readings: "Sequence[Expected]") -> list[tuple[str, ...]]:
    """One row for every sensor in every duty."""
    return [
        (
            str(plan.number(one.sensor)),
            one.sensor.place.mass,
            plan.duties[one.duty].name,
            temperature(one.peak),
            between_text(one),
            clock(one.time),
            mark_text(one.passes),
            mark_text(one.fails),
        )
        for one in readings
    ]


def between_text(one: "Expected", units: ReaderUnits = METRIC) -> str:
    """Where 95 % of peaks should fall: `112 … 133 °C`."""
    return f"{number(units.value(one.low))} … {units.temperature(one.high)}"


# --- JSON -------------------------------------------------------------------------------------------------
def plan_data(plan: "Plan", readings: "Sequence[Expected]", variant: "Variant") -> dict[str, Any]:
    """The object of `plan --json`."""
    from heatproof.logs.planning.acceptance import place_cautions, undecided_after

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
        "lengths": {
            key: {"key_off_s": plan.lengths[key][0], "end_s": plan.lengths[key][1]} for key in plan.runs
        },
        "doubt_K": {"before": plan.start, "after": plan.end},
        "margins": [
            {
                "part": r.part,
                "duty": r.duty,
                "margin_K": r.margin,
                "sd_before_K": b,
                "sd_after_K": a,
                "undecided": undecided_after(r, a, variant.confidence),
            }
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
