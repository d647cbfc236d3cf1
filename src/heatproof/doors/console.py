"""Printing: lines and tables to standard output, progress and errors to standard error."""

import json
import os
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TextIO

from heatproof._visible import visible
from heatproof.doors.safe_text import in_encoding

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from heatproof.kit.findings import Finding
    from heatproof.numerics.at_once import Progress

PIPE_WIDTH, PIPE_HEIGHT, LEAST_WIDTH = 120, 50, 20
STATE_STYLE = {"holds": "", "thin": "bold yellow", "over": "bold red"}
LEVEL_STYLE = {"error": "bold red", "warning": "yellow", "note": "dim"}


def console(*, stderr: bool = False) -> "Console":
    """A console that prints plain text into a pipe, as wide as COLUMNS says or 120, and nothing that would steer it."""
    from rich.console import Console
    from rich.text import Text

    stream = sys.stderr if stderr else sys.stdout

    class SafeConsole(Console):
        """Every plain text, cells of tables as well, passes here on its way to the screen."""

        def render_str(self, text: str, **options: Any) -> Text:
            text = visible(text, breaks=True)
            if not stream.encoding.lower().replace("-", "").startswith("utf"):
                text = in_encoding(text, stream.encoding)
            return super().render_str(text, **options)

        def print(self, *objects: Any, **options: Any) -> None:
            with suppress(OSError) if stderr else answer_written():
                super().print(*objects, **options)

    width, height = size_of(stream)
    return SafeConsole(stderr=stderr, width=width, height=height, highlight=False, markup=False, emoji=False)


def size_of(stream: TextIO) -> tuple[int, int]:
    """Characters a line, lines: as the terminal says, 120 a line into a pipe; COLUMNS goes before both."""
    width, height = PIPE_WIDTH, PIPE_HEIGHT
    if stream.isatty():
        with suppress(OSError, ValueError):
            width, height = os.get_terminal_size(stream.fileno())
    columns = os.environ.get("COLUMNS", "")
    if columns.isdecimal() and int(columns) > 0:
        width = int(columns)
    return max(width, LEAST_WIDTH), max(height, 1)


def say(text: str = "", *, style: str = "") -> None:
    """One paragraph: wrapped between words on a screen, one line into a pipe; a long path is never broken."""
    out = console()
    if sys.stdout.isatty() or "COLUMNS" in os.environ:
        indent = " " * (len(text) - len(text.lstrip()))
        wrap = {"subsequent_indent": indent, "break_long_words": False, "break_on_hyphens": False}
        text = "\n".join(textwrap.fill(line, out.width, **wrap) for line in text.split("\n"))  # type: ignore[arg-type]
    out.print(text, style=style or None, soft_wrap=True)


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

    text = json.dumps(data, default=plain, ensure_ascii=False, indent=2, allow_nan=False)
    try:
        text.encode(sys.stdout.encoding)
    except UnicodeEncodeError:  # JSON has its own way to write what the encoding has not
        text = json.dumps(data, default=plain, ensure_ascii=True, indent=2, allow_nan=False)
    with answer_written():
        sys.stdout.write(text + "\n")
        sys.stdout.flush()


class Unwritten(Exception):
    """The answer could not be written where it was to go: a full disk, a stream that is closed."""


@contextmanager
def answer_written() -> Iterator[None]:
    """Raises Unwritten where a stream takes no more; a reader that has gone stays BrokenPipeError."""
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise Unwritten(error.strerror or str(error)) from error


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
    """One line where no compiled kernel is there yet, and where none can be kept."""
    from heatproof._compiled_cache import cache_home

    folder = Path(os.environ.get("NUMBA_CACHE_DIR", ""))
    if folder.name.startswith("heatproof-kernels-"):
        where = visible(str(cache_home()))
        print(
            f"{where} cannot be written, so compiled code is not kept: every run takes a minute more.\n"
            "  next step: make it writable, or set HEATPROOF_CACHE to a folder that is",
            file=sys.stderr,
        )
    elif not folder.is_dir() or not any(folder.rglob("*.nbc")):
        print("Compiling once for this machine; this takes a minute.", file=sys.stderr)
