"""Wide text tables: one column a channel; which column holds the time."""

import re

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading import time_axis
from heatproof.logs.reading.cells import cell_kind
from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.clock_choice import choose_clock, counts_another_event, weigh_clock
from heatproof.logs.reading.log_units import LogUnit, parse_unit
from heatproof.logs.reading.names import guess_name, split_unit
from heatproof.logs.reading.records import Dropped, Floats, LogError, LogFinding
from heatproof.logs.reading.table import Rows

SPARSE = 0.5

Raw = tuple[str, str, Floats, Floats]


def wide_channels(rows: Rows, channel_map: ChannelMap) -> tuple[list[Raw], time_axis.TimeAxis]:
    axis, used = _axis(rows, channel_map)
    axis = _without_repeats(rows, axis)
    out: list[Raw] = []
    for n, column in enumerate(rows.layout.columns):
        if n in used:
            continue
        if rows.kinds[n] != "numbers":
            rows.findings.append(LogFinding("note", "column of text left out", rows.name, repr(column)))
            continue
        values = rows.cells[n][axis.keep]
        out.append((column, rows.layout.units[n], *_own_times(axis.seconds, values, column, rows)))
    return out, axis


def _without_repeats(rows: Rows, axis: time_axis.TimeAxis) -> time_axis.TimeAxis:
    """Rows that repeat the row before them in every cell, time and all, left out: a logger wrote them twice.

    A clock that ticks more slowly than the rows come says nothing of that, and keeps them.
    """
    kept = np.flatnonzero(axis.keep)
    if axis.raw is None or kept.size < 3 or np.median(np.diff(axis.raw[kept])) <= 0.0:
        return axis
    same = np.diff(axis.raw[kept]) == 0.0
    for cells in rows.cells:
        if not same.any():
            return axis
        x = cells[kept]
        alike = x[1:] == x[:-1]
        if x.dtype.kind == "f":
            alike |= np.isnan(x[1:]) & np.isnan(x[:-1])
        same &= alike
    if not same.any():
        return axis
    count = int(same.sum())
    rows.findings.append(
        LogFinding("warning", f"{count} row(s) repeat the row before and are left out", rows.where)
    )
    return axis.without(
        kept[1:][same], Dropped("(rows)", "time", count, int(kept.size), "exact repeat of a row")
    )


def _own_times(seconds: Floats, values: Floats, column: str, rows: Rows) -> tuple[Floats, Floats]:
    """Sparse columns (one channel a row) keep only the rows in which they were measured."""
    measured = np.isfinite(values)
    if measured.mean() < 0.9:
        rows.findings.append(
            LogFinding("warning", f"measured in {measured.mean():.0%} of the rows only", column)
        )
    if 0 < measured.sum() < (1 - SPARSE) * len(values):
        return seconds[measured], values[measured]
    return seconds, values


def _axis(rows: Rows, channel_map: ChannelMap) -> tuple[time_axis.TimeAxis, set[int]]:
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
    speed = _speed(rows)
    weighed = [
        weigh_clock(
            n,
            rows.layout.columns[n],
            time_axis.as_seconds(rows.cells[n], _time_unit(rows, n))[0],
            speed,
            run_time=_quantity_key(rows.layout.columns[n]) == "run_time",
        )
        for n in candidates
    ]
    best, reasons = choose_clock(weighed, rows.where)
    rows.findings.extend(reasons)
    n = best.index
    axis = time_axis.from_numbers(rows.cells[n], _time_unit(rows, n), where=rows.where, column=best.column)
    return axis, {n}


def _time_unit(rows: Rows, n: int) -> LogUnit | None:
    column = rows.layout.columns[n]
    return parse_unit(rows.layout.units[n] or split_unit(column)[1] or _unit_in_name(column))


def _quantity_key(column: str) -> str:
    quantity = guess_name(column).quantity
    return quantity.key if quantity is not None else ""


def _speed(rows: Rows) -> Floats | None:
    """Vehicle speed in m/s (km/h where no unit is told), None where there is none."""
    for n, column in enumerate(rows.layout.columns):
        if rows.kinds[n] != "numbers":
            continue
        guess = guess_name(column, rows.layout.units[n])
        if guess.quantity is not None and guess.quantity.key in ("vehicle_speed", "gps_speed"):
            unit = guess.unit or guess.quantity.unit
            return unit.to_si(rows.cells[n]) if unit.dimension == "speed" else None
    return None


def _unit_in_name(column: str) -> str:
    last = re.split(r"[\s_]+", column.strip().lower())[-1]
    return last if last in {"s", "sec", "secs", "seconds", "ms", "millis", "min", "us"} else ""


def _time_candidates(rows: Rows) -> list[int]:
    """Columns that may hold the time, best first: clock text, then a time name, then a rising first
    column."""
    clock = [n for n in range(len(rows.cells)) if rows.kinds[n] == "words" and _is_clock(rows.cells[n])]
    if clock:
        full = [n for n in clock if _has_clock(rows.cells[n])]
        return full + [n for n in clock if n not in full]
    named = [n for n, c in enumerate(rows.layout.columns) if _names_time(c) and rows.kinds[n] == "numbers"]
    if any(not counts_another_event(rows.layout.columns[n]) for n in named):
        return named
    first = rows.cells[0]
    if rows.layout.header_line is None and rows.kinds[0] == "numbers" and _rises(first) and np.any(first % 1):
        return [0]
    return []


def _names_time(column: str) -> bool:
    bare = split_unit(column)[0].strip().lower()
    return (
        bare in {"s", "sec", "ms", "millis", "uptime"}
        or _quantity_key(column) in {"time", "run_time"}
        or (counts_another_event(column) and "time" in bare)
    )


def _rises(values: Floats) -> bool:
    good = values[np.isfinite(values)]
    return good.size > 1 and bool(np.mean(np.diff(good) >= 0) > 0.9) and good[-1] > good[0]


def _is_clock(cells: NDArray[np.bytes_]) -> bool:
    some = [bytes(c).decode("latin-1") for c in cells[:50] if c]
    return bool(some) and sum(cell_kind(c) == "clock" for c in some) > 0.5 * len(some)


def _has_clock(cells: NDArray[np.bytes_]) -> bool:
    return any(b":" in c or len(c) >= 14 for c in cells[:50])


def _with_date(rows: Rows, candidates: list[int]) -> tuple[NDArray[np.bytes_], set[int]]:
    """Clock cells, joined with a date column when the clock alone has none."""
    clock = rows.cells[candidates[0]]
    if any(len(c) > 13 for c in clock[:50]):
        return clock, {candidates[0]}
    dates = [n for n in candidates[1:] if not _has_clock(rows.cells[n])]
    if not dates:
        return clock, {candidates[0]}
    joined = np.char.add(np.char.add(rows.cells[dates[0]], b" "), clock)
    rows.findings.append(
        LogFinding(
            "note",
            "date and clock time joined",
            rows.name,
            f"{rows.layout.columns[dates[0]]!r} and {rows.layout.columns[candidates[0]]!r}",
        )
    )
    return joined, {candidates[0], dates[0]}
