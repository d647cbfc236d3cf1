"""`heatproof new`: a project from a shipped example, or from answers about one's own car."""

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
        sheet: Annotated[
            Path | None, typer.Option("--sheet", help="Make the project of your own car from this sheet.")
        ] = None,
        blank: Annotated[
            bool,
            typer.Option(
                "--blank-sheet", help="Print a sheet to fill in: each question with where to find it."
            ),
        ] = False,
        ask: Annotated[bool, typer.Option("--ask", help="Ask the sheet's questions here.")] = False,
        show_left_over: Annotated[
            bool,
            typer.Option(
                "--left-over", help="List values of DIR that came with an example and were never touched."
            ),
        ] = False,
        list_layouts: Annotated[
            bool, typer.Option("--layouts", help="Describe how engines may stand.")
        ] = False,
        list_examples: Annotated[bool, typer.Option("--list", help="Name the shipped examples.")] = False,
        as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    ) -> None:
        """Start a project: your own car, or a shipped example."""
        from heatproof.doors.console import print_json
        from heatproof.kit.examples import examples, first_comment, start_project

        if blank:
            from heatproof.sheet.blank import blank_sheet

            typer.echo(blank_sheet(), nl=False)
            return
        if list_layouts:
            from heatproof.sheet.build import layouts

            named = {name: str(layout["title"]) for name, layout in layouts().items()}
            if as_json:
                print_json({"layouts": named})
            else:
                typer.echo("\n".join(f"{name}: {title}" for name, title in named.items()))
            return
        if show_left_over:
            list_left_over(folder, as_json)
            return
        if list_examples:
            found = {name: first_comment(name) for name in examples()}
            if as_json:
                print_json({"examples": [{"name": n, "about": text} for n, text in found.items()]})
            else:
                typer.echo("\n".join(f"{name}: {text}" for name, text in found.items()))
            return
        if sheet is not None or ask:
            own_car(folder, sheet, as_json)
            return
        start_from = start_from or examples()[0]
        made = start_project(folder, start_from)
        if as_json:
            print_json({"folder": str(made), "from": start_from})
        else:
            typer.echo(f"Made {made} from {start_from} (invented).\nNext: heatproof check {made}")


def own_car(folder: Path | None, sheet: Path | None, as_json: bool) -> None:
    """A project from a sheet, or from answers given here."""
    from heatproof.doors.console import print_json
    from heatproof.doors.dialogue import Left, ask_all
    from heatproof.kit.findings import Refused
    from heatproof.kit.tree import Source, read_source
    from heatproof.sheet.project import start_from_sheet

    if folder is None:
        raise Refused.of(
            "no folder named", next_step="heatproof new DIR --sheet sheet.yaml", code="folder.none"
        )
    if sheet is not None:
        source = read_source(sheet, sheet.parent)
    else:
        try:
            text = ask_all(
                folder,
                lambda prompt: str(typer.prompt(prompt, default="", show_default=False, prompt_suffix="")),
                typer.echo,
            )
        except Left as left:
            typer.echo(str(left))
            return
        source = Source("sheet.yaml", text)
    findings = start_from_sheet(folder, source)
    made = sum(
        (folder / name).read_text(encoding="utf-8").count("source: class ")
        + (folder / name).read_text(encoding="utf-8").count('source: "class ')
        for name in ("car.yaml", "kit.yaml")
    )
    if as_json:
        print_json({"folder": str(folder), "class_values": made, "findings": [f.what for f in findings]})
        return
    for finding in findings:
        typer.echo(str(finding))
    typer.echo(
        f"Made {folder}: {made} values are class figures with wide spreads (source: class …); measure what moves the "
        f"verdict most.\nNext: heatproof check {folder}, then heatproof plan {folder} for what to measure first"
    )


def list_left_over(folder: Path | None, as_json: bool) -> None:
    """Every value of a project that came with an example and was never touched."""
    from heatproof.doors.console import print_json
    from heatproof.kit.left_over import left_over
    from heatproof.kit.read import read_project

    left = left_over(read_project(folder or Path(), strict=False))
    places = left.places if left is not None else {}
    if as_json:
        print_json(
            {
                "left_over": [
                    {"file": file, "path": path, "value": value} for (file, path), value in places.items()
                ]
            }
        )
        return
    typer.echo(
        "\n".join(f"{file}: {path}: {value}" for (file, path), value in places.items())
        or "Nothing is left over."
    )
