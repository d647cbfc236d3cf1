"""What the verbs of the study share: tables, options, names of duties, plots on request."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import console

if TYPE_CHECKING:
    from rich.table import Table

    from heatproof.kit.project import Project
    from heatproof.kit.records.duty import Duty
    from heatproof.kit.records.variant import Variant

Duties = Annotated[
    list[str] | None, typer.Option("--duty", help="Only this duty; may be repeated. All where left out.")
]
Plot = Annotated[Path | None, typer.Option("--plot", help="Write a plot to this PNG file.")]
NoSpread = Annotated[bool, typer.Option("--no-spread", help="Leave spreads out; quicker.")]
Jobs = Annotated[int, typer.Option("--jobs", min=1, max=256, help="Runs at the same time.")]


def plain_table(
    columns: Sequence[str], rows: Iterable[Sequence[str]], *, left: Iterable[str] = ()
) -> "Table":
    """A table without lines; columns are right aligned unless named in `left`."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name in columns:
        table.add_column(name, justify="left" if name in set(left) else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def print_table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, left: Iterable[str] = ()) -> None:
    """Printed at once."""
    console().print(plain_table(columns, rows, left=left))


def say(text: str = "", *, style: str = "") -> None:
    """One line."""
    console().print(text, style=style or None, soft_wrap=True)


@contextmanager
def stops_told() -> Iterator[None]:
    """A sweep that stopped short, as a refusal with the next step."""
    from heatproof.kit.findings import Finding, Refused
    from heatproof.study.spread_out import SweepStopped

    try:
        yield
    except SweepStopped as error:
        step = "run again with --resume FOLDER to keep what is finished"
        raise Refused([Finding("error", str(error), next_step=step)]) from error


def duties_named(project: "Project", names: list[str] | None) -> "dict[str, Duty]":
    """The named duties, all where none is named. Refused with the nearest name."""
    from heatproof.study.explain import named_duty

    if not names:
        return dict(project.duties)
    found: dict[str, Duty] = {}
    for name in names:
        found |= named_duty(project, name)
    return found


def part_titles(variant: "Variant") -> dict[str, str]:
    """Key of everything judged to its title."""
    from heatproof.verdict.judged import judged

    return {part.part: part.title for part in judged(variant)}


def save_plot(figure: Any, path: Path) -> None:
    """Written beside its place, then renamed into it. Refused where it is no PNG."""
    import os
    import tempfile

    from heatproof.kit.findings import Finding, Refused

    if path.suffix.lower() != ".png":
        raise Refused([Finding("error", "plots are PNG files", got=path.name, next_step="name it NAME.png")])
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".plot-", suffix=".png")
    os.close(handle)
    figure.savefig(name, dpi=150)
    os.replace(name, path)


def new_figure(width: float = 7.0, height: float = 4.5) -> tuple[Any, Any]:
    """A figure and its axes, without a screen. Refused where the extra is missing."""
    from heatproof.kit.findings import Finding, Refused

    try:
        from matplotlib.figure import Figure
    except ImportError as error:
        step = "pip install 'heatproof[report]'"
        raise Refused([Finding("error", "plots need an extra package", next_step=step)]) from error
    figure = Figure(figsize=(width, height), layout="constrained")
    return figure, figure.subplots()
