"""`heatproof new`: a project from a shipped example."""

import shutil
import tempfile
from pathlib import Path
from typing import Annotated

import typer

from heatproof._files import is_old

EXAMPLES = Path(__file__).parents[2] / "examples"
COPIES = ".heatproof-new-"


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


def examples() -> list[str]:
    """Names of the shipped examples."""
    return sorted(path.parent.name for path in EXAMPLES.glob("*/car.yaml"))


def first_comment(name: str) -> str:
    """What an example's car file says it is."""
    first = (EXAMPLES / name / "car.yaml").read_text(encoding="utf-8").splitlines()[:1]
    return first[0].lstrip("# ").strip() if first and first[0].startswith("#") else ""


def start_project(folder: Path | None, name: str) -> Path:
    """Copies an example whole or not at all. Refused where the folder is taken or the name unknown."""
    from heatproof.kit.findings import Finding, Refused, unknown
    from heatproof.kit.records.variant import Where

    if folder is None:
        raise Refused([Finding("error", "no folder named", next_step="heatproof new DIR, or new --list")])
    known = examples()
    if name not in known:
        raise Refused(
            [
                unknown(
                    f"no shipped example {name!r}", name, known, next_step="heatproof new --list names them"
                )
            ]
        )
    taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    if taken:
        raise Refused(
            [
                Finding(
                    "error",
                    "there is something already",
                    Where(str(folder)),
                    next_step="name a folder that is new",
                )
            ]
        )
    copy_whole(EXAMPLES / name, folder)
    return folder


def copy_whole(source: Path, folder: Path) -> None:
    """Copied beside its place, then renamed into it. Copies that a killed program left there go."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    for left in folder.parent.glob(f"{COPIES}*"):
        if left.is_dir() and not left.is_symlink() and is_old(left):
            shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=COPIES) as room:
        copy = Path(room) / folder.name
        shutil.copytree(source, copy, ignore=shutil.ignore_patterns("results", "__pycache__"))
        for path in [copy, *copy.rglob("*")]:
            path.chmod(0o755 if path.is_dir() else 0o644)
        if folder.exists():
            folder.rmdir()
        copy.rename(folder)
