"""Text logs: wide tables, and the long form with one channel a row."""

import io
import re
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatproof.logs import time_axis
from heatproof.logs.cells import EMPTY, cell_kind, split_cells
from heatproof.logs.channel_map import ChannelMap
from heatproof.logs.label import make_channel
from heatproof.logs.log_units import mend_text, parse_unit
from heatproof.logs.names import guess_name, split_unit
from heatproof.logs.records import Channel, Finding, Floats, Log, LogError
from heatproof.logs.sniff import Layout, field_counts, sniff
from heatproof.logs.text_bytes import MAX_CELLS, TextBytes

SPARSE = 0.5
_SPELLINGS = sorted(
    {*EMPTY, *map(str.upper, EMPTY), "NaN", "No Data", "No data", "nan", "Inf", "-Inf"} - {""}
)


@dataclass(frozen=True, eq=False)
class _Rows:
    """The body of the table: `cells` one array per column (numbers, or fixed-width bytes of text)."""

    layout: Layout
    cells: list[Any]
    kinds: list[str]
    findings: list[Finding]
    where: str
    name: str

    @property
    def count(self) -> int:
        return len(self.cells[0]) if self.cells else 0


def read_text_log(text: TextBytes, *, path: str, name: str, channel_map: ChannelMap) -> Log:
    """A text log as `Log`; LogError when it cannot be one."""
    layout, findings = sniff(text, where=name)
    rows = _read_rows(text, layout, name, channel_map)
    long = _long_columns(rows)
    if long:
        raw, axis = _long_channels(rows, long, channel_map, text)
    else:
        raw, axis = _wide_channels(rows, channel_map)
    channels, notes = _label(raw, channel_map)
    if not channels:
        raise LogError(
            "no column holds numbers", where=name, next_step="open the file in an editor; export it again"
        )
    notes += _empty_start(rows, channels)
    drops = [Finding("warn", f"{d.count} of {d.of} rows dropped", name, d.why) for d in axis.dropped]
    shape = {
        "form": "long" if long else "wide",
        "delimiter": layout.delimiter,
        "decimal": layout.decimal,
        "encoding": text.encoding,
        "header_line": None if layout.header_line is None else layout.header_line + 1,
        "data_line": layout.data_line + 1,
        "rows": rows.count,
        "dropped": tuple(axis.dropped),
        "preamble": layout.preamble,
    }
    every = (*text.findings, *findings, *rows.findings, *axis.findings, *drops, *notes)
    return Log(path, tuple(channels), axis.start, every, shape, text.sha256)


# ---- table body ----


def _read_rows(text: TextBytes, layout: Layout, name: str, channel_map: ChannelMap) -> _Rows:
    where = f"{name}:{layout.data_line + 1}"
    findings: list[Finding] = []
    skip = _bad_lines(text.data, layout, name, findings)
    lines = text.data.count(b"\n") + 1
    if lines * len(layout.columns) > MAX_CELLS:
        raise LogError(
            "too many values",
            where=name,
            got=f"{lines} rows of {len(layout.columns)} columns",
            allowed=f"{MAX_CELLS} values",
            next_step="cut it into single runs",
        )
    sample = _sample(text, layout)
    words = [n for n in range(len(layout.columns)) if _is_words(sample, n)]
    frame = _pandas_rows(text.data, layout, skip, words, where)
    cells, kinds = [], []
    for n in range(len(layout.columns)):
        column, kind = _column(frame[n], n in words, layout, findings, name)
        cells.append(column)
        kinds.append(kind)
    return _Rows(layout, cells, kinds, findings, where, name)


def _bad_lines(data: bytes, layout: Layout, name: str, findings: list[Finding]) -> list[int]:
    """Lines with too many fields (left out, reported); lines with too few are reported only."""
    if layout.delimiter == " ":
        return list(range(layout.data_line))
    counts = field_counts(data, layout.delimiter)
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
            Finding("warn", f"{long.size} row(s) with too many cells left out", f"{name}:{long[0] + 1}")
        )
    short = np.flatnonzero((body < layout.fields - layout.trailing) & (body > 1)) + layout.data_line
    if short.size:
        last = short.size == 1 and short[0] >= len(counts) - 2
        what = (
            "last row is cut short" if last else f"{short.size} row(s) with too few cells, the rest is empty"
        )
        findings.append(Finding("warn", what, f"{name}:{short[0] + 1}"))
        if last:
            long = np.append(long, short[0])
    return [*range(layout.data_line), *map(int, long)]


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
    pd = _pandas()
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


def _pandas() -> Any:
    try:
        import pandas
    except ImportError as error:
        raise LogError("reading logs needs pandas", next_step='pip install "heatproof[logs]"') from error
    return pandas


def _column(series: Any, words: bool, layout: Layout, findings: list[Finding], name: str) -> tuple[Any, str]:
    if words:
        return _as_bytes(series), "words"
    if series.dtype.kind in "fiu":
        return series.to_numpy(np.float64), "numbers"
    values, lost = _to_numbers(series, layout)
    if lost:
        column = layout.columns[int(series.name)]
        findings.append(Finding("warn", f"{lost} cell(s) of {column!r} are no numbers, left empty", name))
    return values, "numbers"


def _as_bytes(series: Any) -> NDArray[np.bytes_]:
    text = series.fillna("").astype(str).to_numpy(dtype=object)
    raw = [t.strip()[:64].encode("latin-1", errors="replace") for t in text]
    return np.array(raw, dtype="S") if raw else np.array([], dtype="S1")


def _to_numbers(series: Any, layout: Layout) -> tuple[Floats, int]:
    """Numbers of a column with stray words: the words become NaN and are counted."""
    pd = _pandas()
    text = series.astype(str).str.strip()
    if layout.thousands:
        text = text.str.replace(layout.thousands, "", regex=False)
    if layout.decimal == ",":
        text = text.str.replace(",", ".", regex=False)
    values = pd.to_numeric(text, errors="coerce").to_numpy(np.float64)
    lost = int((np.isnan(values) & series.notna().to_numpy()).sum())
    return values, lost


# ---- wide form ----

Raw = tuple[str, str, Floats, Floats]


def _wide_channels(rows: _Rows, channel_map: ChannelMap) -> tuple[list[Raw], time_axis.TimeAxis]:
    axis, used = _axis(rows, channel_map)
    out: list[Raw] = []
    for n, column in enumerate(rows.layout.columns):
        if n in used:
            continue
        if rows.kinds[n] != "numbers":
            rows.findings.append(Finding("info", "column of text left out", rows.name, repr(column)))
            continue
        values = rows.cells[n][axis.keep]
        out.append((column, rows.layout.units[n], *_own_times(axis.seconds, values)))
    return out, axis


def _own_times(seconds: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Sparse columns (one channel a row) keep only the rows in which they were measured."""
    measured = np.isfinite(values)
    if 0 < measured.sum() < (1 - SPARSE) * len(values):
        return seconds[measured], values[measured]
    return seconds, values


def _axis(rows: _Rows, channel_map: ChannelMap) -> tuple[time_axis.TimeAxis, set[int]]:
    if channel_map.rate_Hz:
        return time_axis.from_rate(rows.count, channel_map.rate_Hz), set()
    told = [n for n, c in enumerate(rows.layout.columns) if c == channel_map.time]
    candidates = told or _time_candidates(rows)
    if not candidates:
        raise LogError(
            "no time column",
            where=rows.name,
            got=", ".join(rows.layout.columns[:8]),
            allowed="a column of seconds, clock times or dates",
            next_step="give the rate in Hz (rate_Hz), or name the time column in the channel map",
        )
    first = candidates[0]
    column = rows.layout.columns[first]
    if rows.kinds[first] == "words":
        cells, used = _with_date(rows, candidates)
        return time_axis.from_clock(cells, where=rows.where, column=column), used
    unit = parse_unit(rows.layout.units[first] or split_unit(column)[1] or _unit_in_name(column))
    return time_axis.from_numbers(rows.cells[first], unit, where=rows.where, column=column), {first}


def _unit_in_name(column: str) -> str:
    last = re.split(r"[\s_]+", column.strip().lower())[-1]
    return last if last in {"s", "sec", "secs", "seconds", "ms", "millis", "min", "us"} else ""


def _time_candidates(rows: _Rows) -> list[int]:
    """Columns that may hold the time, best first: clock text, then a time name, then a rising first
    column."""
    clock = [n for n in range(len(rows.cells)) if rows.kinds[n] == "words" and _is_clock(rows.cells[n])]
    if clock:
        full = [n for n in clock if _has_clock(rows.cells[n])]
        return full + [n for n in clock if n not in full]
    named = [n for n, c in enumerate(rows.layout.columns) if _names_time(c) and rows.kinds[n] == "numbers"]
    rising = [n for n in named if _rises(rows.cells[n])]
    if named:
        return rising or named
    first = rows.cells[0]
    if rows.layout.header_line is None and rows.kinds[0] == "numbers" and _rises(first) and np.any(first % 1):
        return [0]
    return []


def _names_time(column: str) -> bool:
    quantity = guess_name(column).quantity
    bare = split_unit(column)[0].strip().lower()
    return bare in {"s", "sec", "ms", "millis", "uptime"} or (quantity is not None and quantity.key == "time")


def _rises(values: Floats) -> bool:
    good = values[np.isfinite(values)]
    return good.size > 1 and bool(np.mean(np.diff(good) >= 0) > 0.9) and good[-1] > good[0]


def _is_clock(cells: NDArray[np.bytes_]) -> bool:
    some = [bytes(c).decode("latin-1") for c in cells[:50] if c]
    return bool(some) and sum(cell_kind(c) == "clock" for c in some) > 0.5 * len(some)


def _has_clock(cells: NDArray[np.bytes_]) -> bool:
    return any(b":" in c or len(c) >= 14 for c in cells[:50])


def _with_date(rows: _Rows, candidates: list[int]) -> tuple[NDArray[np.bytes_], set[int]]:
    """Clock cells, joined with a date column when the clock alone has none."""
    clock = rows.cells[candidates[0]]
    if any(len(c) > 13 for c in clock[:50]):
        return clock, {candidates[0]}
    dates = [n for n in candidates[1:] if not _has_clock(rows.cells[n])]
    if not dates:
        return clock, {candidates[0]}
    joined = np.char.add(np.char.add(rows.cells[dates[0]], b" "), clock)
    rows.findings.append(
        Finding(
            "info",
            "date and clock time joined",
            rows.name,
            f"{rows.layout.columns[dates[0]]!r} and {rows.layout.columns[candidates[0]]!r}",
        )
    )
    return joined, {candidates[0], dates[0]}


# ---- long form ----


@dataclass(frozen=True)
class _Long:
    time: int
    name: int
    value: int
    unit: int | None


def _long_columns(rows: _Rows) -> _Long | None:
    """Column numbers of the long form, None for a wide table."""
    if not 3 <= len(rows.cells) <= 8 or rows.count < 2:
        return None
    heads = [re.sub(r"[^a-z]", "", c.lower()) for c in rows.layout.columns]
    name = _first(heads, {"pid", "name", "channel", "signal", "parameter", "sensor", "variable"})
    value = _first(heads, {"value", "reading", "val", "data"})
    when = _first(
        heads,
        {"time", "seconds", "timestamp", "sec", "secs", "elapsed", "date", "datetime", "timesec", "times"},
    )
    if name is None or value is None or when is None or rows.kinds[name] != "words":
        return None
    return _Long(when, name, value, _first(heads, {"unit", "units"}))


def _first(heads: list[str], wanted: set[str]) -> int | None:
    return next((n for n, head in enumerate(heads) if head in wanted), None)


def _long_channels(
    rows: _Rows, long: _Long, channel_map: ChannelMap, text: TextBytes
) -> tuple[list[Raw], time_axis.TimeAxis]:
    axis = _long_axis(rows, long)
    names = rows.cells[long.name][axis.keep]
    values = _long_values(rows, long)[axis.keep]
    units = (
        rows.cells[long.unit][axis.keep]
        if long.unit is not None and rows.kinds[long.unit] == "words"
        else None
    )
    unique, first, inverse = np.unique(names, return_index=True, return_inverse=True)
    if len(unique) > 4000:
        raise LogError("too many channel names", where=rows.name, got=str(len(unique)), allowed="4000")
    out: list[Raw] = []
    order = np.argsort(inverse, kind="stable")
    bounds = np.searchsorted(inverse[order], np.arange(len(unique) + 1))
    for k in np.argsort(first):
        pick = order[bounds[k] : bounds[k + 1]]
        name = mend_text(text.decode(bytes(unique[k]))) or "(no name)"
        unit = mend_text(text.decode(bytes(units[first[k]]))) if units is not None else ""
        out.append((name, unit, axis.seconds[pick], values[pick]))
    rows.findings.append(Finding("info", "long form: one channel a row", rows.where, f"{len(out)} channels"))
    return out, axis


def _long_axis(rows: _Rows, long: _Long) -> time_axis.TimeAxis:
    column = rows.layout.columns[long.time]
    if rows.kinds[long.time] == "words":
        return time_axis.from_clock(rows.cells[long.time], where=rows.where, column=column)
    unit = parse_unit(rows.layout.units[long.time] or split_unit(column)[1])
    return time_axis.from_numbers(rows.cells[long.time], unit, where=rows.where, column=column)


def _long_values(rows: _Rows, long: _Long) -> Floats:
    if rows.kinds[long.value] == "numbers":
        return np.asarray(rows.cells[long.value], np.float64)
    pd = _pandas()
    return _to_numbers(pd.Series([bytes(c).decode("latin-1") for c in rows.cells[long.value]]), rows.layout)[
        0
    ]


# ---- naming ----


def _empty_start(rows: _Rows, channels: list[Channel]) -> list[Finding]:
    """First rows in which some channels were not yet measured."""
    late = [
        int(np.argmax(c.measured))
        for c in channels
        if c.values.size == channels[0].values.size and c.measured.any()
    ]
    most = max(late, default=0)
    return [Finding("info", f"first {most} rows are partly empty", rows.where)] if most else []


def _label(raw: list[Raw], channel_map: ChannelMap) -> tuple[list[Channel], list[Finding]]:
    channels, findings = [], []
    for column, unit, time_s, values in raw:
        if channel_map.row(column).ignore:
            findings.append(Finding("info", "left out, as the channel map says", column))
            continue
        channel, notes = make_channel(column, unit, time_s, values, source=column, channel_map=channel_map)
        channels.append(channel)
        findings += notes
        if not np.isfinite(values).any():
            findings.append(Finding("warn", "column without a single number", column))
    return channels, findings
