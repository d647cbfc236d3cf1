"""A log on the terminal and as JSON: channels, what was dropped, events, figures, predicted against measured."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatproof.doors.console import console, print_table, say
from heatproof.verdict.words import MISSING, celsius, clock, difference, number, temperature

if TYPE_CHECKING:
    from heatproof.logs.cleaning.join import Joined
    from heatproof.logs.correcting.other_ambient import OtherDay
    from heatproof.logs.predicting.against import Against, ChannelResult
    from heatproof.logs.predicting.compare_days import Difference
    from heatproof.logs.reading.records import Channel, LogFinding
    from heatproof.logs.reducing.cooldown import SoakPair
    from heatproof.logs.reducing.events import Event
    from heatproof.logs.reducing.reduce import Figure

MOST_EVENTS, MOST_FINDINGS = 20, 40
SHOWN = {
    "Pa": (1e-3, "kPa"),
    "1/s": (60.0, "rpm"),
    "m/s": (3.6, "km/h"),
    "kg/s": (1e3, "g/s"),
    "1": (100.0, "%"),
}


# --- tables -----------------------------------------------------------------------------------------------
def print_log(joined: "Joined", events: "tuple[Event, ...]", figures: "tuple[Figure, ...]") -> None:
    """Channels, findings, events, figures."""
    log = joined.log
    start, end = log.span_s
    when = f", {log.start:%Y-%m-%d %H:%M}" if log.start else ""
    say(f"{len(log.channels)} channels over {clock(end - start)}{when}", style="bold")
    say()
    rows = [channel_cells(c, joined) for c in log.channels]
    heads = ("Channel", "Taken as", "Unit", "Rate", "From", "To", "Out", "Place")
    print_table(heads, rows, left=("Channel", "Taken as", "Unit", "Place"))
    say()
    print_notes(joined)
    if events:
        say("Events", style="bold")
        print_table(("Kind", "From", "Length", "Peaks"), event_rows(events), left=("Kind", "Peaks"))
        if len(events) > MOST_EVENTS:
            say(f"… {len(events) - MOST_EVENTS} more; --json holds all of them")
        say()
    if figures:
        say("Figures", style="bold")
        print_table(
            ("Figure", "Value", "", "Standing"), map(figure_cells, figures), left=("Figure", "Standing")
        )
        say()


def channel_cells(channel: "Channel", joined: "Joined") -> tuple[str, ...]:
    """One channel."""
    values = channel.values[channel.measured]
    ends = (MISSING, MISSING)
    if values.size:
        low, high = float(values.min()), float(values.max())
        ends = (end_of(channel, low), end_of(channel, high))
    out = sum(d.count for d in joined.dropped if d.column == channel.column and d.step != "staircase")
    kind = channel.quantity.replace("_", " ")
    rate = f"{number(channel.rate_Hz, 1)} Hz"
    return (channel.column, kind, channel.unit, rate, *ends, number(out) if out else "", channel.place)


def end_of(channel: "Channel", value: float) -> str:
    """Lowest or highest of a channel; lambda is a ratio, not a share."""
    return number(value, 2) if channel.quantity == "lambda" else reading(value, channel.si_unit)


def reading(value: float, si_unit: str) -> str:
    """A value in the reader's unit."""
    if si_unit == "K":
        return temperature(value)
    factor, unit = SHOWN.get(si_unit, (1.0, si_unit))
    scaled = value * factor
    return f"{number(scaled, 0 if abs(scaled) >= 100 else 1)} {unit}".strip()


def print_notes(joined: "Joined") -> None:
    """Guesses and defects, warnings first; then what was taken out, and why."""
    notes = [*(f for log in joined.raw for f in log.findings), *joined.findings]
    print_log_findings(notes)
    taken = [d for d in joined.dropped if d.step != "staircase"]
    copies = {d.why for d in joined.dropped if d.step == "staircase"}
    if taken or copies:
        say("Taken out", style="bold")
    for d in taken:
        say(f"  {d.column}: {number(d.count)} of {number(d.of)} samples, {d.step}: {d.why}")
    for why in sorted(copies):
        many = sum(d.step == "staircase" and d.why == why for d in joined.dropped)
        say(f"  {many} channels: {why}")
    if taken or copies:
        say()


def print_log_findings(notes: "list[LogFinding]") -> None:
    """One line each; plain recognitions last, cut short where there are many."""
    unique = list(dict.fromkeys(notes))
    warned = [f for f in unique if f.level == "warning"]
    info = [f for f in unique if f.level != "warning"]
    out = console()
    for finding in warned:
        out.print(finding.text(), style="yellow", soft_wrap=True)
    for finding in info[:MOST_FINDINGS]:
        out.print(finding.text(), style="dim", soft_wrap=True)
    if len(info) > MOST_FINDINGS:
        out.print(f"… {len(info) - MOST_FINDINGS} more notes; --json holds all of them", style="dim")
    if unique:
        say()


def event_rows(events: "tuple[Event, ...]") -> list[tuple[str, ...]]:
    """The longest events, in order of time."""
    longest = sorted(events, key=lambda e: -e.length_s)[:MOST_EVENTS]
    rows: list[tuple[str, ...]] = []
    for event in sorted(longest, key=lambda e: e.start_s):
        peaks = [
            f"{name.removesuffix(' peak [K]').replace('_', ' ').removesuffix(' temperature')} {temperature(value)}"
            for name, value in event.figures.items()
            if name.endswith(" peak [K]") and not name.startswith("ambient")
        ]
        rows.append((event.kind, clock(event.start_s), f"{number(event.length_s)} s", ", ".join(peaks[:4])))
    return rows


def figure_cells(figure: "Figure") -> tuple[str, ...]:
    """One reduced figure."""
    spread = "" if figure.sd != figure.sd else f"± {spread_text(figure)}"
    absolute = figure.unit == "K" and not is_difference(figure.name)
    if figure.value != figure.value:
        value = MISSING
    elif absolute:
        value = f"{number(celsius(figure.value), 1)} °C"
    elif figure.unit == "1":
        value = number(figure.value, 2)
    elif figure.unit == "s":
        value = clock(figure.value)
    else:
        value = f"{number(figure.value, 1)} {figure.unit}"
    standing = figure.standing if not figure.notes else f"{figure.standing}: {'; '.join(figure.notes)}"
    return figure.name, value, spread, standing


def spread_text(figure: "Figure") -> str:
    """Two standard deviations."""
    if figure.unit == "s":
        return clock(2 * figure.sd)
    return number(2 * figure.sd, 2 if figure.unit == "1" else 1)


def is_difference(name: str) -> bool:
    """Whether a figure in K is a difference, not a temperature."""
    return any(word in name for word in ("over ambient", "drop"))


def print_against(found: "Against", early: float) -> None:
    """Predicted against measured, worst first."""
    say(f"Predicted against measured, from {clock(early)} of the drive, worst first", style="bold")
    heads = ("Channel", "Place", "Bias", "Spread", "Peak measured", "predicted", "Later by", "Of its doubt")
    print_table(heads, [against_cells(one) for one in found.channels], left=("Channel", "Place"))
    say("Bias: measured less predicted. Of its doubt: 1 is as expected, 3 wants looking into.", style="dim")
    say()


def against_cells(one: "ChannelResult") -> tuple[str, ...]:
    """One channel."""
    shift = MISSING if one.shift_s != one.shift_s else f"{number(one.shift_s)} s"
    return (
        one.column,
        one.place,
        difference(one.bias, 1),
        f"{number(one.spread, 1)} K",
        temperature(one.peak_measured),
        temperature(one.peak_predicted),
        shift,
        number(one.normalised, 1),
    )


def print_elsewhere(found: "Sequence[OtherDay]") -> None:
    """Peaks at another ambient, by the model and by the simple rule."""
    if not found:
        return
    say(f"Peaks on a day {difference(found[0].span)} in ambient", style="bold")
    rows = [
        (o.column, o.place, temperature(o.measured), temperature(o.by_model), temperature(o.by_rule))
        for o in found
    ]
    print_table(
        ("Channel", "Place", "Measured", "By the model", "One to one"), rows, left=("Channel", "Place")
    )
    say(
        "One to one is the usual rule; it does not hold behind a thermostat, a switched fan, boiling or radiation.",
        style="dim",
    )
    say()


def print_days(found: "Sequence[Difference]") -> None:
    """The other day against this one."""
    if not found:
        return
    say("The other day against this one, mean over ambient", style="bold")
    rows = [
        (
            d.quantity.replace("_", " "),
            difference(d.a.value, 1),
            difference(d.b.value, 1),
            difference(d.difference_K, 1),
            f"{difference(d.low_K, 1).removesuffix(' K')} … {difference(d.high_K, 1)}",
            day_verdict(d),
        )
        for d in found
    ]
    print_table(("Quantity", "This", "Other", "Difference", "95 % between", ""), rows, left=("Quantity", ""))
    say()


def print_between(pair: "SoakPair | None") -> None:
    """How the coolant cooled between two runs."""
    if pair is None:
        return
    say(
        f"Between the two runs the coolant cooled from {temperature(pair.T_start)} to {temperature(pair.T_end)} in "
        f"{clock(pair.gap_s)} at {temperature(pair.T_ambient)}: time constant {clock(pair.time_constant_s)}, "
        f"95 % between {clock(pair.low_s)} and {clock(pair.high_s)}."
    )
    for note in pair.notes:
        say(f"  {note}", style="dim")
    say()


def day_verdict(one: "Difference") -> str:
    """Words for the difference."""
    return {"B is lower": "the other is lower", "B is higher": "the other is higher"}.get(
        one.verdict, "cannot tell"
    )


# --- JSON -------------------------------------------------------------------------------------------------
