"""The body of a text table: bad lines out, columns to numbers or words, nothing lost without a finding."""

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.cells import EMPTY, cell_kind, split_cells
from heatproof.logs.reading.records import Floats, LogError, LogFinding
from heatproof.logs.reading.sniff import Layout, line_facts
from heatproof.logs.reading.text_bytes import MAX_CELLS, TextBytes, bound_rows

_SPELLINGS = sorted({*EMPTY, *map(str.upper, EMPTY), "NaN", "No Data", "No data", "Inf", "-Inf"} - {""})


@dataclass(frozen=True, eq=False)
class Rows:
    """The body of the table: `cells` one array per column (numbers, or fixed-width bytes of text)."""

    layout: Layout
    cells: list[Any]
    kinds: list[str]
    findings: list[LogFinding]
    where: str
    name: str

    @property
    def count(self) -> int:
        return len(self.cells[0]) if self.cells else 0


def read_rows(text: TextBytes, layout: Layout, name: str) -> Rows:
    where = f"{name}:{layout.data_line + 1}"
    findings: list[LogFinding] = []
    lines = text.data.count(b"\n") + 1
    bound_rows(name, lines)
    if lines * len(layout.columns) > MAX_CELLS:
        raise LogError(
            "too many values",
            where=name,
            got=f"{lines} rows of {len(layout.columns)} columns",
            allowed=f"{MAX_CELLS} values",
            next_step="cut it into single runs",
        )
    skip, expected = _bad_lines(text.data, layout, name, findings)
    sample = _sample(text, layout)
    words = [n for n in range(len(layout.columns)) if _is_words(sample, n)]
    frame = _pandas_rows(text.data, layout, skip, words, where)
    if len(frame) < expected:
        what = f"{expected - len(frame)} row(s) cannot be read and are left out; a quote left open?"
        findings.append(LogFinding("warning", what, where))
    cells, kinds = [], []
    for n in range(len(layout.columns)):
        column, kind = _column(frame[n], n in words, layout, findings, name)
        cells.append(column)
        kinds.append(kind)
    return Rows(layout, cells, kinds, findings, where, name)


def _bad_lines(data: bytes, layout: Layout, name: str, findings: list[LogFinding]) -> tuple[list[int], int]:
    """Lines to leave out, and how many rows must come: lines with too many fields go and are reported; lines
    with too few are reported only, unless it is the last of a file cut short."""
    if layout.delimiter == " ":
        lines = data.split(b"\n")[layout.data_line :]
        return list(range(layout.data_line)), sum(bool(line.strip()) for line in lines)
    counts, lengths = line_facts(data, layout.delimiter)
    body = counts[layout.data_line :]
    long = np.flatnonzero(body > layout.fields) + layout.data_line
    if layout.trailing:
        long = long[counts[long] > layout.fields + 1]
    if long.size:
        if long.size > 0.5 * body.size:
            raise LogError(
                "most rows have more cells than the header",
                where=f"{name}:{long[0] + 1}",
                got=f"{counts[long[0]]}",
                allowed=str(layout.fields),
                next_step="decimal commas in a comma-divided file? export with another delimiter",
            )
        findings.append(
            LogFinding("warning", f"{long.size} row(s) with too many cells left out", f"{name}:{long[0] + 1}")
        )
    short = np.flatnonzero((body < layout.fields - layout.trailing) & (body > 1)) + layout.data_line
    if short.size:
        last = short.size == 1 and short[0] >= len(counts) - 2
        what = (
            "last row is cut short" if last else f"{short.size} row(s) with too few cells, the rest is empty"
        )
        findings.append(LogFinding("warning", what, f"{name}:{short[0] + 1}"))
        if last:
            long = np.append(long, short[0])
    blank = (lengths[layout.data_line :] == 0).sum()
    return [*range(layout.data_line), *map(int, long)], int(body.size - blank - long.size)


def _sample(text: TextBytes, layout: Layout) -> list[list[str]]:
    raw = text.data[: 256 * 1024]
    lines = raw.decode("latin-1").split("\n")[layout.data_line : layout.data_line + 100]
    rows = [split_cells(line, layout.delimiter) for line in lines if line.strip()]
    return [row for row in rows if len(row) >= len(layout.columns)]


def _is_words(sample: list[list[str]], n: int) -> bool:
    kinds = [cell_kind(row[n]) for row in sample]
    odd = sum(k in ("clock", "text") for k in kinds)
    return odd > 0 and odd >= 0.2 * sum(k != "empty" for k in kinds)


def _pandas_rows(data: bytes, layout: Layout, skip: list[int], words: list[int], where: str) -> Any:
    pd = pandas_module()
    numbers = list(range(layout.fields))
    try:
        return pd.read_csv(
            io.BytesIO(data),
            sep=r"\s+" if layout.delimiter == " " else layout.delimiter,
            header=None,
            names=numbers,
            usecols=numbers[: len(layout.columns)],
            skiprows=skip,
            decimal=layout.decimal,
            thousands=layout.thousands or None,
            encoding="latin-1",
            index_col=False,
            na_values=_SPELLINGS,
            dtype=dict.fromkeys(words, object),
            on_bad_lines="skip",
            low_memory=False,
            skipinitialspace=True,
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError, OverflowError) as error:
        raise LogError(
            "the table cannot be read",
            where=where,
            got=str(error).split("\n")[0][:160],
            next_step="look at that line in an editor; a quote left open is the usual cause",
        ) from error


def pandas_module() -> Any:
    try:
        import pandas
    except ImportError as error:
        raise LogError("reading logs needs pandas", next_step='pip install "heatproof[logs]"') from error
    return pandas


def _column(
    series: Any, words: bool, layout: Layout, findings: list[LogFinding], name: str
) -> tuple[Any, str]:
    if words:
        return _as_bytes(series), "words"
    if series.dtype.kind in "fiu":
        return series.to_numpy(np.float64), "numbers"
    values, lost = to_numbers(series, layout)
    if lost:
        column = layout.columns[int(series.name)]
        findings.append(
            LogFinding("warning", f"{lost} cell(s) of {column!r} are no numbers, left empty", name)
        )
    return values, "numbers"


def _as_bytes(series: Any) -> NDArray[np.bytes_]:
    text = series.fillna("").astype(str).to_numpy(dtype=object)
    raw = [t.strip()[:64].encode("latin-1", errors="replace") for t in text]
    return np.array(raw, dtype="S") if raw else np.array([], dtype="S1")


def to_numbers(series: Any, layout: Layout) -> tuple[Floats, int]:
    """Numbers of a column with stray words: the words become NaN and are counted."""
    pd = pandas_module()
    text = series.astype(str).str.strip()
    if layout.thousands:
        text = text.str.replace(layout.thousands, "", regex=False)
    if layout.decimal == ",":
        text = text.str.replace(",", ".", regex=False)
    values = pd.to_numeric(text, errors="coerce").to_numpy(np.float64)
    lost = int((np.isnan(values) & series.notna().to_numpy()).sum())
    return values, lost
