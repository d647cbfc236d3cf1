"""Sections of a release on what holds: limits, rating, deviations, open risks, changes."""

from collections.abc import Iterator

from heatproof.report.assumptions import is_weak, limit_sources
from heatproof.report.blocks import Block, Bullets, Columns, Figure, Heading, Mark, Para, table
from heatproof.report.changes import Changes
from heatproof.report.evidence import SHORT, Limit
from heatproof.report.gathered import Gathered
from heatproof.report.plots import margins_plot, rating_plot
from heatproof.verdict.words import MISSING, clock, minutes, number, share, within


# --- limits -----------------------------------------------------------------------------------------------
def limits_section(found: Gathered) -> Iterator[Block]:
    """Every part in its worst duty as a drawing and a table; then every limit in every duty."""
    units = found.units
    yield Heading("Limits")
    tight = found.worst[:24]
    yield Figure(
        margins_plot(tight, units),
        f"Margins of the {len(tight)} parts with least left, with their spreads; the table below has the figures.",
        f"Margin of each part in its worst duty, least left first ({len(tight)} of {len(found.worst)}). "
        f"The line is the spread at {share(found.verdict.required)} confidence.",
    )
    yield limits_table(found, found.worst, whole=True)
    yield Para(
        "A limit with a time may be passed for that long in all: its margin is from the temperature exceeded for exactly "
        "that long, not from the peak. Sure: how likely the margin is positive, by the values that declare a spread; what "
        "the model leaves out is not in it.",
        "small",
    )


def limits_table(found: Gathered, limits: list[Limit], *, whole: bool) -> Block:
    """Part, duty, peak, when, limit, margin, confidence, evidence, state."""
    rows = [limit_row(one, found) for one in limits]
    return table(
        (
            ("Part", "left", 2.5),
            ("Worst duty" if whole else "Duty", "left", 1.5),
            ("Peak", "right", 1.0),
            ("When", "right", 0.8),
            ("Limit", "right", 1.5),
            ("Margin", "right", 1.45),
            ("Sure", "right", 1.0),
            ("Evidence", "left", 1.6),
            ("State", "left", 0.8),
        ),
        rows,
        marks=[one.state for one in limits],
    )


def limit_row(one: Limit, found: Gathered) -> tuple[str, ...]:
    """One row."""
    units, row = found.units, one.row
    tested = "; ".join(f"{t.log}: {units.temperature(t.peak)}" for t in one.tests)
    evidence = SHORT[one.kind] + (f" ({tested})" if tested else "")
    limit = units.temperature(one.limit)
    if row is None:
        peak = max(t.peak for t in one.tests)
        return (
            one.title,
            one.duty_title,
            units.temperature(peak),
            MISSING,
            limit,
            units.margin(one.margin, None),
            MISSING,
            evidence,
            one.state,
        )
    timed = row.found.rule == "continuous" and row.found.allowed_time > 0.0
    return (
        one.title,
        one.duty_title,
        units.temperature(row.found.peak),
        clock(row.found.time),
        f"{limit}, {minutes(row.found.allowed_time)}" if timed else limit,
        units.margin(one.margin, row.half),
        MISSING if row.confidence is None else share(row.confidence),
        evidence,
        one.state + (" (signed)" if one.signed is not None else ""),
    )


# --- rating -----------------------------------------------------------------------------------------------
def rating_section(found: Gathered) -> Iterator[Block]:
    """Map and table."""
    yield Heading("Rating")
    if not found.cells:
        yield Para("The rating was left out of this paper.")
        return
    units = found.units
    yield Figure(
        rating_plot(found.cells, units),
        "Highest ambient by use and share of boost; the table below has the same figures.",
        f"Highest ambient at which every limit holds with {share(found.verdict.required)} confidence, and what reaches its limit first.",
    )
    rows = []
    for one in found.cells:
        ambient = MISSING if one["ambient"] is None else units.temperature(units.rounded_down(one["ambient"]))
        formulas = [MISSING if one[k] is None else units.temperature(one[k]) for k in ("lat", "atb")]
        first = one["title"] or one["unsolved"] or MISSING
        rows.append(
            (
                f"{number(100 * one['level'])} %",
                one["use"],
                ambient,
                first,
                units.power(one["power"]),
                *formulas,
            )
        )
    columns: Columns = (
        ("Boost", "right", 0.7),
        ("Use", "left", 1.0),
        ("Ambient", "right", 1.0),
        ("First at its limit", "left", 2.4),
        ("Power", "right", 0.9),
        ("LAT", "right", 0.9),
        ("ATB", "right", 0.9),
    )
    yield table(
        columns,
        rows,
        note="LAT (limiting ambient) and ATB (air-to-boil): the trade's formulas for the coolant alone. A dash under Ambient: no ambient holds.",
    )


# --- deviations and risks ---------------------------------------------------------------------------------
def deviations_section(found: Gathered) -> Iterator[Block]:
    """What is over or thin, and who signed for it."""
    yield Heading("Deviations")
    weak = [one for one in found.limits if one.state == "over" or one.signed is not None]
    if not weak:
        yield Para("None: no limit is over.")
    rows = []
    for one in sorted(weak, key=lambda w: w.margin):
        s = one.signed
        who = f"{s.who}, {s.when}" if s is not None else ""
        why = s.why if s is not None else one.unsigned.capitalize() + "."
        rows.append(
            (one.title, one.duty_title, found.units.margin(one.margin, None), who or "to be signed", why)
        )
    if rows:
        columns: Columns = (
            ("Part", "left", 1.5),
            ("Duty", "left", 1.1),
            ("Margin", "right", 0.8),
            ("Signed by", "left", 1.4),
            ("Why", "left", 3.0),
        )
        marks: list[Mark] = ["" if r[3] != "to be signed" else "over" for r in rows]
        yield table(columns, rows, marks=marks)


def open_section(found: Gathered) -> Iterator[Block]:
    """Thin margins, warnings of the runs, limits and values without a firm source, what no test has shown."""
    yield Heading("Open risks")
    thin = [one for one in found.worst if one.state == "thin"]
    items = [
        f"Thin: {one.title}, {found.units.margin(one.margin, one.row.half if one.row else None)} in {within(one.duty_title)}."
        for one in thin
    ]
    items += [f"{found.units.told(one).what}." for one in found.open_findings]
    untested = [one for one in found.worst if one.kind == "predicted"]
    if untested:
        items.append(
            f"{len(untested)} of {len(found.worst)} parts rest on prediction alone: no test is on file for them."
        )
    weak = [title for title, source, _ in limit_sources(found.variant) if is_weak(source)]
    if weak:
        items.append(f"{len(weak)} limits have no firm source: {', '.join(within(t) for t in weak)}.")
    yield Bullets(tuple(items)) if items else Para("None known.")


def changes_section(changed: Changes | None) -> Iterator[Block]:
    """Against the previous release."""
    yield Heading("Changes")
    if changed is None:
        yield Para("No earlier release is on file.")
        return
    yield Para(f"Against {changed.earlier}:")
    yield Bullets(changed.items) if changed.items else Para("Nothing has changed.")
