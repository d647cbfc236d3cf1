"""What one cell of a text log is: number, time, empty, or words."""

import re
from typing import Literal

from heatproof.logs.reading.clock import looks_like_clock

CellKind = Literal["point", "comma", "whole", "thousands", "clock", "empty", "text"]
EMPTY = {
    "",
    "-",
    "--",
    "---",
    "----",
    "nan",
    "n/a",
    "na",
    "null",
    "none",
    "nodata",
    "no data",
    "inf",
    "-inf",
    "#n/a",
    "?",
    "*",
    "1.#qnan",
    "-1.#ind",
    "1.#inf",
    "ovr",
    "err",
    "error",
    "open",
    "#value!",
    "undefined",
    "true",
    "false",
    "on",
    "off",
}

_WHOLE = re.compile(r"^[+-]?\d+$")
_POINT = re.compile(r"^[+-]?(\d+\.\d*|\.\d+|\d+)([eE][+-]?\d+)?$")
_COMMA = re.compile(r"^[+-]?(\d+,\d*|,\d+|\d+)([eE][+-]?\d+)?$")
_GROUPED = re.compile(r"^[+-]?\d{1,3}(\.\d{3})+,\d+$|^[+-]?\d{1,3}(,\d{3})+\.\d+$")


def cell_kind(cell: str) -> CellKind:
    """Kind of one stripped cell; `comma` and `point` name its decimal mark."""
    if cell.lower() in EMPTY:
        return "empty"
    if _WHOLE.match(cell):
        return "whole"
    if _POINT.match(cell):
        return "point"
    if _COMMA.match(cell):
        return "comma"
    if _GROUPED.match(cell):
        return "thousands"
    return "clock" if looks_like_clock(cell) else "text"


def split_cells(line: str, delimiter: str) -> list[str]:
    """Cells of one line, quotes undone, stripped. A blank delimiter means any run of blanks."""
    if delimiter == " ":
        return line.split()
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    cells: list[str] = []
    cell: list[str] = []
    quoted = False
    for mark in line:
        if mark == '"':
            quoted = not quoted
        elif mark == delimiter and not quoted:
            cells.append("".join(cell).strip())
            cell = []
        else:
            cell.append(mark)
    return [*cells, "".join(cell).strip()]
