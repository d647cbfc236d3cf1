"""An explanation as tables and as JSON."""

from collections.abc import Iterable, Mapping
from typing import Any

from rich.table import Table
from rich.text import Text

from heatproof.doors.console import console, plain_table, print_cautions
from heatproof.study.questions.explain import Explained
from heatproof.verdict.cautions import USUAL
from heatproof.verdict.explain import Explanation
from heatproof.verdict.names import spaced
from heatproof.verdict.words import ZERO_C, clock, difference, margin_text, number, share, temperature

MOST_PATHS = 16  # printed; JSON has all
MOST_HELPS, LEAST_GAIN = 8, 0.5  # K
HELPS_NOTE = (
    "Each fitted by itself beside what is fitted now; together they may do more or less than their sum."
)
MOVES_NOTE = (
    "Which values move this margin most: after `heatproof check` (its results are stored), or with --moves."
)


def print_explanation(told: Explained, titles: Mapping[str, str], currency: str) -> None:
    """Head, ledger by cause, heat by path, what moves the margin."""
    out = console()
    head = f"{told.title}: {temperature(told.temperature)} at {clock(told.time)} in {told.duty_name}"
    out.print(Text(f"{head}, {difference(told.rise, 1)} over ambient.", style="bold"))
    if told.margin is not None:
        margin = told.margin
        out.print(f"Limit {temperature(margin.limit)}, margin {margin_text(margin.margin, None)}.")
    for table in (
        causes_table(told),
        paths_table(told),
        helps_table(told, titles, currency),
        moves_table(told),
    ):
        if table.row_count:
            out.print()
            out.print(table)
    if told.helps:
        out.print(Text(HELPS_NOTE, style="dim"))
    if told.moves_left_out:
        out.print()
        out.print(Text(MOVES_NOTE, style="dim"))
    out.print()
    print_cautions(USUAL)


def causes_table(told: Explanation) -> Table:
    """The ledger by cause; its sum is printed."""
    table = plain_table(("Cause", "Rise", "Share"), left=("Cause",), fold=False)
    for cause, rise in told.causes:
        part = share(abs(rise / told.rise)) if told.rise else ""
        table.add_row(spaced(cause), difference(rise, 1), part if rise > 0.0 else "")
    table.add_row("Sum", difference(sum(rise for _, rise in told.causes), 1), "", style="bold")
    return table


def paths_table(told: Explanation) -> Table:
    """Heat by path; what is left over goes into the part itself."""
    table = plain_table(("From", "Heat", "By"), left=("From",), fold=False)
    for path in told.paths[:MOST_PATHS]:
        table.add_row(path.title, f"{number(path.heat, 1)} W", path.kind)
    rest = told.paths[MOST_PATHS:]
    if rest:
        table.add_row(f"{len(rest)} smaller paths", f"{number(sum(p.heat for p in rest), 1)} W", "")
    if told.paths:
        table.add_row("Sum, stored in the part", f"{number(told.storing, 1)} W", "", style="bold")
    return table


def helps_table(told: Explained, titles: Mapping[str, str], currency: str) -> Table:
    """Measures not fitted that gain this part most, and those that cost it most."""
    table = plain_table(
        ("Measure that would help", "Gain", "Cost", "With it"),
        left=("Measure that would help",),
        fold=False,
    )
    felt = [one for one in told.helps if one.gained >= LEAST_GAIN or one.part_gone]
    for one in felt[:MOST_HELPS]:
        sides = [f"also {names(one.also, titles)}"] if one.also else []
        sides += [f"without {names(one.gone, titles)}"] if one.gone else []
        gained = "part not there" if one.part_gone else difference(one.gained, 1)
        table.add_row(
            names((one.measure,), titles), gained, f"{number(one.cost)} {currency}", "; ".join(sides)
        )
    if told.helps and not felt:
        table.add_row("none of those not fitted", "", "", "")
    return table


def names(measures: Iterable[str], titles: Mapping[str, str]) -> str:
    """Measures as people call them."""
    return ", ".join(titles.get(measure) or measure for measure in measures)


def moves_table(told: Explanation) -> Table:
    """What one standard deviation of a value does to the margin."""
    table = plain_table(("Value", "Margin, one standard deviation up"), left=("Value",), fold=False)
    for path, change in told.moves:
        table.add_row(path, difference(change, 1))
    return table


def explain_data(told: Explained) -> dict[str, Any]:
    """The object of `explain --json`. Causes sum to rise_K; heat_W into the part, negative where it leaves."""
    margin = told.margin
    return {
        "part": told.part,
        "title": told.title,
        "duty": told.duty,
        "time_s": told.time,
        "temperature_degC": told.temperature - ZERO_C,
        "rise_K": told.rise,
        "limit_degC": margin.limit - ZERO_C if margin is not None else None,
        "margin_K": margin.margin if margin is not None else None,
        "causes": [{"cause": cause, "rise_K": rise} for cause, rise in told.causes],
        "paths": [
            {
                "from": path.origin,
                "title": path.title,
                "heat_W": path.heat,
                "kind": path.kind,
                "link": path.link,
            }
            for path in told.paths
        ],
        "stored_W": told.storing,
        "moves": [{"path": path, "margin_K_per_sd": change} for path, change in told.moves],
        "helps": [
            {
                "measure": one.measure,
                "gained_K": None if one.part_gone else one.gained,
                "cost": one.cost,
                "also": list(one.also),
                "without": list(one.gone),
            }
            for one in told.helps
        ],
        "cautions": list(USUAL),
    }
