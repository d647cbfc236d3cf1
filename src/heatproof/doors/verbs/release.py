"""`heatproof release`: the papers, and whether earlier ones still hold."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import print_json, progress_bar, say_if_compiling
from heatproof.doors.options import (
    AsJson,
    Date,
    Folder,
    Fresh,
    Out,
    Selection,
    Units,
    reader_units,
    with_blocks,
)

if TYPE_CHECKING:
    from heatproof.report.release import Built
    from heatproof.report.verify import Verified


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def release(
        project: Folder,
        selection: Selection,
        out: Out = None,
        verify: Annotated[
            Path | None, typer.Option("--verify", help="Compute this record again: does it still hold?")
        ] = None,
        against: Annotated[
            Path | None,
            typer.Option("--against", help="Earlier record to list changes against; the newest if left out."),
        ] = None,
        units: Units = "metric",
        date: Date = "",
        no_rating: Annotated[
            bool, typer.Option("--no-rating", help="Leave the rating map out; quicker.")
        ] = False,
        fresh: Fresh = False,
        as_json: AsJson = False,
    ) -> None:
        """The release as PDF, HTML and record.

        The release as PDF, HTML and record; refused while a limit is over and nobody has signed for it.
        """
        read = selection.read(project)
        say_if_compiling()
        if verify is not None:
            raise typer.Exit(verified(read, verify, as_json))
        from heatproof.report.release import FOLDER, build, write

        measures = selection.measures(read)
        reader = reader_units(units)
        with progress_bar("Computing") as progress:
            built = build(
                read,
                measures,
                units=reader,
                day=date,
                against=against,
                fresh=fresh,
                with_rating=not no_rating,
                progress=progress,
            )
        paths = write(built, out or read.folder / FOLDER)
        if as_json:
            print_json(release_data(built, paths))
        else:
            print_release(built, paths)
        raise typer.Exit(0 if built.released else 1)


# --- release ----------------------------------------------------------------------------------------------
def print_release(built: "Built", paths: tuple[Path, ...]) -> None:
    """What was made, what stands in the way, cautions."""
    from heatproof.doors.console import print_cautions, print_table, say
    from heatproof.report.release_doc import headline

    found = built.gathered
    title, text, _ = headline(found)
    say(f"{title}.", style="bold" if built.released else "bold red")
    say(text)
    say(found.verdict.sentence)
    say()
    if found.blocks:
        rows = [
            (
                one.title,
                one.duty_title,
                found.units.margin(one.margin, None),
                one.part,
                one.duty,
                one.unsigned,
            )
            for one in found.blocks
        ]
        heads = ("To be mended or signed for", "In", "Margin", "part:", "duty:", "Why it stands")
        print_table(heads, rows, left=("To be mended or signed for", "In", "part:", "duty:", "Why it stands"))
        say()
    if built.changes is not None:
        say(f"Against {built.changes.earlier}: {len(built.changes.items)} changes, listed in the paper.")
    for path in paths:
        say(f"Wrote {path}")
    say()
    print_cautions(found.verdict.cautions)


def release_data(built: "Built", paths: tuple[Path, ...]) -> dict[str, Any]:
    """The object of `release --json`."""
    found = built.gathered
    return {
        "released": built.released,
        "verdict": found.verdict.state,
        "sentence": found.verdict.sentence,
        "files": [str(path) for path in paths],
        "fingerprint": built.fingerprint,
        "blocks": [
            {
                "part": one.part,
                "title": one.title,
                "duty": one.duty,
                "margin_K": one.margin,
                "why": one.unsigned,
            }
            for one in found.blocks
        ],
        "changes": list(built.changes.items) if built.changes is not None else None,
        "cautions": list(found.verdict.cautions),
    }


# --- verify -----------------------------------------------------------------------------------------------
def verified(read: Any, path: Path, as_json: bool) -> int:
    """Exit status: 0 where the record holds."""
    from heatproof.report.verify import read_record, verify

    kept = read_record(path)
    with progress_bar("Computing again") as progress:
        found = verify(read, kept, progress=progress)
    if as_json:
        print_json(verified_data(found))
    else:
        print_verified(found, kept)
    return 0 if found.holds else 1


def print_verified(found: "Verified", kept: dict[str, Any]) -> None:
    """Sentence, changed inputs and programs, differences."""
    from heatproof.doors.console import print_cautions, print_table, say
    from heatproof.verdict.words import difference, number, temperature

    say(found.sentence, style="bold" if found.holds else "bold red")
    state = "released" if found.released else "not released"
    say(f"{kept['kit']['name']}, {kept['kit']['revision']}, {kept['day']}: recorded as {state}.")
    for title, items in (
        ("Changed inputs", found.changed_inputs),
        ("Computed with other programs", found.changed_versions),
        ("Limits on one side only", found.missing),
    ):
        if items:
            say(f"{title}:")
            for one in items:
                say(f"  {one}")
    if found.differences:
        rows = [
            (
                one.title,
                one.duty,
                one.what,
                temperature(one.was) if one.what == "peak" else difference(one.was, 1),
                temperature(one.now) if one.what == "peak" else difference(one.now, 1),
                f"{number(one.now - one.was, 2)} K",
            )
            for one in found.differences
        ]
        say()
        print_table(
            ("Part", "Duty", "Figure", "Recorded", "Now", "Difference"), rows, left=("Part", "Duty", "Figure")
        )
    say("Peaks and margins were computed again; spreads and confidences stand as recorded.")
    say()
    print_cautions(tuple(kept["cautions"]))


def verified_data(found: "Verified") -> dict[str, Any]:
    """The object of `release --verify --json`."""
    return {
        "holds": found.holds,
        "sentence": found.sentence,
        "changed_inputs": list(found.changed_inputs),
        "changed_versions": list(found.changed_versions),
        "missing": list(found.missing),
        "largest_K": found.largest,
        "compared": found.compared,
        "differences": [
            {"part": d.part, "duty": d.duty, "what": d.what, "recorded_K": d.was, "now_K": d.now}
            for d in found.differences
        ],
    }
