"""`heatproof tolerance`: installer tolerances."""

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
    Duties,
    Folder,
    Jobs,
    NoSpread,
    Selection,
    duties_named,
    with_blocks,
)

if TYPE_CHECKING:
    from heatproof.study.questions.tolerance import Allowed, Tolerances

Paths = Annotated[
    list[str] | None,
    typer.Option(
        "--path",
        help="Value to loosen, by its dotted path; may be repeated. Those of the measures if left out.",
    ),
]
Draws = Annotated[int, typer.Option("--draws", min=0, max=5000, help="Random draws of all values at once.")]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Seed of the draws.")]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def tolerance(
        project: Folder,
        selection: Selection,
        path: Paths = None,
        draws: Draws = 40,
        seed: Seed = 0,
        duty: Duties = None,
        no_spread: NoSpread = False,
        jobs: Jobs = 2,
        as_json: AsJson = False,
    ) -> None:
        """Installer tolerances: gaps, coverage, misplacement.

        How much gap, missing coverage or misplacement the installer may leave before a limit is lost.
        """
        from heatproof.study.questions.tolerance import tolerance as run_tolerance

        read, measures = selection.opened(project)
        say_if_compiling()
        with progress_bar("Loosening") as progress:
            found = run_tolerance(
                read,
                measures,
                paths=path or [],
                duties=duties_named(read, duty),
                spreads=not no_spread,
                draws=draws,
                seed=seed,
                jobs=jobs,
                progress=progress,
            )
        if as_json:
            print_json(tolerance_data(found))
        else:
            print_tolerances(found)
        raise typer.Exit(1 if found.lost else 0)


# --- text -------------------------------------------------------------------------------------------------
def print_tolerances(found: "Tolerances") -> None:
    """Sentence, allowed figures, the sheet, cautions."""
    from heatproof.doors.console import print_cautions
    from heatproof.verdict.words import number, share

    say(sentence(found), style="bold")
    say()
    heads = ("Value", "Nominal", "Alone", "Together", "Lost first", "In")
    print_table(heads, [cells(one, found) for one in found.items], left=("Value", "Lost first", "In"))
    say()
    moving = [one for one in found.items if one.does]
    limited = [one for one in moving if one.end == "limit"]
    if moving:
        say(
            f"Together: each value anywhere between nominal and {number(100 * found.share)} % of the room it has alone; "
            f"{share(found.holding)} of {number(found.draws)} draws hold ({share(found.required)} asked for)."
        )
        say()
        say("For the installer's sheet", style="bold")
        for one in limited:
            say(f"  {one.path}: {sheet_figure(one)}. {one.how}")
        say()
    print_findings(found.findings)
    print_cautions(found.cautions)


def sentence(found: "Tolerances") -> str:
    """The tightest value, or what is lost already."""
    from heatproof.verdict.words import number

    if found.lost:
        names = ", ".join(dict.fromkeys(found.titles.get(part, part) or duty for part, duty, _ in found.lost))
        return f"Over or thin already at nominal, so left out: {names}. Tolerances are for all other limits."
    tight = [one for one in found.items if one.does and one.end == "limit"]
    if not tight:
        return "No value here loses a limit within the range tried."
    one = min(tight, key=lambda item: abs(item.alone - item.nominal) / abs(item.nominal))
    room = 100.0 * abs(one.alone - one.nominal) / abs(one.nominal)
    return f"Tightest: {one.path} may be {number(room)} % off, {sheet_figure(one)} with all others at random."


def sheet_figure(one: "Allowed") -> str:
    """`at most 22 cm2`, `at least 71 %`, three digits."""
    from heatproof.study.search.values import shown

    word = "at most" if one.together > one.nominal else "at least"
    return f"{word} {shown(one.together, one.quantity)} (nominal {shown(one.nominal, one.quantity)})"


def cells(one: "Allowed", found: "Tolerances") -> tuple[str, ...]:
    """One row."""
    from heatproof.study.search.values import shown
    from heatproof.verdict.words import MISSING

    if not one.does:
        return (one.path, shown(one.nominal, one.quantity), "no effect", MISSING, MISSING, MISSING)
    beyond = {"always": "≥ " if one.alone > one.nominal else "≤ "}.get(one.end, "")
    return (
        one.path,
        shown(one.nominal, one.quantity),
        beyond + shown(one.alone, one.quantity),
        shown(one.together, one.quantity),
        MISSING if one.end == "always" else found.titles.get(one.part, one.part),
        MISSING if one.end == "always" else one.duty,
    )


# --- JSON -------------------------------------------------------------------------------------------------
def tolerance_data(found: "Tolerances") -> dict[str, Any]:
    """The object of `tolerance --json`. Figures SI and as text."""
    return {
        "sentence": sentence(found),
        "values": [item_data(one) for one in found.items],
        "together": {
            "share": found.share,
            "holding": found.holding,
            "draws": found.draws,
            "required_confidence": found.required,
        },
        "lost_at_nominal": [{"part": p, "duty": d, "left_K": s} for p, d, s in found.lost],
        "findings": found.findings,
        "cautions": list(found.cautions),
    }


def item_data(one: "Allowed") -> dict[str, Any]:
    """One value."""
    from heatproof.study.search.values import shown

    return {
        "path": one.path,
        "nominal_SI": one.nominal,
        "alone_SI": one.alone,
        "together_SI": one.together,
        "nominal": shown(one.nominal, one.quantity),
        "alone": shown(one.alone, one.quantity),
        "together": shown(one.together, one.quantity),
        "end": one.end,
        "has_effect": one.does,
        "part": one.part,
        "duty": one.duty,
        "how_to_check": one.how,
    }
