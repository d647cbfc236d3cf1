"""`heatproof explain`: where one part's degrees come from."""

from typing import Annotated

import typer

from heatproof.doors.console import print_json, progress_bar, say_if_compiling
from heatproof.doors.options import AsJson, Folder, Selection, with_blocks


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def explain(
        project: Folder,
        selection: Selection,
        part: Annotated[str, typer.Argument(metavar="PART", help="Part, by key or title.")],
        duty: Annotated[str | None, typer.Option("--duty", help="Duty; its worst where left out.")] = None,
        time: Annotated[
            float | None, typer.Option("--time", help="Seconds into the duty; the worst instant if left out.")
        ] = None,
        as_json: AsJson = False,
        no_spread: Annotated[
            bool, typer.Option("--no-spread", help="Leave out what moves the margin.")
        ] = False,
        moves: Annotated[
            bool,
            typer.Option(
                "--moves", help="What moves the margin, also where no check has stored it; takes longer."
            ),
        ] = False,
        no_helps: Annotated[
            bool, typer.Option("--no-helps", help="Leave out which measures would help most.")
        ] = False,
    ) -> None:
        """Where a part's degrees come from, and what would help.

        Where a part's degrees come from: by cause and by path, what would help, and what moves its margin.
        """
        from heatproof.doors.explain_text import explain_data, print_explanation
        from heatproof.study.questions.explain import explain as run_explain

        read, measures = selection.opened(project)
        say_if_compiling()
        with progress_bar("Solving") as progress:
            told = run_explain(
                read,
                part,
                measures,
                duty=duty,
                time=time,
                spreads=not no_spread,
                only_stored=not moves,
                helps=not no_helps,
                progress=progress,
            )
        if as_json:
            print_json(explain_data(told))
        else:
            print_explanation(told, {key: m.title for key, m in read.measures.items()}, read.head.currency)
