"""Blocks on the terminal: the same texts as on paper, wrapped to its width."""

import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from heatproof._visible import visible
from heatproof.doors.console import LEVEL_STYLE, STATE_STYLE, console
from heatproof.kit.findings import Finding
from heatproof.report.blocks import (
    Block,
    Bullets,
    Cautions,
    Facts,
    Figure,
    Findings,
    Heading,
    Notice,
    Para,
    Table,
)

if TYPE_CHECKING:
    from rich.console import Console

TONES = {"plain": "", "small": "dim", "lead": "bold", "strong": "bold"}


def print_blocks(blocks: Sequence[Block]) -> None:
    """Every block, an empty line between two; a paragraph stands close to what it follows."""
    out = console()
    for k, block in enumerate(blocks):
        if k and not isinstance(block, Para):
            out.print()
        PRINTERS[type(block)](block, out)


def paragraph(block: Para, out: "Console") -> None:
    """In its tone."""
    out.print(Text(visible(block.text, breaks=True), style=TONES[block.tone]))


def notice(block: Notice, out: "Console") -> None:
    """Its title in the colour of its state, the text behind it."""
    out.print(Text(visible(block.title), style=STATE_STYLE.get(block.mark, "") or "bold"))
    if block.text:
        out.print(Text(visible(block.text)))


def bullets(block: Bullets, out: "Console") -> None:
    """Indented, numbered where the order matters."""
    for k, item in enumerate(block.items, 1):
        hanging(f"{k}. {item}" if block.numbered else item, out)


def table(block: Table, out: "Console") -> None:
    """Without lines. Columns that the width has no room for are left out as the table says; texts are broken, figures never."""
    grid = Grid(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    shown = [k for k, least in enumerate(block.least or (0,) * len(block.head)) if out.width >= least]
    for k in shown:
        figures = block.align[k] == "right"
        # The header stays in one line beside figures; a column of words gives way first.
        grid.add_column(
            visible(block.head[k]), justify=block.align[k], no_wrap=figures, overflow="fold", min_width=4
        )
    for number, row in enumerate(block.rows):
        mark = block.marks[number] if block.marks else ""
        grid.add_row(*(visible(row[k]) for k in shown), style=STATE_STYLE.get(mark, ""))
    out.print(grid)
    if block.note:
        out.print(Text(visible(block.note), style="dim"))


def facts(block: Facts, out: "Console") -> None:
    """Label and value, one a line."""
    grid = Grid.grid(padding=(0, 2, 0, 0))
    for label, value in block.rows:
        grid.add_row(visible(label), visible(value))
    out.print(grid)


def findings(block: Findings, out: "Console") -> None:
    """Errors first; of one code and next step together, the next step once."""
    for alike in grouped(block.findings):
        level, style = alike[0].level, LEVEL_STYLE[alike[0].level]
        for finding in alike:
            place = f" [{finding.where}]" if str(finding.where) else ""
            hanging(f"{level}: {finding.what}{place}", out, style=style, first="")
            said = (("got", finding.got), ("allowed", finding.allowed), ("nearest", finding.nearest))
            for label, text in said:
                if text:
                    hanging(f"{label}: {text}", out, style=style)
        if alike[0].next_step:
            hanging(f"next step: {alike[0].next_step}", out, style=style)


def grouped(every: Iterable[Finding]) -> list[list[Finding]]:
    """Findings in their order, errors first, those alike together: same level, code and next step."""
    order = {"error": 0, "warning": 1, "note": 2}
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for k, finding in enumerate(sorted(every, key=lambda finding: order[finding.level])):
        alike = (finding.code, finding.next_step) if finding.code else (str(k),)
        groups.setdefault((finding.level, *alike), []).append(finding)
    return list(groups.values())


def cautions(block: Cautions, out: "Console") -> None:
    """All of them, always."""
    out.print("Cautions", style="bold")
    for text in block.texts:
        hanging(text, out)


def hanging(text: str, out: "Console", *, style: str = "", first: str = "  ") -> None:
    """Wrapped to the width; further lines are indented below the first. Long words (paths) are not broken."""
    for line in textwrap.wrap(
        visible(text), max(out.width, 20), initial_indent=first, subsequent_indent=first + "  ",
        break_long_words=False, break_on_hyphens=False,
    ):  # fmt: skip
        out.print(Text(line, style=style), soft_wrap=True)


def figure(block: Figure, out: "Console") -> None:
    """A terminal has no pictures: what it shows, in words."""
    out.print(Padding(Text(visible(block.alt), style="dim"), (0, 0, 0, 2)))


def heading(block: Heading, out: "Console") -> None:
    """Bold."""
    out.print(Text(visible(block.text), style="bold"))


PRINTERS: dict[type, Callable[[Any, "Console"], None]] = {
    Heading: heading,
    Para: paragraph,
    Bullets: bullets,
    Table: table,
    Facts: facts,
    Figure: figure,
    Notice: notice,
    Findings: findings,
    Cautions: cautions,
}
