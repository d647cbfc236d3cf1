"""`heatproof new`: a project from a shipped example."""

from pathlib import Path
from typing import Annotated

import typer


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    def new(
        folder: Annotated[Path | None, typer.Argument(metavar="DIR", help="Folder to make.")] = None,
        start_from: Annotated[
            str | None,
            typer.Option("--from", help="Shipped example to start from; the first of --list where left out."),
        ] = None,
        list_examples: Annotated[bool, typer.Option("--list", help="Name the shipped examples.")] = False,
        as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    ) -> None:
        """Start a project from a shipped example."""
        from heatproof.doors.console import print_json
        from heatproof.kit.examples import examples, first_comment, start_project

        if list_examples:
            found = {name: first_comment(name) for name in examples()}
            if as_json:
                print_json({"examples": [{"name": n, "about": text} for n, text in found.items()]})
            else:
                typer.echo("\n".join(f"{name}: {text}" for name, text in found.items()))
            return
        start_from = start_from or examples()[0]
        made = start_project(folder, start_from)
        if as_json:
            print_json({"folder": str(made), "from": start_from})
        else:
            typer.echo(f"Made {made} from {start_from} (invented).\nNext: heatproof check {made}")
