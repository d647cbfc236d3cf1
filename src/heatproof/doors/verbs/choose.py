"""`heatproof choose`: the cheapest set of measures that holds."""

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
from heatproof.doors.options import AsJson, Duties, Folder, Jobs, KitFile, NoSpread, Plot, duties_named, split
from heatproof.doors.plots import new_figure, save_plot

if TYPE_CHECKING:
    from heatproof.study.questions.choose import Chosen, PricedSet

By = Annotated[str, typer.Option("--by", help="What to save: cost, mass or labour.")]
Price = Annotated[
    list[str] | None,
    typer.Option("--price", help="Weights instead: cost=1, mass=20 (a kg), labour=1.2 (a minute)."),
]
Confidence = Annotated[
    float | None,
    typer.Option("--confidence", help="Per cent each limit must hold with; the kit's if left out."),
]
Keep = Annotated[
    list[str] | None, typer.Option("--keep", help="Measure that must be fitted; may be repeated.")
]
Leave = Annotated[
    list[str] | None, typer.Option("--leave", help="Measure that must not be; may be repeated.")
]
Prove = Annotated[int, typer.Option("--prove", min=0, help="How many cheaper sets may be run to prove it.")]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    def choose(
        project: Folder,
        by: By = "cost",
        price: Price = None,
        confidence: Confidence = None,
        keep: Keep = None,
        leave: Leave = None,
        duty: Duties = None,
        prove: Prove = 64,
        no_spread: NoSpread = False,
        jobs: Jobs = 2,
        plot: Plot = None,
        kit: KitFile = "kit.yaml",
        as_json: AsJson = False,
    ) -> None:
        """The cheapest set of measures that holds, and the runners-up."""
        from heatproof.kit.read import read_project
        from heatproof.study.questions.choose import choose as run_choose

        read = read_project(project, kit=kit)
        say_if_compiling()
        with progress_bar("Choosing") as progress:
            chosen = run_choose(
                read,
                by=by,
                prices=prices(price) if price else None,
                confidence=None if confidence is None else confidence / 100.0,
                keep=split(keep or []),
                leave=split(leave or []),
                duties=duties_named(read, duty),
                spreads=not no_spread,
                prove=prove,
                jobs=jobs,
                progress=progress,
            )
        if plot is not None:
            save_plot(front_figure(chosen), plot)
        if as_json:
            print_json(choose_data(chosen))
        else:
            print_chosen(chosen)
        raise typer.Exit(0 if chosen.best is not None and chosen.verdict.state == "holds" else 1)


def prices(texts: list[str]) -> dict[str, float]:
    """`cost=1` and so on. Refused where it is not understood."""
    from heatproof.kit.findings import Finding, Refused

    known = ("cost", "mass", "labour")
    found = dict.fromkeys(known, 0.0)
    for text in texts:
        name, _, value = text.partition("=")
        try:
            found[known[known.index(name.strip())]] = float(value)
        except ValueError as error:
            finding = Finding("error", "price not understood", got=text, allowed="cost=N, mass=N, labour=N")
            raise Refused([finding]) from error
    return found


# --- text -------------------------------------------------------------------------------------------------
def print_chosen(chosen: "Chosen") -> None:
    """Sentence, the set, runners-up, front, cautions."""
    from heatproof.doors.console import print_cautions

    say(sentence(chosen), style="bold")
    say(how_sure(chosen))
    say()
    rows = [("Best" if chosen.best else "Closest", chosen.best or chosen.closest)]
    rows += [(f"Runner-up {k}", one) for k, one in enumerate(chosen.runners_up, 1)]
    print_table(HEADS, [(name, *cells(one, chosen)) for name, one in rows], left=LEFT)
    say()
    say("More money, more left (of the sets run):", style="bold")
    print_table(HEADS, [("", *cells(one, chosen)) for one in chosen.front], left=LEFT)
    say()
    print_findings(chosen.findings)
    print_cautions(chosen.verdict.cautions)


HEADS = ("", "Measures", "Cost", "Mass", "Labour", "Left", "Where")
LEFT = ("", "Measures", "Where")


def cells(one: "PricedSet", chosen: "Chosen") -> tuple[str, ...]:
    """One row."""
    from heatproof.verdict.words import difference, number

    return (
        ", ".join(one.measures) or "none",
        f"{number(one.cost)} {chosen.currency}",
        f"{number(one.mass, 1)} kg",
        f"{number(one.labour / 60.0)} min",
        difference(one.slack, 1),
        f"{one.part}, {one.duty}",
    )


def sentence(chosen: "Chosen") -> str:
    """The finding first."""
    from heatproof.verdict.words import difference, number, share

    sure = f" with {share(chosen.confidence)} confidence" if chosen.spreads else ", spreads left out"
    if chosen.best is None:
        part = f"{chosen.closest.part} in {chosen.closest.duty}"
        return f"No set of measures was found that holds{sure}. Closest: {difference(chosen.closest.slack, 1)}, {part}."
    names = ", ".join(chosen.best.measures) or "no measure"
    return f"Holds{sure} for {number(chosen.best.cost)} {chosen.currency}: {names}."


def how_sure(chosen: "Chosen") -> str:
    """Proved or best found, and from how much work."""
    from heatproof.verdict.words import number

    work = f"{number(chosen.full_runs, 1)} runs of all duties"
    if chosen.sets is not None:
        work += f"; counting through all sets would take {number(chosen.sets)}"
    if chosen.proved:
        what = "every cheaper set" if chosen.best is not None else "every set"
        return f"Proved: {what} that may be fitted fails in the full model ({work})."
    left = "too many to count" if chosen.undecided is None else number(chosen.undecided)
    return (
        f"Best found, not proved: {left} cheaper sets were not run. They are ruled out as long as no measure does "
        f"more than {number(chosen.trust, 1)} times the most it did in any run made ({work}; --prove N runs more)."
    )


# --- JSON -------------------------------------------------------------------------------------------------
def choose_data(chosen: "Chosen") -> dict[str, Any]:
    """The object of `choose --json`. measures: of the best, or of the closest where none holds."""
    shown = chosen.best or chosen.closest
    return {
        "measures": list(shown.measures),
        "cost": shown.cost,
        "verdict": chosen.verdict.state,
        "proved": chosen.proved,
        "runners_up": [answer_data(one) for one in chosen.runners_up],
        "found": chosen.best is not None,
        "sentence": sentence(chosen),
        "how_sure": how_sure(chosen),
        "currency": chosen.currency,
        "mass_kg": shown.mass,
        "labour_s": shown.labour,
        "left_K": shown.slack,
        "by": chosen.by,
        "confidence": chosen.confidence,
        "undecided": chosen.undecided,
        "full_runs": chosen.full_runs,
        "sets": chosen.sets,
        "front": [answer_data(one) for one in chosen.front],
        "limits": chosen.verdict.rows,
        "findings": chosen.findings,
        "cautions": list(chosen.verdict.cautions),
    }


def answer_data(one: "PricedSet") -> dict[str, Any]:
    """One set."""
    return {
        "measures": list(one.measures),
        "cost": one.cost,
        "mass_kg": one.mass,
        "labour_s": one.labour,
        "left_K": one.slack if abs(one.slack) < 1e6 else None,
        "part": one.part,
        "duty": one.duty,
        "holds": one.holds,
    }


def front_figure(chosen: "Chosen") -> Any:
    """Price against what is left at the margin that has least."""
    figure, axes = new_figure()
    x, y = [one.price for one in chosen.front], [one.slack for one in chosen.front]
    axes.step(x, y, where="post", color="0.6", linewidth=1.0)
    axes.plot(x, y, "o", color="C0", label="sets run, none beaten")
    if chosen.best is not None:
        axes.plot([chosen.best.price], [chosen.best.slack], "s", color="C3", markersize=9, label="chosen")
    axes.axhline(0.0, color="0.2", linewidth=1.0)
    axes.set_xlabel(f"{chosen.by} of measures" + (f" [{chosen.currency}]" if chosen.by == "cost" else ""))
    axes.set_ylabel("left at the closest limit, after the spread [K]")
    axes.legend(frameon=False)
    return figure
