"""`heatproof rating`: highest ambient by power and use."""

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
from heatproof.doors.options import AsJson, Folder, Jobs, NoSpread, Plot, Selection, split, with_blocks
from heatproof.doors.plots import new_figure, save_plot

if TYPE_CHECKING:
    from heatproof.study.questions.rating import Cell, Rating

Levels = Annotated[str, typer.Option("--level", help="Shares of the kit's boost in per cent: 70,85,100.")]
Uses = Annotated[str | None, typer.Option("--use", help="Only these uses: street,track. All where left out.")]
Altitudes = Annotated[
    str | None, typer.Option("--altitude", help="Altitudes in m: 0,1500. As in each duty if left out.")
]
Conditioning = Annotated[str | None, typer.Option("--ac", help="Air conditioning: on, off, or on,off.")]

Without = Annotated[
    list[str] | None,
    typer.Option("--without", metavar="PART", help="Part that is not to bound the rating; may be repeated."),
]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def rating(
        project: Folder,
        selection: Selection,
        level: Levels = "70,85,100",
        use: Uses = None,
        altitude: Altitudes = None,
        ac: Conditioning = None,
        without: Without = None,
        no_spread: NoSpread = False,
        jobs: Jobs = 2,
        plot: Plot = None,
        as_json: AsJson = False,
    ) -> None:
        """The highest ambient that holds, by power and use."""
        from heatproof.study.questions.rating import rating as run_rating

        read, measures = selection.opened(project)
        say_if_compiling()
        with progress_bar("Rating") as progress:
            found = run_rating(
                read,
                measures,
                levels=[value / 100.0 for value in numbers(level, "--level")],
                uses=[name.strip() for name in (use or "").split(",") if name.strip()],
                altitudes=numbers(altitude, "--altitude") if altitude else (None,),
                air_conditioning=switches(ac) if ac else (None,),
                spreads=not no_spread,
                without=split(without or []),
                jobs=jobs,
                progress=progress,
            )
        if plot is not None:
            save_plot(rating_figure(found), plot)
        if as_json:
            print_json(rating_data(found))
        else:
            print_rating(found)
        raise typer.Exit(1 if any(cell.ambient is None for cell in found.cells) else 0)


def numbers(text: str, option: str) -> list[float]:
    """`70,85`. Refused where one is no number."""
    from heatproof.kit.findings import Finding, Refused

    try:
        found = [float(part) for part in text.replace("−", "-").split(",") if part.strip()]
    except ValueError:
        found = []
    if not found:
        raise Refused(
            [Finding("error", f"{option} not understood", got=text, allowed="numbers with commas between")]
        )
    return found


def switches(text: str) -> list[bool]:
    """`on,off`. Refused otherwise."""
    from heatproof.kit.findings import Finding, Refused

    words = [part.strip().lower() for part in text.split(",")]
    if any(word not in ("on", "off") for word in words):
        raise Refused([Finding("error", "--ac not understood", got=text, allowed="on, off, or on,off")])
    return [word == "on" for word in words]


# --- text -------------------------------------------------------------------------------------------------
def print_rating(found: "Rating") -> None:
    """Sentence, table, what the formulas leave out, cautions."""
    from heatproof.doors.console import print_cautions
    from heatproof.verdict.words import share

    say(sentence(found), style="bold")
    sure = f"{share(found.confidence)} confidence" if found.spreads else "spreads left out"
    say(f"Highest ambient at which every limit holds, full model, {sure}.")
    say()
    heads = (
        "Boost",
        "Use",
        "Altitude",
        "Air con",
        "Ambient",
        "First at its limit",
        "In",
        "Power",
        "LAT",
        "ATB",
    )
    print_table(
        heads, [cells_of(one, found) for one in found.cells], left=("Use", "First at its limit", "In")
    )
    say()
    say(
        "LAT (limiting ambient) and ATB (air-to-boil) are the trade's formulas for the coolant alone: limit or boiling "
        "point less what was reached, plus ambient. They know no other part, no fan, no thermostat."
    )
    say()
    print_findings(found.findings)
    print_cautions(found.cautions)


def sentence(found: "Rating") -> str:
    """The lowest ambient of all cells, and why."""
    from heatproof.verdict.words import within

    never = [one for one in found.cells if one.ambient is None]
    if never:
        one = never[0]
        return f"Not rated: {one.use} at {100 * one.level:.0f} % boost holds on no day; {what(one, found)} is over."
    lowest = min(found.cells, key=lambda one: one.ambient or 0.0)
    return (
        f"Rated to {ambient_text(lowest)} in {lowest.use} at {100 * lowest.level:.0f} % boost; "
        f"{within(what(lowest, found))} reaches its limit first."
    )


def what(one: "Cell", found: "Rating") -> str:
    """Title of the part that reaches its limit first."""
    return found.titles.get(one.part, one.part) or (
        f"not solved: {one.unsolved}" if one.unsolved else "nothing"
    )


def ambient_text(one: "Cell") -> str:
    """`38 °C`; `≥ 60 °C`, `none`. Rounded down: a rating promises."""
    from math import floor

    from heatproof.verdict.words import celsius, number

    if one.ambient is None:
        return "none"
    if one.end == "always":
        return f"≥ {number(celsius(one.ambient))} °C"
    return f"{number(floor(celsius(one.ambient)))} °C"


def cells_of(one: "Cell", found: "Rating") -> tuple[str, ...]:
    """One row."""
    from heatproof.verdict.words import MISSING, kilowatts, number, temperature

    ac = {None: "as duty", True: "on", False: "off"}[one.air_conditioning]
    return (
        f"{number(100.0 * one.level)} %",
        one.use,
        "as duty" if one.altitude is None else f"{number(one.altitude)} m",
        ac,
        ambient_text(one),
        what(one, found),
        one.duty,
        kilowatts(one.power),
        MISSING if one.lat is None else temperature(one.lat),
        MISSING if one.atb is None else temperature(one.atb),
    )


# --- JSON and plot ----------------------------------------------------------------------------------------
def rating_data(found: "Rating") -> dict[str, Any]:
    """The object of `rating --json`."""
    return {
        "sentence": sentence(found),
        "confidence": found.confidence if found.spreads else None,
        "without": list(found.without),
        "cells": [cell_data(one) for one in found.cells],
        "findings": found.findings,
        "cautions": list(found.cautions),
    }


def cell_data(one: "Cell") -> dict[str, Any]:
    """One cell."""
    from heatproof.verdict.words import celsius

    return {
        "level": one.level,
        "use": one.use,
        "altitude_m": one.altitude,
        "air_conditioning": one.air_conditioning,
        "ambient_degC": None if one.ambient is None else celsius(one.ambient),
        "end": one.end,
        "part": one.part,
        "duty": one.duty,
        "power_W": one.power,
        "lat_degC": None if one.lat is None else celsius(one.lat),
        "atb_degC": None if one.atb is None else celsius(one.atb),
        "runs": one.runs,
        "unsolved": one.unsolved,
    }


def rating_figure(found: "Rating") -> Any:
    """A map: rows uses (with altitude and air conditioning), columns power levels, the ambient in each cell."""
    from heatproof.verdict.words import celsius

    levels = sorted({one.level for one in found.cells})
    rows = list(dict.fromkeys((one.use, one.altitude, one.air_conditioning) for one in found.cells))
    figure, axes = new_figure(2.5 + 1.6 * len(levels), 1.6 + 0.8 * len(rows))
    grid = [[float("nan")] * len(levels) for _ in rows]
    for one in found.cells:
        r, c = rows.index((one.use, one.altitude, one.air_conditioning)), levels.index(one.level)
        if one.ambient is not None:
            grid[r][c] = celsius(one.ambient)
        axes.text(c, r, f"{ambient_text(one)}\n{what(one, found)}", ha="center", va="center", fontsize=8)
    picture = axes.imshow(grid, cmap="RdYlGn", vmin=10.0, vmax=55.0, aspect="auto", alpha=0.75)
    axes.set_xticks(range(len(levels)), [f"{100 * level:.0f} %" for level in levels])
    axes.set_yticks(range(len(rows)), [row_name(*row) for row in rows])
    axes.set_xlabel("boost, share of the kit's")
    figure.colorbar(picture, label="highest ambient [°C]")
    return figure


def row_name(use: str, altitude: float | None, ac: bool | None) -> str:
    """`track, 1500 m, air con on`."""
    parts = [use]
    if altitude is not None:
        parts.append(f"{altitude:.0f} m")
    if ac is not None:
        parts.append(f"air con {'on' if ac else 'off'}")
    return ", ".join(parts)
