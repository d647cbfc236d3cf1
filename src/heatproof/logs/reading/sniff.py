"""Layout of a text log from its first lines: delimiter, decimal mark, header, units, first data line."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.logs.reading.cells import cell_kind, split_cells
from heatproof.logs.reading.log_units import mend_text, parse_unit
from heatproof.logs.reading.names import split_unit
from heatproof.logs.reading.records import LogError, LogFinding
from heatproof.logs.reading.sniff_columns import column_names, column_units
from heatproof.logs.reading.text_bytes import MAX_COLUMNS, TextBytes

HEAD_BYTES = 256 * 1024
HEAD_LINES = 200
DELIMITERS = (";", "\t", ",", "|", " ")
NAMES = {";": "semicolon", "\t": "tab", ",": "comma", "|": "bar", " ": "blanks"}


@dataclass(frozen=True)
class Layout:
    """How to read the text. Lines count from 0; `columns` has one name for each data field."""

    delimiter: str
    decimal: str
    thousands: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    header_line: int | None
    units_line: int | None
    data_line: int
    trailing: bool
    preamble: tuple[str, ...]

    @property
    def fields(self) -> int:
        """Fields of one data line, the empty one behind a trailing delimiter included."""
        return len(self.columns) + self.trailing


def sniff(text: TextBytes, *, where: str) -> tuple[Layout, tuple[LogFinding, ...]]:
    """Layout and every guess behind it; LogError when the text is not a table of numbers."""
    raw_lines = _head_lines(text, where)
    lines = [mend_text(line) for line in raw_lines]
    delimiter, width = _delimiter(lines, where)
    kinds = [[cell_kind(c) for c in split_cells(line, delimiter)] for line in lines]
    data_line = _first_data_line(lines, kinds, width, where)
    decimal, thousands = _decimal([k for row in kinds[data_line:] for k in row], delimiter, lines[data_line:])
    header, units_line = _header_lines(lines, kinds, delimiter, data_line, width)
    trailing = _trailing(lines[data_line:], delimiter)
    findings = [
        LogFinding("note", "delimiter", f"{where}:{data_line + 1}", NAMES[delimiter]),
        LogFinding(
            "note", "decimal mark", f"{where}:{data_line + 1}", "comma" if decimal == "," else "point"
        ),
    ]
    columns, extra = column_names(lines, header, delimiter, width - trailing, where)
    units = column_units(lines, units_line, delimiter, len(columns))
    findings += _mended(raw_lines[: data_line + 1], lines, where)
    findings += extra + _notes(where, lines, header, units_line, data_line, trailing, columns)
    preamble = tuple(line for n, line in enumerate(lines[:data_line]) if n != header and n != units_line)
    return (
        Layout(
            delimiter, decimal, thousands, columns, units, header, units_line, data_line, trailing, preamble
        ),
        tuple(findings),
    )


def _head_lines(text: TextBytes, where: str) -> list[str]:
    head = text.data[:HEAD_BYTES]
    whole = len(head) == len(text.data)
    if not whole and head.count(b"\n") < 3:
        _refuse_wide(text, where)
        head, whole = text.data[: 4 * HEAD_BYTES], False
    lines = text.decode(head).split("\n")
    if not whole:
        lines = lines[:-1]
    while lines and not lines[-1].strip():
        lines.pop()
    return [line.rstrip("\r\x1a") for line in lines[:HEAD_LINES]]


def _mended(raw: list[str], lines: list[str], where: str) -> list[LogFinding]:
    """Header text with a double-encoded or lost degree sign."""
    wrong = [n for n, line in enumerate(raw) if line != lines[n] and line.lstrip("\ufeff") != lines[n]]
    return (
        [LogFinding("note", "garbled degree or micro signs mended", f"{where}:{wrong[0] + 1}")]
        if wrong
        else []
    )


def _refuse_wide(text: TextBytes, where: str) -> None:
    line = text.data[: text.data.find(b"\n") if b"\n" in text.data else len(text.data)]
    count = max(line.count(d.encode()) for d in DELIMITERS)
    if count >= MAX_COLUMNS:
        raise LogError(
            "too many columns",
            where=f"{where}:1",
            got=f"{count + 1}",
            allowed=f"at most {MAX_COLUMNS}",
            next_step="export only the channels you need",
        )
    if not count or len(line) > 4 * HEAD_BYTES:
        raise LogError(
            "one endless line, no table",
            where=f"{where}:1",
            got=f"{len(line)} characters",
            next_step="export the log again, one row a line",
        )


def _delimiter(lines: list[str], where: str) -> tuple[str, int]:
    """The delimiter whose cells are most consistent in number and most often numbers; and that number."""
    full = [line for line in lines if line.strip()]
    if not full:
        raise LogError("no line of text", where=where, next_step="copy it from the logger again")
    body = full[len(full) // 2 :][:80]
    best: tuple[float, str, int] = (0.0, "", 0)
    for mark in DELIMITERS:
        rows = [split_cells(line, mark) for line in body]
        width, hits = Counter(len(r) for r in rows).most_common(1)[0]
        if width < 2:
            continue
        cells = [cell_kind(c) for r in rows if len(r) == width for c in r[:40]]
        good = sum(k != "text" for k in cells) / len(cells)
        some = any(k in ("point", "comma", "whole", "clock") for k in cells)
        score = hits / len(rows) * good * some * (1.0 if mark != " " else 0.9)
        if mark == ",":
            # A decimal comma also cuts evenly; then another delimiter stands in the cells.
            score *= 0.95
        if score > best[0]:
            best = (score, mark, width)
    if best[0] < 0.2:
        raise LogError(
            "no table of numbers found",
            where=where,
            got=repr(next((line for line in lines if line.strip()), "")[:60]),
            allowed="rows of numbers divided by comma, semicolon, tab, bar or blanks",
            next_step="open the file in an editor; export it again as CSV",
        )
    if best[2] > MAX_COLUMNS:
        raise LogError(
            "too many columns",
            where=where,
            got=str(best[2]),
            allowed=f"at most {MAX_COLUMNS}",
            next_step="export only the channels you need",
        )
    return best[1], best[2]


def _first_data_line(lines: list[str], kinds: Sequence[Sequence[str]], width: int, where: str) -> int:
    """First row of numbers that mostly rows of numbers follow: a preamble may hold numbers too."""
    rows = [n for n, line in enumerate(lines) if line.strip()]
    good = [abs(len(kinds[n]) - width) <= 1 and _is_data(kinds[n]) for n in rows]
    for k, n in enumerate(rows):
        after = good[k + 1 : k + 4]
        if good[k] and 2 * sum(after) >= len(after):
            return n
    raise LogError(
        "header without data",
        where=f"{where}:{len(lines)}",
        got=repr(lines[0][:60]) if lines else "",
        next_step="the run holds no samples; record it again",
    )


def _is_data(row: Sequence[str]) -> bool:
    numbers = sum(k in ("point", "comma", "whole", "clock", "thousands") for k in row)
    text = sum(k == "text" for k in row)
    return numbers > 0 and text <= max(1, numbers) and text <= 0.5 * len(row)


def _decimal(kinds: list[str], delimiter: str, lines: list[str]) -> tuple[str, str]:
    count = Counter(kinds)
    if count["thousands"]:
        sample = next(
            (c for line in lines for c in split_cells(line, delimiter) if cell_kind(c) == "thousands"), ""
        )
        return (",", ".") if sample.rfind(",") > sample.rfind(".") else (".", ",")
    return (",", "") if count["comma"] > count["point"] else (".", "")


def _header_lines(
    lines: list[str], kinds: Sequence[Sequence[str]], delimiter: str, data_line: int, width: int
) -> tuple[int | None, int | None]:
    """Header and units rows among the lines above the data."""
    above = [n for n in range(data_line - 1, -1, -1) if lines[n].strip()]
    above = [n for n in above if abs(len(kinds[n]) - width) <= max(2, width // 10)][:3]
    if not above:
        return None, None
    units_line = next((n for n in above[:2] if _is_units(split_cells(lines[n], delimiter))), None)
    rest = [n for n in above if n != units_line]
    return (rest[0], units_line) if rest else (above[0], None)


def _is_units(cells: list[str]) -> bool:
    full = [c for c in cells if c.strip("[](){} ")]
    if not full:
        return bool(cells) and any(c for c in cells)
    clock_words = sum(bool(re.fullmatch(r"\[?\(?[hHdmsMy:.\- fTzS]+\)?\]?", c)) for c in full)
    known = sum(parse_unit(c) is not None for c in full)
    return known + clock_words >= 0.6 * len(full) and known > 0


def _trailing(lines: list[str], delimiter: str) -> bool:
    if delimiter == " ":
        return False
    body = [line.rstrip() if delimiter != "\t" else line for line in lines if line.strip()]
    # The last line of a cut file proves nothing.
    return bool(body) and all(line.endswith(delimiter) for line in body[:-1] or body)


def _notes(
    where: str,
    lines: list[str],
    header: int | None,
    units_line: int | None,
    data_line: int,
    trailing: bool,
    columns: tuple[str, ...],
) -> list[LogFinding]:
    out = []
    if header is not None:
        out.append(LogFinding("note", "header row", f"{where}:{header + 1}", f"{len(columns)} columns"))
        if header > 0:
            out.append(
                LogFinding("note", f"{header} preamble line(s) skipped", f"{where}:1", repr(lines[0][:60]))
            )
    if units_line is not None:
        out.append(LogFinding("note", "units row", f"{where}:{units_line + 1}"))
    if trailing:
        out.append(LogFinding("note", "trailing delimiter on every row", f"{where}:{data_line + 1}"))
    bare = [split_unit(c)[1] for c in columns]
    if units_line is None and sum(map(bool, bare)) >= max(1, len(columns) // 2):
        out.append(LogFinding("note", "units read from the column names", where))
    return out


def line_facts(data: bytes, delimiter: str) -> tuple[np.ndarray, np.ndarray]:
    """Fields and length of each line of the whole text, two arrays of shape (lines,).

    Delimiters inside quotes are not counted; a quote left open ends with its line.
    """
    raw = np.frombuffer(data, np.uint8)
    marks = raw == ord(delimiter)
    starts = np.r_[0, np.flatnonzero(raw == 10) + 1]
    starts = starts[starts < raw.size]
    lengths = np.diff(np.r_[starts, raw.size + (not data.endswith(b"\n"))]) - 1
    if b'"' in data:
        quotes = raw == 34
        passed = np.cumsum(quotes, dtype=np.uint8)
        before = passed[starts] - quotes[starts]
        marks &= ((passed - np.repeat(before, np.diff(np.r_[starts, raw.size]))) & 1) == 0
    return np.add.reduceat(marks.view(np.uint8), starts, dtype=np.int32) + 1, lengths
