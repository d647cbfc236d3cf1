"""`heatproof size`: continuous sizes inside envelopes."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import (
    print_findings,
    print_json,
    print_table,
    progress_bar,
    say,
    say_if_compiling,
)
from heatproof.doors.options import (
    AsJson,
    Cluster,
    Duties,
    Folder,
    Jobs,
    NoSpread,
    Resume,
    Selection,
    duties_named,
    stops_told,
    with_blocks,
)

if TYPE_CHECKING:
    from heatproof.study.questions.size import Sized

Vary = Annotated[list[str] | None, typer.Option("--vary", help="PATH=LOW..HIGH with units; may be repeated.")]
Aim = Annotated[str, typer.Option("--for", help="Best margin, power or mass.")]
Generations = Annotated[
    int, typer.Option("--generations", min=1, max=1000, help="Rounds of the search at most.")
]
Population = Annotated[
    int, typer.Option("--population", min=3, max=100, help="Candidates a size in each round.")
]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Seed of the search.")]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def size(
        project: Folder,
        selection: Selection,
        vary: Vary = None,
        aim: Aim = "margin",
        duty: Duties = None,
        no_spread: NoSpread = False,
        generations: Generations = 15,
        population: Population = 8,
        seed: Seed = 0,
        jobs: Jobs = 2,
        cluster: Cluster = None,
        resume: Resume = None,
        as_json: AsJson = False,
    ) -> None:
        """Sizes inside stated envelopes for best margin, power or mass."""
        from heatproof.study.questions.size import size as run_size

        read, measures = selection.opened(project)
        say_if_compiling()
        with progress_bar("Sizing") as progress, stops_told():
            found = run_size(
                read,
                vary or [],
                measures,
                aim=aim,
                duties=duties_named(read, duty),
                spreads=not no_spread,
                generations=generations,
                population=population,
                seed=seed,
                workers=jobs,
                cluster=cluster,
                resume=resume,
                progress=progress,
            )
        if as_json:
            print_json(size_data(found))
        else:
            print_sized(found)
        raise typer.Exit(0 if found.holds else 1)


def print_sized(found: "Sized") -> None:
    """Sentence, sizes, figures, cautions."""
    from heatproof.doors.console import print_cautions
    from heatproof.study.search.values import shown
    from heatproof.verdict.words import difference, kilowatts, number

    say(sentence(found), style="bold")
    say()
    rows = [
        (
            one.path,
            shown(one.before, one.quantity),
            shown(one.found, one.quantity),
            f"{shown(one.low, one.quantity)} to {shown(one.high, one.quantity)}",
            "at the edge" if one.at_edge else "",
        )
        for one in found.sizes
    ]
    print_table(("Size", "Before", "Found", "Envelope", ""), rows, left=("Size", ""))
    say()
    figures = [
        ("Left at the closest limit", *(difference(x, 1) for x in found.slack)),
        ("Closest", *(found.titles.get(key[0], key[0]) for key in found.closest)),
        ("Power reached", *(kilowatts(x) for x in found.power)),
        ("Mass of the cores", *(f"{number(x, 2)} kg" for x in found.core_mass)),
    ]
    print_table(("", "Before", "Found"), figures, left=("",))
    say()
    print_findings(found.findings)
    print_cautions(found.cautions)


def sentence(found: "Sized") -> str:
    """What was reached, and how."""
    from heatproof.verdict.words import difference, number

    end = "settled" if found.settled else "stopped at the last round asked for, not settled"
    state = "holds" if found.holds else "does not hold"
    return (
        f"Best {found.aim} found in {number(found.runs)} runs ({end}): the variant {state}, "
        f"{difference(found.slack[1], 1)} left at the closest limit."
    )


def size_data(found: "Sized") -> dict[str, Any]:
    """The object of `size --json`. Sizes SI."""
    return {
        "sentence": sentence(found),
        "for": found.aim,
        "holds": found.holds,
        "settled": found.settled,
        "runs": found.runs,
        "sizes": [
            {
                "path": s.path,
                "before_SI": s.before,
                "found_SI": s.found,
                "low_SI": s.low,
                "high_SI": s.high,
                "at_edge": s.at_edge,
            }
            for s in found.sizes
        ],
        "left_K": list(found.slack),
        "power_W": list(found.power),
        "core_mass_kg": list(found.core_mass),
        "closest": [{"part": part, "duty": duty} for part, duty in found.closest],
        "findings": found.findings,
        "cautions": list(found.cautions),
    }
