"""`heatproof compare`: variants side by side."""

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
from heatproof.doors.options import AsJson, Duties, Folder, Jobs, KitFile, duties_named

if TYPE_CHECKING:
    from heatproof.study.questions.compare import Change, Compared, Comparison

MOST_CAUSES = 6
Named = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="VARIANT...",
        help="base, all, as-fitted, NAME=measure,measure, or +measure,-measure from the kit.",
    ),
]
Option = Annotated[
    list[str] | None, typer.Option("--variant", help="The same as an option; may be repeated.")
]
Parts = Annotated[
    list[str] | None, typer.Option("--part", help="Explain this part's change; may be repeated.")
]
Why = Annotated[int, typer.Option("--why", min=0, help="How many parts to explain where none is named.")]
Spread = Annotated[bool, typer.Option("--spread", help="With spreads and confidences; slower.")]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    def compare(
        project: Folder,
        variants: Named = None,
        variant: Option = None,
        duty: Duties = None,
        part: Parts = None,
        why: Why = 3,
        spread: Spread = False,
        jobs: Jobs = 2,
        kit: KitFile = "kit.yaml",
        as_json: AsJson = False,
    ) -> None:
        """Variants side by side: margins, power, cost, and why.

        Variants side by side: margins, power, boost, mass, cost; what changed and why.
        """
        from heatproof.kit.read import read_project
        from heatproof.study.questions.compare import compare as run_compare
        from heatproof.study.questions.compare import named_variant

        read = read_project(project, kit=kit)
        asked = [*(variants or []), *(variant or [])] or ["base", "as-fitted"]
        named = [named_variant(read, text) for text in asked]
        say_if_compiling()
        with progress_bar("Comparing") as progress:
            found = run_compare(
                read,
                named,
                duties=duties_named(read, duty),
                parts=part or [],
                most_parts=why,
                spreads=spread,
                jobs=jobs,
                progress=progress,
            )
        if as_json:
            print_json(comparison_data(found))
        else:
            print_comparison(found)
        raise typer.Exit(0 if any(one.verdict.state == "holds" for one in found.variants) else 1)


# --- text -------------------------------------------------------------------------------------------------
def print_comparison(found: "Comparison") -> None:
    """Figures, margins, changes, cautions."""
    from heatproof.doors.console import print_cautions

    for one in found.variants:
        say(f"{one.name}: {one.verdict.sentence}", style="bold")
    say()
    names = [one.name for one in found.variants]
    print_table(("", *names), figure_rows(found), left=("",))
    say()
    print_table(("Margin, worst duty", *names), margin_rows(found), left=("Margin, worst duty",))
    for change in found.changes:
        say()
        print_change(change)
    say()
    print_findings(found.findings)
    cautions = dict.fromkeys(text for one in found.variants for text in one.verdict.cautions)
    print_cautions(tuple(cautions))


def figure_rows(found: "Comparison") -> list[tuple[str, ...]]:
    """One row a figure."""
    from heatproof.verdict.words import MISSING, kilowatts, number, temperature

    def spool(one: "Compared") -> str:
        return MISSING if one.time_to_boost is None else f"{number(one.time_to_boost, 2)} s"

    rows: list[tuple[str, list[str]]] = [
        ("Verdict", [one.verdict.state for one in found.variants]),
        ("Power reached", [kilowatts(one.power) for one in found.variants]),
        ("Time to boost, 3rd gear (estimate)", [spool(one) for one in found.variants]),
        ("Charge temperature, highest", [temperature(one.charge) for one in found.variants]),
        ("Mass", [f"{number(one.verdict.mass, 1)} kg" for one in found.variants]),
        ("Cost", [f"{number(one.verdict.cost)} {one.verdict.currency}" for one in found.variants]),
        ("Labour", [f"{number(one.verdict.labour / 60.0)} min" for one in found.variants]),
    ]
    return [(name, *cells) for name, cells in rows]


def margin_rows(found: "Comparison") -> list[tuple[str, ...]]:
    """One row a part, least margin first."""
    from heatproof.verdict.words import MISSING, margin_text

    rows = [{row.part: row for row in one.verdict.worst_rows} for one in found.variants]
    titles = found.titles()
    order = sorted(titles, key=lambda part: min(r[part].margin for r in rows if part in r))
    return [
        (titles[part], *(margin_text(r[part].margin, r[part].half) if part in r else MISSING for r in rows))
        for part in order
    ]


def print_change(change: "Change") -> None:
    """What changed at one part, cause by cause."""
    from heatproof.verdict.words import difference

    total = change.rise_other - change.rise_first
    say(
        f"{change.title}, {change.duty}, from {change.first} to {change.other}: rise over ambient "
        f"{difference(change.rise_first, 1)} → {difference(change.rise_other, 1)}, {difference(total, 1)}",
        style="bold",
    )
    shown = [c for c in change.causes[:MOST_CAUSES] if abs(c[2] - c[1]) >= 0.05]
    rest = total - sum(c[2] - c[1] for c in shown)
    rows = [(name, difference(a, 1), difference(b, 1), difference(b - a, 1)) for name, a, b in shown]
    rows.append(("all others", "", "", difference(rest, 1)))
    print_table(("Cause", change.first, change.other, "Change"), rows, left=("Cause",))


# --- JSON -------------------------------------------------------------------------------------------------
def comparison_data(found: "Comparison") -> dict[str, Any]:
    """The object of `compare --json`."""
    return {
        "variants": [variant_data(one) for one in found.variants],
        "changes": [
            {
                "part": change.part,
                "duty": change.duty,
                "from": change.first,
                "to": change.other,
                "rise_from_K": change.rise_first,
                "rise_to_K": change.rise_other,
                "causes": [{"cause": c, "from_K": a, "to_K": b} for c, a, b in change.causes],
            }
            for change in found.changes
        ],
        "findings": found.findings,
    }


def variant_data(one: "Compared") -> dict[str, Any]:
    """One variant."""
    from heatproof.verdict.words import celsius

    verdict = one.verdict
    return {
        "name": one.name,
        "measures": list(verdict.fitted),
        "verdict": verdict.state,
        "sentence": verdict.sentence,
        "power_W": one.power,
        "time_to_boost_s": one.time_to_boost,
        "charge_degC": celsius(one.charge),
        "mass_kg": verdict.mass,
        "cost": verdict.cost,
        "currency": verdict.currency,
        "labour_s": verdict.labour,
        "limits": verdict.worst_rows,
    }
