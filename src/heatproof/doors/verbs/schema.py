"""`heatproof schema`: what editors and programs need to know of the files and of answers in JSON."""

from pathlib import Path
from typing import Annotated, Any

import typer

from heatproof.doors.console import print_json, say

Name = Annotated[
    str | None,
    typer.Argument(metavar="[NAME]", help="car, kit or duty; check for the answer of check --json."),
]
Out = Annotated[Path | None, typer.Option("--out", help="Write all of them to this folder.")]
LINE = "# yaml-language-server: $schema={}"


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    def schema(name: Name = None, out: Out = None) -> None:
        """JSON Schemas of project files and of answers.

        With a name, that one on standard output. With --out, all of them as files, and the line that tells an editor to
        use them.
        """
        known = schemas()
        if name is not None:
            if name not in known:
                from heatproof.kit.findings import Refused, unknown

                raise Refused([unknown(f"no schema {name!r}", name, known, next_step="name one of these")])
            print_json(known[name])
            return
        if out is None:
            say(f"Schemas: {', '.join(known)}. `heatproof schema NAME` prints one, --out FOLDER writes all.")
            return
        write(known, out)


def schemas() -> dict[str, dict[str, Any]]:
    """Name to schema: of the files of a project, and of what `check --json` prints."""
    from heatproof.kit.schema import schemas as of_files
    from heatproof.units.results import schema
    from heatproof.verdict.verdict import Verdict

    draft = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "heatproof check --json"}
    answer = schema(Verdict)
    answer["properties"]["sampling"] = {"type": "object", "description": "with --sampling only"}
    return {**of_files(), "check": draft | answer}


def write(known: dict[str, dict[str, Any]], folder: Path) -> None:
    """A file a schema, and what to write into the project's files."""
    import json

    from heatproof._files import write_whole

    folder.mkdir(parents=True, exist_ok=True)
    for name, data in known.items():
        write_whole(folder / f"{name}.json", (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode())
        say(f"Written: {folder / f'{name}.json'}")
    say()
    say("First line of car.yaml, for editors that speak the YAML language server's protocol:")
    say(f"  {LINE.format((folder / 'car.json').resolve().as_uri())}")
    say("kit.yaml and duties/*.yaml likewise, with kit.json and duty.json.")
