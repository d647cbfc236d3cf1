"""`heatproof sheets`: a page or two for each reader."""

from typing import Annotated

import typer

from heatproof.doors.console import print_json, progress_bar, say_if_compiling
from heatproof.doors.options import AsJson, Date, Folder, Out, Selection, Units, reader_units, with_blocks

For = Annotated[
    list[str] | None,
    typer.Option(
        "--for", help="installer, customer, calibrator, cores or blankets; may be repeated. All if left out."
    ),
]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def sheets(
        project: Folder,
        selection: Selection,
        readers: For = None,
        out: Out = None,
        units: Units = "metric",
        date: Date = "",
        no_tolerance: Annotated[
            bool, typer.Option("--no-tolerance", help="Leave installer tolerances out; quicker.")
        ] = False,
        no_rating: Annotated[
            bool, typer.Option("--no-rating", help="Leave the rating out; quicker.")
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        """Sheets for installer, customer, calibrator and suppliers.

        Sheets for installer, customer, calibrator, core and blanket suppliers, as PDF and HTML.
        """
        from heatproof.report.gathered import gather
        from heatproof.report.release import FOLDER, check_day
        from heatproof.report.sheets.build import known, write
        from heatproof.report.sheets.build import sheets as build_sheets

        wanted = known(readers or ())
        check_day(date)
        read, measures = selection.opened(project)
        say_if_compiling()
        with progress_bar("Computing") as progress:
            found = gather(
                read,
                measures,
                units=reader_units(units),
                day=date,
                with_rating=not no_rating and "customer" in wanted,
                progress=progress,
            )
            made = build_sheets(found, wanted, with_tolerance=not no_tolerance, progress=progress)
        paths = write(made, out or read.folder / FOLDER)
        if as_json:
            print_json({"released": found.released, "files": [str(path) for path in paths]})
        else:
            from heatproof.doors.console import print_cautions, say

            if not found.released:
                say("This revision is not released: every sheet says so.", style="bold red")
            for path in paths:
                say(f"Wrote {path}")
            say()
            print_cautions(found.verdict.cautions)
        raise typer.Exit(0 if found.released else 1)
