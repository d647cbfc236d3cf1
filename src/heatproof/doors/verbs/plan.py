"""`heatproof plan`: which sensors, where, how many runs, what counts as pass."""

from pathlib import Path
from typing import Annotated

import typer

from heatproof.doors.console import print_json, progress_bar, say, say_if_compiling
from heatproof.doors.day_options import told_ambient
from heatproof.doors.options import AsJson, Duties, Folder, Jobs, Selection, duties_named, with_blocks


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def plan(
        project: Folder,
        selection: Selection,
        sensors: Annotated[int, typer.Option("--sensors", min=1, max=30, help="Sensors at most.")] = 6,
        runs: Annotated[int, typer.Option("--runs", min=1, max=20, help="Runs at most.")] = 4,
        duty: Duties = None,
        ambient: Annotated[
            str | None, typer.Option("--ambient", help="Ambient of the test day; the duty's own if left out.")
        ] = None,
        fitted: Annotated[
            list[str] | None,
            typer.Option("--fitted", help="Place that has a sensor anyway; may be repeated."),
        ] = None,
        card: Annotated[
            Path | None, typer.Option("--card", help="Write the test card to this HTML file.")
        ] = None,
        jobs: Jobs = 2,
        as_json: AsJson = False,
    ) -> None:
        """Sensors and runs for the next test day.

        Which sensors, where, how many runs of which duty, and what counts as pass.
        """
        from heatproof.doors.console import print_cautions
        from heatproof.doors.plan_text import plan_data, print_plan
        from heatproof.doors.planned import Wanted, planned
        from heatproof.report.reader_units import ReaderUnits
        from heatproof.study.questions.check import check

        read, built = selection.built(project)
        day = None if ambient is None else told_ambient(ambient)
        wanted = Wanted(day, sensors, runs, tuple(fitted or ()))
        duties = duties_named(read, duty)
        say_if_compiling()
        with progress_bar("Solving") as progress:
            verdict = check(read, built.fitted, jobs=jobs, progress=progress)
        found = planned(read, built, duties, verdict, wanted, jobs=jobs)
        if card is not None:
            write_card(card, found.card(ReaderUnits()))
        if as_json:
            data = plan_data(found.plan, found.readings, built)
            print_json({**data, "written": str(card) if card else None, "cautions": list(verdict.cautions)})
            return
        print_plan(found.plan, found.readings, built)
        if card is not None:
            say(f"Written: {card}")
            say()
        print_cautions(verdict.cautions)


def write_card(path: Path, card: str) -> None:
    """The card, whole or not at all. Refused where it is no HTML file."""
    from heatproof._files import write_whole
    from heatproof.kit.findings import Finding, Refused

    if path.suffix.lower() not in (".html", ".htm"):
        raise Refused(
            [Finding("error", "the card is an HTML file", got=path.name, next_step="name it NAME.html")]
        )
    write_whole(path, card.encode())
