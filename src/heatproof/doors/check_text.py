"""A verdict as blocks: on one screen what decides, with `everything` all of it."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from heatproof.kit.findings import NOWHERE, Finding
from heatproof.report.blocks import Align, Block, Cautions, Findings, Notice, Para, Table, table
from heatproof.verdict.duty_facts import DutyFacts
from heatproof.verdict.verdict import Row, Verdict
from heatproof.verdict.words import (
    MISSING,
    ZERO_C,
    bars,
    clock,
    difference,
    kilowatts,
    margin_text,
    minutes,
    number,
    share,
    temperature,
    within,
)

CLOSEST = 5
"""Parts that hold which are shown beside those that do not."""
TIME_NOTE = (
    "A limit with a time may be passed for that long in all: its margin is from the temperature exceeded for "
    "exactly that long, not from the peak."
)
LOCAL_MARK = "△"
LOCAL_NOTE = (
    f"{LOCAL_MARK} how hot (°C) the place that gets most radiation may be, in the part's worst duty: a steady upper "
    "bound, not judged."
)
STORED = "Nothing has changed since the last check: stored results were used (--fresh solves again)."


def check_blocks(verdict: Verdict, *, everything: bool = False, worst: bool = False) -> Iterator[Block]:
    """Sentence, limits, duties, findings, cautions, and the sentence again.

    Each part once, in its worst duty: those that do not hold and the closest that do. worst: all of them.
    everything: every part in every duty, and every note.
    """
    headline = Notice(verdict.sentence, "", verdict.state)
    yield headline
    yield Para(fitted_text(verdict), "small")
    rows = verdict.rows if everything else verdict.worst_rows
    shown = rows if everything or worst else closest(rows)
    yield limits_table(shown, footnote(rows, shown))
    yield duties_table(verdict.duties)
    findings = verdict.findings if everything else in_short(verdict.findings)
    if findings:
        yield Findings(findings)
    if findings != verdict.findings:
        yield Para("--all says where and how much, and has all notes.", "small")
    yield Cautions(verdict.cautions)
    if verdict.stored:
        yield Para(STORED, "small")
    yield headline


def closest(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Rows that do not hold, and the closest that do."""
    open_rows = [row for row in rows if row.state != "holds"]
    held = [row for row in rows if row.state == "holds"]
    return (*open_rows, *held[:CLOSEST])


def footnote(rows: Sequence[Row], shown: Sequence[Row]) -> str:
    """What the table leaves out, and what its marks mean."""
    texts = []
    rest = [row for row in rows if row not in shown]
    if rest:
        nearest = min(row.margin for row in rest)
        texts.append(
            f"… {len(rest)} more hold, closest {difference(nearest)}; --all lists every part in every duty."
        )
    if any(row.found.rule == "continuous" and row.found.allowed_time for row in shown):
        texts.append(TIME_NOTE)
    if any(row.local_rise for row in shown):
        texts.append(LOCAL_NOTE)
    return " ".join(texts)


IN_SHORT = {
    "run.boils": "coolant boils",
    "run.outside_map": "the compressor works outside its map",
    "run.short_of_power": "the power asked for is not all delivered",
    "run.short_of_boost": "the turbine cannot deliver the boost asked for",
}
"""Code of a finding about one duty → what it says of several."""
ABOVE_AT_END = "limit.above_at_end"


def in_short(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Errors and warnings, those that several duties share said once; of the notes how many parts end above a limit."""
    short: dict[str, Finding] = {}
    for finding in findings:
        alike = [other for other in findings if other.code == finding.code]
        if finding.code == ABOVE_AT_END:
            parts = "1 part is" if len(alike) == 1 else f"{len(alike)} parts are"
            text = f"{parts} still above a continuous limit when the duty ends, within the time allowed"
            short.setdefault(finding.code, replace(finding, what=text, where=NOWHERE))
        elif finding.code in IN_SHORT and finding.level != "note":
            duties = ", ".join(dict.fromkeys(within(other.what.split(": ")[0]) for other in alike))
            text = f"{IN_SHORT[finding.code]} in {duties}"
            short.setdefault(finding.code, replace(finding, what=text, where=NOWHERE))
        elif finding.level != "note":
            short[str(len(short))] = finding
    return tuple(short.values())


def fitted_text(verdict: Verdict) -> str:
    """What is fitted, and what it comes to."""
    fitted = ", ".join(verdict.fitted) if verdict.fitted else "no measure"
    return (
        f"{verdict.project}, with {fitted}: {number(verdict.cost)} {verdict.currency}, "
        f"{number(verdict.mass, 1)} kg, {number(verdict.labour / 60.0)} min to fit; {verdict.masses} masses."
    )


def limits_table(rows: Sequence[Row], note: str) -> Table:
    """Part, duty, margin ± spread, confidence and state always; limit, peak and its time where there is room."""
    columns: tuple[tuple[str, Align, float], ...] = (
        ("Part", "left", 4.0),
        ("Duty", "left", 2.0),
        ("Peak", "right", 1.5),
        ("When", "right", 1.0),
        ("Limit", "right", 2.0),
        ("Margin", "right", 1.5),
        ("Sure", "right", 1.0),
        ("State", "left", 1.0),
    )
    least = (0, 0, 110, 118, 96, 0, 0, 0)
    return table(
        columns, [limit_cells(row) for row in rows], marks=[row.state for row in rows], note=note, least=least
    )


def limit_cells(row: Row) -> tuple[str, ...]:
    """One row of the table."""
    found = row.found
    local = f"{LOCAL_MARK}{number(found.peak + row.local_rise - ZERO_C)}" if row.local_rise else ""
    return (
        row.title,
        row.duty_name,
        f"{temperature(found.peak)} {local}".rstrip(),
        clock(found.time),
        limit_text(row),
        margin_text(row.margin, row.half),
        MISSING if row.confidence is None else share(row.confidence),
        row.state,
    )


def limit_text(row: Row) -> str:
    """`125 °C`; `120 °C, 10 min` where the time above it decides."""
    text = temperature(row.found.limit)
    timed = row.found.rule == "continuous" and row.found.allowed_time > 0.0
    return f"{text}, {minutes(row.found.allowed_time)}" if timed else text


# --- duties -----------------------------------------------------------------------------------------------
HEAT: tuple[tuple[str, str], ...] = (
    ("Fuel", "fuel"),
    ("Work", "brake power"),
    ("Walls", "cylinder walls"),
    ("Friction", "friction"),
    ("Exhaust", "exhaust ports"),
)
"""Heading, term of the heat balance."""
HEAT_NOTE = (
    "Power and boost: the most reached. Fuel to exhaust: means while the engine runs; walls and friction heat coolant "
    "and oil."
)


def duties_table(duties: Sequence[DutyFacts]) -> Table:
    """Duty, length, power and boost reached, heat balance in kW, how well the run's energy closes."""
    columns: tuple[tuple[str, Align, float], ...] = (
        ("Duty", "left", 2.0),
        ("Length", "right", 1.0),
        ("Key-off", "right", 1.0),
        ("Power", "right", 1.0),
        ("Boost", "right", 1.0),
        *((heading, "right", 1.0) for heading, _ in HEAT),
        ("Closes to", "right", 1.0),
    )
    least = (0, 0, 96, 0, 0, 72, 72, 72, 84, 72, 110)
    return table(columns, [duty_cells(duty) for duty in duties], note=HEAT_NOTE, least=least)


def duty_cells(duty: DutyFacts) -> tuple[str, ...]:
    """One row."""
    return (
        duty.name,
        minutes(duty.duration),
        clock(duty.key_off) if duty.stops else MISSING,
        kilowatts(duty.power),
        bars(duty.boost) if duty.boost > 1e3 else MISSING,
        *(kilowatts(duty.balance[term]) for _, term in HEAT),
        f"{abs(duty.closure):.0e}",
    )
