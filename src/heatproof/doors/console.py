"""Printing: lines and tables to standard output, progress and errors to standard error."""

import json
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from heatproof.kit.findings import Finding
    from heatproof.numerics.at_once import Progress

PIPE_WIDTH = 120
STATE_STYLE = {"holds": "", "thin": "bold yellow", "over": "bold red"}
LEVEL_STYLE = {"error": "bold red", "warning": "yellow", "note": "dim"}


def console(*, stderr: bool = False) -> "Console":
    """A console that prints plain text into a pipe, as wide as COLUMNS says or 120."""
    from rich.console import Console

    stream = sys.stderr if stderr else sys.stdout
    piped = not stream.isatty() and "COLUMNS" not in os.environ
    return Console(stderr=stderr, width=PIPE_WIDTH if piped else None, highlight=False, markup=False)


def say(text: str = "", *, style: str = "") -> None:
    """One line."""
    console().print(text, style=style or None, soft_wrap=True)


def plain_table(
    columns: Sequence[str], rows: Iterable[Sequence[str]] = (), *, left: Iterable[str] = (), fold: bool = True
) -> "Table":
    """A table without lines; columns are right aligned unless named in `left`, and broken where `fold`."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name in columns:
        side: Literal["left", "right"] = "left" if name in left else "right"
        table.add_column(name, justify=side, overflow="fold", no_wrap=not fold and side == "right")
    for row in rows:
        table.add_row(*row)
    return table


def print_table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, left: Iterable[str] = ()) -> None:
    """Printed at once."""
    console().print(plain_table(columns, rows, left=left))


def print_cautions(cautions: Iterable[str]) -> None:
    """The cautions, one a line."""
    out = console()
    out.print("Cautions", style="bold")
    for text in cautions:
        out.print(f"  {text}")


def print_json(data: Any) -> None:
    """One object on standard output: plain data, or a result, or plain data with results in it."""
    from heatproof.units.results import plain

    sys.stdout.write(json.dumps(data, default=plain, ensure_ascii=False, indent=2, allow_nan=False) + "\n")


def print_findings(findings: Iterable["Finding"], *, stderr: bool = False) -> None:
    """One block each."""
    out = console(stderr=stderr)
    for finding in findings:
        out.print(str(finding), style=LEVEL_STYLE[finding.level], soft_wrap=True)


@contextmanager
def progress_bar(what: str) -> Iterator["Progress | None"]:
    """A bar on standard error with the time left; nothing where that is not a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.completed}/{task.total}"))
    with Progress(*columns, TimeRemainingColumn(), console=console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)

        def tell(done: int, steps: int, name: str) -> None:
            bar.update(task, completed=done, total=steps, description=f"{what}: {name}"[:48])

        yield tell


def say_if_compiling() -> None:
    """One line where no compiled kernel is there yet."""
    from pathlib import Path

    folder = Path(os.environ.get("NUMBA_CACHE_DIR", ""))
    if not folder.is_dir() or not any(folder.rglob("*.nbc")):
        print("Compiling once for this machine; this takes a minute or two.", file=sys.stderr)
