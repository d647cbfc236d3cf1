"""`heatproof part`: parts of a project from the catalogue, added, moved, listed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heatproof.doors.console import print_json
from heatproof.doors.options import AsJson, Folder

if TYPE_CHECKING:
    from heatproof.sheet.parts_of import Placed

Near = Annotated[str, typer.Option("--near", help="Key of the part it stands near, such as turbine_housing.")]
Gap = Annotated[str, typer.Option("--gap", help="Smallest distance between them, with its unit.")]


def register(app: typer.Typer) -> None:
    """Adds the verb and what it can do."""
    part = typer.Typer(help="Parts of a project from the catalogue: add, move, list.", no_args_is_help=True)
    app.add_typer(part, name="part")

    @part.command()
    def add(
        project: Folder,
        kind: Annotated[str, typer.Argument(help="Kind of part; heatproof part list --kinds names them.")],
        near: Near,
        gap: Gap,
        name: Annotated[str, typer.Option("--name", help="Its key; the kind's where left out.")] = "",
        as_json: AsJson = False,
    ) -> None:
        """Add a part of a kind near another, with class figures and the heat that passes between them."""
        from heatproof.kit.read import read_project
        from heatproof.sheet.parts_of import add_part

        told(add_part(read_project(project), kind, near, gap, name), "Added", project, as_json)

    @part.command()
    def move(
        project: Folder,
        key: Annotated[str, typer.Argument(metavar="PART", help="Key of the part.")],
        near: Near,
        gap: Gap,
        as_json: AsJson = False,
    ) -> None:
        """Set the distance of a part from another."""
        from heatproof.kit.read import read_project
        from heatproof.sheet.parts_of import move_part

        told(move_part(read_project(project), key, near, gap), "Moved", project, as_json)

    @part.command("list")
    def list_parts(
        project: Annotated[
            Path | None, typer.Argument(help="Project folder; this one where left out.")
        ] = None,
        kinds: Annotated[bool, typer.Option("--kinds", help="Name the kinds of the catalogue.")] = False,
        as_json: AsJson = False,
    ) -> None:
        """List the parts of a project with zone and limit, or the kinds of the catalogue."""
        from heatproof.kit.read import read_project
        from heatproof.sheet.catalogue import catalogue

        if kinds:
            rows = {
                kind.kind: f"{kind.title}, {kind.mass:g} kg, limit {kind.limit['continuous']}"
                for kind in catalogue().values()
            }
        else:
            parts = read_project(project or Path()).variant().parts
            rows = {
                key: f"{p.title or key}, {p.zone or 'no zone'}" + ("" if p.limit else ", not judged")
                for key, p in parts.items()
            }
        if as_json:
            print_json({"parts": [{"key": key, "about": about} for key, about in rows.items()]})
        else:
            typer.echo("\n".join(f"{key}: {about}" for key, about in rows.items()))


def told(placed: "Placed", did: str, project: Path, as_json: bool) -> None:
    """Says what was written where."""
    if as_json:
        print_json({"part": placed.part, "file": placed.file, "paths": list(placed.edits)})
        return
    typer.echo(
        f"{did} {placed.part} in {placed.file}: {', '.join(placed.edits)}\nNext: heatproof check {project}"
    )
