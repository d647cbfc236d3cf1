"""A verdict as tables."""

from rich.table import Table
from rich.text import Text

from heatproof.doors.console import STATE_STYLE, console, print_cautions, print_findings
from heatproof.verdict.duty_facts import DutyFacts
from heatproof.verdict.verdict import Row, Verdict
from heatproof.verdict.words import (
    MISSING,
    ZERO_C,
    bars,
    clock,
    kilowatts,
    margin_text,
    minutes,
    number,
    share,
    temperature,
)

TIME_NOTE = (
    "A limit with a time may be passed for that long in all: its margin is from the temperature exceeded for "
    "exactly that long, not from the peak."
)
LOCAL_MARK = "△"
LOCAL_NOTE = (
    f"{LOCAL_MARK} how hot (°C) the place that gets most radiation may be, in the part's worst duty: a steady upper "
    "bound, not judged."
)
NARROW, TIGHT = 100, 72  # columns below which the table drops some


def print_verdict(verdict: Verdict, *, worst_only: bool = False) -> None:
    """Sentence, limits, duties, findings, cautions. worst_only: each part once, in its worst duty."""
    out = console()
    out.print(Text(verdict.sentence, style=STATE_STYLE[verdict.state] or "bold"))
    out.print(Text(fitted_text(verdict), style="dim"))
    out.print()
    out.print(limits_table(verdict, out.width, worst_only=worst_only))
    if any(row.found.rule == "continuous" and row.found.allowed_time for row in verdict.rows):
        out.print(Text(TIME_NOTE, style="dim"))
    if any(row.local_rise for row in verdict.rows) and out.width >= TIGHT:
        out.print(Text(LOCAL_NOTE, style="dim"))
    out.print()
    out.print(duties_table(verdict, out.width))
    out.print()
    if verdict.findings:
        print_findings(verdict.findings)
        out.print()
    print_cautions(verdict.cautions)
    if verdict.stored:
        out.print(
            Text("Nothing has changed since the last check: stored results were used (--fresh solves again).")
        )
    out.print()
    out.print(Text(verdict.sentence, style=STATE_STYLE[verdict.state] or "bold"))


def fitted_text(verdict: Verdict) -> str:
    """What is fitted, and what it comes to."""
    fitted = ", ".join(verdict.fitted) if verdict.fitted else "no measure"
    return (
        f"{verdict.project}, with {fitted}: {number(verdict.cost)} {verdict.currency}, "
        f"{number(verdict.mass, 1)} kg, {number(verdict.labour / 60.0)} min to fit; {verdict.masses} masses."
    )


def limits_table(verdict: Verdict, width: int, *, worst_only: bool = False) -> Table:
    """Part, duty, peak, when, limit, margin ± spread, confidence, state; least left first."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name, right, least in COLUMNS:
        if width >= least:
            table.add_column(
                name, justify="right" if right else "left", no_wrap=right or name == "State", min_width=5
            )
    for row in verdict.worst_rows if worst_only else verdict.rows:
        cells = [
            cell for cell, (_, _, least) in zip(limit_cells(row), COLUMNS, strict=True) if width >= least
        ]
        table.add_row(*cells, style=STATE_STYLE[row.state])
    return table


COLUMNS = (
    ("Part", False, 0),
    ("Duty", False, 0),
    ("Peak", True, TIGHT),
    ("When", True, NARROW),
    ("Limit", True, TIGHT),
    ("Margin", True, 0),
    ("Sure", True, NARROW),
    ("State", False, 0),
)
"""Name, right aligned, width from which it is shown."""


def limit_cells(row: Row) -> tuple[str, ...]:
    """One row of the table."""
    sure = MISSING if row.confidence is None else share(row.confidence)
    found = row.found
    local = f"{LOCAL_MARK}{number(found.peak + row.local_rise - ZERO_C)}" if row.local_rise else ""
    return (
        row.title,
        row.duty_name,
        f"{temperature(found.peak)} {local}".rstrip(),
        clock(found.time),
        limit_text(row),
        margin_text(row.margin, row.half),
        sure,
        row.state,
    )


def limit_text(row: Row) -> str:
    """`125 °C`; `120 °C for 10 min` where the time above it decides."""
    text = temperature(row.found.limit)
    timed = row.found.rule == "continuous" and row.found.allowed_time > 0.0
    return f"{text}, {minutes(row.found.allowed_time)}" if timed else text


def duties_table(verdict: Verdict, width: int) -> Table:
    """Duty, length, power and boost reached, energy balance."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("Duty")
    for name in ("Length", "Key-off", "Power", "Boost"):
        table.add_column(name, justify="right", no_wrap=True)
    if width >= TIGHT:
        table.add_column("Closes to", justify="right", no_wrap=True)
    for duty in verdict.duties:
        cells = [
            duty.name,
            minutes(duty.duration),
            clock(duty.key_off) if duty.stops else MISSING,
            kilowatts(duty.power),
            bars(duty.boost) if duty.boost > 1e3 else MISSING,
        ]
        table.add_row(*cells, *([closure_text(duty)] if width >= TIGHT else []))
    return table


def closure_text(duty: DutyFacts) -> str:
    """`1e-8` of heat in."""
    return f"{abs(duty.closure):.0e}"
