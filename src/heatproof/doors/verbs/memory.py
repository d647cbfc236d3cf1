"""`heatproof memory`: what finished kits taught, put on the next kit."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heatproof.doors.console import print_json, print_table, say
from heatproof.doors.options import AsJson, Folder, Selection, with_blocks

if TYPE_CHECKING:
    from heatproof.logs.correcting.memory import Remembered


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def memory(
        project: Folder,
        selection: Selection,
        file: Annotated[
            Path, typer.Argument(metavar="MEMORY", help="Memory file, kept by correct --remember.")
        ],
        write: Annotated[
            bool, typer.Option("--write", help="Write a new kit file with these values.")
        ] = False,
        name: Annotated[str | None, typer.Option("--name", help="Name of that file.")] = None,
        as_json: AsJson = False,
    ) -> None:
        """What earlier kits' corrections say of this one's values.

        What the corrections of earlier kits say of this one's uncertain values.
        """
        from heatproof.logs.correcting.corrected_kit import (
            kit_text,
            new_name,
            project_with_kit,
            write_new_kit,
        )
        from heatproof.logs.correcting.memory import read_memory, remembered

        read, built = selection.built(project)
        found = remembered(built, read_memory(file))
        path = None
        if write and found:
            text, _ = kit_text(read, built, [one.value for one in found], f"shop memory {file.name}")
            project_with_kit(read, text)
            path = new_name(read.folder, name)
            write_new_kit(read, path, text)
        if as_json:
            print_json({"values": [data_of(one) for one in found], "written": str(path) if path else None})
            return
        print_remembered(found)
        if path:
            say(
                f"Written: {path}. The old kit file is as it was; --kit reads the new one, kit.yaml is its name for good."
            )


def print_remembered(found: "tuple[Remembered, ...]") -> None:
    """A row for every value that memory knows."""
    from heatproof.doors.correct_text import relative

    if not found:
        say(
            "No other kit in this memory tells of this project's uncertain values; a kit's own corrections do not count."
        )
        return
    rows = []
    for one in found:
        value = one.value
        before, after = (
            relative(value.before_sd, value.before, value),
            relative(value.after_sd, value.after, value),
        )
        rows.append(
            (
                one.member.path,
                value.text(value.before),
                before,
                value.text(value.after),
                after,
                ", ".join(one.kits),
            )
        )
    print_table(("Value", "Declared", "Spread", "Remembered", "Spread", "From"), rows, left=("Value", "From"))


def data_of(one: "Remembered") -> dict[str, object]:
    """One value as JSON."""
    value = one.value
    return {
        "path": one.member.path,
        "declared_SI": value.before,
        "remembered_SI": value.after,
        "sd_SI": value.after_sd,
        "ratio": one.ratio,
        "kits": list(one.kits),
    }
