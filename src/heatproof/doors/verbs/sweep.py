"""`heatproof sweep`: many variants at once."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import print_json, print_table, progress_bar, say, say_if_compiling
from heatproof.doors.options import (
    AsJson,
    Cluster,
    Duties,
    Folder,
    Jobs,
    Resume,
    Selection,
    duties_named,
    stops_told,
    with_blocks,
)

if TYPE_CHECKING:
    from heatproof.study.questions.sweep import Swept

SHOWN, MOST_IN_ORDER = 12, 60
Sets = Annotated[bool, typer.Option("--sets", help="Every set of measures that may be fitted together.")]
Vary = Annotated[
    list[str] | None, typer.Option("--vary", help="PATH=LOW..HIGH:COUNT with units; may be repeated.")
]
Draws = Annotated[int, typer.Option("--draws", min=0, help="Random draws of all values that have a spread.")]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Seed of the draws.")]
Csv = Annotated[Path | None, typer.Option("--csv", help="Write every margin of every variant to this file.")]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def sweep(
        project: Folder,
        selection: Selection,
        sets: Sets = False,
        vary: Vary = None,
        draws: Draws = 0,
        seed: Seed = 0,
        duty: Duties = None,
        jobs: Jobs = 2,
        cluster: Cluster = None,
        resume: Resume = None,
        csv: Csv = None,
        as_json: AsJson = False,
    ) -> None:
        """Many variants at once, here or on a cluster.

        Many variants at once, here or on a cluster; goes on where it was stopped.
        """
        from heatproof.study.questions.sweep import csv_text, planned
        from heatproof.study.questions.sweep import sweep as run_sweep

        read, measures = selection.opened(project)
        plan = planned(read, measures, sets=sets, ranges=vary or [], count=draws, seed=seed)
        say_if_compiling()
        with progress_bar("Sweeping") as progress, stops_told():
            swept = run_sweep(
                plan,
                duties_named(read, duty),
                workers=jobs,
                cluster=cluster,
                resume=resume,
                progress=progress,
            )
        if csv is not None:
            from heatproof._files import write_whole

            write_whole(csv, csv_text(swept).encode())
        if as_json:
            print_json(sweep_data(swept))
        else:
            print_swept(swept)
        raise typer.Exit(0 if swept.holding else 1)


def ordered(swept: "Swept") -> "list[tuple[tuple[str, ...], Any]]":
    """(what tells it apart, outcome): a range in its own order, sets and draws most margin first."""
    pairs = list(zip(swept.rows, swept.outcomes, strict=True))
    if swept.in_order:
        return pairs
    return sorted(pairs, key=lambda pair: -pair[1].smallest)


def print_swept(swept: "Swept") -> None:
    """How many hold, and the best."""
    from heatproof.verdict.words import MISSING, difference, kilowatts, number

    total = len(swept.rows)
    say(
        f"{number(swept.holding)} of {number(total)} variants hold by their margins, spreads left out.",
        style="bold",
    )
    say()
    rows = []
    for row, one in ordered(swept)[: MOST_IN_ORDER if swept.in_order else SHOWN]:
        smallest = difference(one.smallest, 1) if not one.unsolved else "not solved"
        part = min(one.margins, key=one.margins.__getitem__, default=(MISSING, MISSING))
        told = row if len(row) <= 3 else (*row[:3], "…")
        rows.append((", ".join(told) or "none", smallest, f"{part[0]}, {part[1]}", kilowatts(one.power)))
    print_table(
        (", ".join(swept.columns[:3]), "Smallest margin", "Where", "Power"),
        rows,
        left=("Where", ", ".join(swept.columns[:3])),
    )
    if total > len(rows):
        say(f"… and {number(total - len(rows))} more; --csv FILE writes all.")


def sweep_data(swept: "Swept") -> dict[str, Any]:
    """The object of `sweep --json`."""
    return {
        "columns": list(swept.columns),
        "holding": swept.holding,
        "variants": [
            {
                "values": list(row),
                "smallest_margin_K": None if one.unsolved or not one.margins else one.smallest,
                "power_W": one.power,
                "not_solved": one.unsolved,
            }
            for row, one in zip(swept.rows, swept.outcomes, strict=True)
        ],
    }
