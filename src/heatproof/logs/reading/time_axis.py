"""The time of every row: which column, in which form, and what to do where it is not in order."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.clock import parse_clock, parse_epoch
from heatproof.logs.reading.log_units import LogUnit
from heatproof.logs.reading.records import Dropped, Flags, Floats, LogError, LogFinding

MAX_BACKWARD_SHARE = 0.01
MAX_UNREADABLE_SHARE = 0.01
HOLE_S = 60.0
SHARED_STAMP = "rows share a time stamp"


@dataclass(frozen=True, eq=False)
class TimeAxis:
    """`seconds` of the kept rows, from the first; `keep` (n,) of all rows; `raw` (n,) as read, before equal
    stamps were spread."""

    seconds: Floats
    keep: Flags
    start: datetime | None
    findings: list[LogFinding] = field(default_factory=list)
    dropped: list[Dropped] = field(default_factory=list)
    raw: Floats | None = None

    def without(self, rows: NDArray[np.intp], dropped: Dropped) -> "TimeAxis":
        """The same axis less some of all rows, given by number."""
        assert self.raw is not None
        keep = self.keep.copy()
        keep[rows] = False
        kept = self.raw[keep] - self.raw[keep][0]
        seconds, more = _spread_equal(kept)
        told = [f for f in self.findings if SHARED_STAMP not in f.what]
        return TimeAxis(seconds, keep, self.start, told + more, [*self.dropped, dropped], self.raw)


def from_clock(cells: NDArray[np.bytes_], *, where: str, column: str) -> TimeAxis:
    """Time axis from clock text; LogError when less than half of it can be read, or more than 1 % is unreadable."""
    clock = parse_clock(cells)
    if clock.unreadable > 0.5 * len(cells):
        bad = int(np.flatnonzero(np.isnan(clock.seconds))[0])
        raise LogError(
            f"column {column!r} is not a readable time",
            where=where,
            got=repr(bytes(cells[bad]).decode("latin-1"))[:60],
            allowed="seconds, hh:mm:ss, dd.mm.yyyy hh:mm:ss.mmm, ISO 8601",
            next_step="name another time column, or give the rate in Hz",
        )
    start = None
    first = clock.seconds[np.isfinite(clock.seconds)][0]
    if clock.first_day is not None:
        start = datetime.combine(clock.first_day, time()) + timedelta(seconds=float(first))
    notes = [*clock.findings, LogFinding("note", "time column", where, f"{column!r}, clock time")]
    return in_order(clock.seconds, start=start, where=where, notes=notes)


def from_numbers(values: Floats, unit: LogUnit | None, *, where: str, column: str) -> TimeAxis:
    """Time axis from numbers: epoch, or a stated unit, or seconds unless the steps say milliseconds."""
    if epoch := parse_epoch(values):
        seconds, start = epoch
        note = LogFinding(
            "note",
            "time column",
            where,
            f"{column!r}, counted from 1970, start {start:%Y-%m-%d %H:%M:%S} UTC",
        )
        return in_order(seconds, start=start.astimezone(UTC).replace(tzinfo=None), where=where, notes=[note])
    seconds, note = as_seconds(values, unit, where=where, column=column)
    return in_order(seconds, start=None, where=where, notes=[note])


def as_seconds(
    values: Floats, unit: LogUnit | None, *, where: str = "", column: str = ""
) -> tuple[Floats, LogFinding]:
    """Seconds (n,) of numbers in the unit told, else as their steps say, and what was taken."""
    if unit is not None and unit.dimension == "time":
        return unit.to_si(values), LogFinding("note", "time column", where, f"{column!r} in {unit.name}")
    steps = np.diff(values[np.isfinite(values)])
    middle = float(np.median(steps)) if steps.size else 0.0
    whole = bool(np.all(values[np.isfinite(values)] % 1 == 0))
    if whole and 5 <= middle <= 2000 and middle * values.size > 3600:
        note = LogFinding(
            "warning",
            f"time column {column!r} has no unit: taken as milliseconds",
            where,
            f"steps of {middle:g}",
            "state the unit in the channel map",
        )
        return values * 1e-3, note
    what = f"time column {column!r} has no unit: taken as seconds"
    return values, LogFinding(
        "warning", what, where, f"steps of {middle:g}", "state the unit in the channel map"
    )


SLOWEST, FASTEST = 1e-3, 1e6  # Hz


def from_rate(rows: int, rate_Hz: float) -> TimeAxis:
    """Evenly spaced rows. LogError where the rate is none of a logger."""
    if not SLOWEST <= rate_Hz <= FASTEST:
        raise LogError(
            "no rate of a logger",
            got=f"{rate_Hz:g} Hz",
            allowed=f"{SLOWEST:g} to {FASTEST:g} Hz",
            next_step="give rows a second",
        )
    return TimeAxis(
        np.arange(rows) / rate_Hz,
        np.ones(rows, bool),
        None,
        [LogFinding("note", f"time from the given rate {rate_Hz:g} Hz")],
    )


def in_order(seconds: Floats, *, start: datetime | None, where: str, notes: list[LogFinding]) -> TimeAxis:
    """Rows without time and rows that run back taken out; equal stamps spread; LogError if many run back."""
    good = np.isfinite(seconds)
    dropped = []
    if not good.any():
        raise LogError(
            "no row has a readable time", where=where, next_step="name another time column, or give the rate"
        )
    if not good.all():
        _refuse_unreadable(good, where)
        dropped.append(Dropped("(rows)", "time", int((~good).sum()), len(seconds), "time unreadable"))
    keep = good.copy()
    highest = np.maximum.accumulate(np.where(good, seconds, -np.inf))
    back = good & (seconds < highest)
    if back.any():
        _refuse_backward(seconds, back, good, where)
        keep &= ~back
        first = int(np.flatnonzero(back)[0])
        dropped.append(
            Dropped(
                "(rows)", "time", int(back.sum()), int(good.sum()), "time runs back", float(seconds[first])
            )
        )
        notes.append(
            LogFinding(
                "warning",
                f"time runs back: {int(back.sum())} rows left out",
                f"{where}, data row {first + 1}",
            )
        )
    kept = seconds[keep]
    kept = kept - kept[0]
    kept, more = _spread_equal(kept)
    holes = np.flatnonzero(np.diff(kept) > HOLE_S)
    if holes.size:
        widest = float(np.diff(kept)[holes].max())
        notes.append(LogFinding("warning", f"{holes.size} hole(s) in time", where, f"longest {widest:.0f} s"))
    return TimeAxis(kept, keep, start, notes + more, dropped, seconds)


def _refuse_unreadable(good: Flags, where: str) -> None:
    lost = int((~good).sum())
    if lost <= max(2, MAX_UNREADABLE_SHARE * good.size):
        return
    raise LogError(
        "times cannot be read",
        where=f"{where}, data row {int(np.flatnonzero(~good)[0]) + 1}",
        got=f"{lost} of {good.size} rows",
        allowed=f"at most {MAX_UNREADABLE_SHARE:.0%} of the rows",
        next_step="export the time again, name another time column, or give the rate in Hz",
    )


def _refuse_backward(seconds: Floats, back: Flags, good: Flags, where: str) -> None:
    if back.sum() <= max(2, MAX_BACKWARD_SHARE * good.sum()):
        return
    row = int(np.flatnonzero(back)[0])
    before = float(np.max(seconds[:row][good[:row]]))
    raise LogError(
        "time runs back",
        where=f"{where}, data row {row + 1}",
        got=f"{seconds[row]:.3f} s after {before:.3f} s; {int(back.sum())} rows affected",
        allowed=f"at most {MAX_BACKWARD_SHARE:.0%} of the rows",
        next_step="two runs in one file? cut it there, or name another time column",
    )


def _spread_equal(seconds: Floats) -> tuple[Floats, list[LogFinding]]:
    """Rows with one and the same stamp are spread evenly up to the next stamp."""
    same = np.diff(seconds) == 0
    if not same.any():
        return seconds, []
    starts = np.flatnonzero(np.r_[True, ~same])
    counts = np.diff(np.r_[starts, len(seconds)])
    stamps = seconds[starts]
    if len(stamps) < 2:
        return seconds, [
            LogFinding("warning", "all rows carry one time stamp", next_step="give the rate in Hz")
        ]
    gaps = np.diff(stamps)
    gaps = np.r_[gaps, np.median(gaps)]
    limit = np.median(gaps)
    step = np.minimum(gaps, np.maximum(limit, 1e-6)) / counts
    place = np.arange(len(seconds)) - np.repeat(starts, counts)
    note = LogFinding(
        "warning",
        f"{int(same.sum())} {SHARED_STAMP}: spread evenly",
        got=f"stamps every {limit:g} s",
    )
    return np.repeat(stamps, counts) + place * np.repeat(step, counts), [note]
