"""What an answer says, as a small tree of blocks, apart from how it is set.

A question makes its blocks once. `doors.terminal` prints them, `html` and `pdf` set them on paper, all from the same
texts. A new kind of block is a dataclass here and a function in each of those; one that paper has no own form for is said
in others (`on_paper`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from heatproof.kit.findings import Finding

Align = Literal["left", "right"]
Columns = tuple[tuple[str, Align, float], ...]
"""Name, side its text stands on, relative width."""
Tone = Literal["plain", "small", "lead", "strong"]
Mark = Literal["", "holds", "thin", "over"]
"""State a row or notice is marked with, in words and in tint."""


@dataclass(frozen=True)
class Heading:
    """level 1: section, 2: below it."""

    text: str
    level: int = 1


@dataclass(frozen=True)
class Para:
    """One paragraph."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Bullets:
    """A list; numbered where the order matters."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Table:
    """head: names of columns; rows: texts; widths: relative; marks: one a row, or none at all.

    least: characters of a screen below which a column is left out, one a column; never where empty. What a reader needs in
    order not to be misled (state, margin, how sure) is never left out.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: tuple[Align, ...]
    widths: tuple[float, ...]
    marks: tuple[Mark, ...] = ()
    note: str = ""
    least: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        n = len(self.head)
        if self.least and len(self.least) != n:
            raise ValueError(f"table {self.head}: a least width for every column or for none")
        if len(self.align) != n or len(self.widths) != n or any(len(row) != n for row in self.rows):
            raise ValueError(f"table {self.head}: every row needs {n} cells")
        if self.marks and len(self.marks) != len(self.rows):
            raise ValueError(f"table {self.head}: a mark for every row or for none")


@dataclass(frozen=True)
class Facts:
    """Label and value, one a line."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Figure:
    """svg: the picture; alt: what it shows, in words; width: share of the text width, or mm where to_scale."""

    svg: str
    alt: str
    caption: str
    width: float = 1.0
    to_scale: bool = False


@dataclass(frozen=True)
class Notice:
    """A framed statement."""

    title: str
    text: str
    mark: Mark = ""


@dataclass(frozen=True)
class SignOff:
    """Lines to be signed: role, and what is known already (name, date)."""

    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Break:
    """A new page."""


@dataclass(frozen=True)
class Findings:
    """What is wrong or worth knowing, errors first. The same of many places is said once where that reads better."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Cautions:
    """The usual cautions, which go with every verdict."""

    texts: tuple[str, ...]


Block = Heading | Para | Bullets | Table | Facts | Figure | Notice | SignOff | Break | Findings | Cautions


def on_paper(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The blocks with findings and cautions said as lists: what `html` and `pdf` set."""
    said: list[Block] = []
    for block in blocks:
        if isinstance(block, Findings):
            said += [Bullets(tuple(finding.line for finding in block.findings))] if block.findings else []
        elif isinstance(block, Cautions):
            said += [Heading("Cautions", 2), Bullets(block.texts)]
        else:
            said.append(block)
    return tuple(said)


@dataclass(frozen=True)
class Document:
    """title, subtitle; running: short line at the head of every page; foot: at its foot; paper: of typst."""

    title: str
    subtitle: str
    running: str
    foot: str
    blocks: tuple[Block, ...]
    draft: bool = False
    compact: bool = False
    """Smaller type and margins, for sheets of a page or two."""
    paper: str = "a4"
    language: str = "en"
    keywords: tuple[str, ...] = field(default_factory=tuple)


def table(
    columns: Sequence[tuple[str, Align, float]],
    rows: Sequence[Sequence[str]],
    *,
    marks: Sequence[Mark] = (),
    note: str = "",
    least: Sequence[int] = (),
) -> Table:
    """columns: name, side its text stands on, relative width."""
    names, align, widths = zip(*columns, strict=True)
    return Table(names, tuple(tuple(row) for row in rows), align, widths, tuple(marks), note, tuple(least))
