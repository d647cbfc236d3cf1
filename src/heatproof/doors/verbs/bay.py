"""`heatproof bay`: where things are, how hot their surfaces get, and how much room is between them."""

from pathlib import Path
from typing import Annotated

import typer

from heatproof.doors.console import print_json, progress_bar, say_if_compiling
from heatproof.doors.options import AsJson, Folder, Selection, with_blocks


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def bay(
        project: Folder,
        selection: Selection,
        duty: Annotated[
            str | None, typer.Option("--duty", help="Duty; the one with the hottest surfaces if left out.")
        ] = None,
        time: Annotated[
            float | None,
            typer.Option("--time", help="Seconds into the duty; its hottest instant if left out."),
        ] = None,
        clearances: Annotated[
            bool, typer.Option("--clearances", help="List the nearest pairs of parts.")
        ] = False,
        png: Annotated[Path | None, typer.Option("--png", help="Write a picture to this file.")] = None,
        glb: Annotated[
            Path | None, typer.Option("--glb", help="Write a model with temperatures to this file.")
        ] = None,
        around: Annotated[
            float, typer.Option("--around", help="Eye: degrees from the car's front towards its right.")
        ] = 40.0,
        above: Annotated[float, typer.Option("--above", help="Eye: degrees above the horizon.")] = 35.0,
        as_json: AsJson = False,
    ) -> None:
        """The bay in space: surfaces, hottest places, clearances.

        The bay in space: surface temperatures, hottest places, clearances; picture and model.
        """
        from heatproof._files import write_whole
        from heatproof.assembly.bay.pictures import bay_glb, bay_png, lids, with_local
        from heatproof.doors.bay_text import bay_data, print_bay
        from heatproof.shapes.pictures import View
        from heatproof.study.questions.bay import look

        read, measures = selection.opened(project)
        say_if_compiling()
        with progress_bar("Solving") as progress:
            view = look(read, measures, duty=duty, time=time, progress=progress)
        values = with_local(view.state, view.local)
        if png is not None:
            eye = View(around, above)
            write_whole(png, bay_png(view.scene, values, view=eye, hide=lids(view.variant)))
        if glb is not None:
            write_whole(glb, bay_glb(view.scene, values))
        if as_json:
            print_json(bay_data(view))
        else:
            print_bay(view, with_clearances=clearances)
