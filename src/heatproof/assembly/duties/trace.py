"""Speed traces: checked, and read from CSV files whose columns carry their unit (`speed_km_h`, `time_s`)."""

import csv
import math
import re
from pathlib import Path
from typing import Unpack

import numpy as np

from heatproof.assembly.duties.steps import CannotDrive
from heatproof.kit.findings import Finding, More, Where, listed, nearest
from heatproof.kit.records.duty import Trace

SUFFIXES: dict[str, dict[str, float]] = {
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0},
    "speed": {"m_per_s": 1.0, "m_s": 1.0, "km_per_h": 1 / 3.6, "km_h": 1 / 3.6, "mph": 0.44704},
    "grade": {"": 1.0, "1": 1.0, "percent": 0.01},
    "engine_speed": {"rpm": 1 / 60.0, "rev_per_s": 1.0, "1_per_min": 1 / 60.0, "rad_per_s": 0.5 / math.pi},
    "power": {"W": 1.0, "kW": 1e3},
}
"""Factor to SI of each column's unit."""
KNOWN = [f"{name}_{unit}".rstrip("_") for name, units in SUFFIXES.items() for unit in units]
GAP = 10.0
"""A step of a file longer than this many usual steps, and than 5 s, is a gap."""
LEAST_GAP = 5.0  # s
LONGEST = 48 * 3600.0  # s


class TraceError(CannotDrive):
    """A trace that cannot be driven; the message says what, where (file:line), got, allowed, next step."""

    def __init__(self, what: str, where: Where, **more: Unpack[More]) -> None:
        self.finding = Finding("error", what, where, **more)
        super().__init__(str(self.finding))


def read_columns(path: Path, shown: str = "") -> dict[str, tuple[float, ...]]:
    """SI columns of a CSV file, named as in the duty's record. TraceError with file:line.

    First row: `time_s,speed_km_h,…` (or `time [s],speed [km/h],…`); grade, engine_speed, power may be there.
    Blank lines and lines starting with # are passed over.
    """
    shown = shown or path.name
    rows = numbered_rows(path, shown)
    if len(rows) < 3:
        raise TraceError("trace has fewer than two rows of numbers", Where(shown), next_step="add rows")
    line, header = rows[0]
    columns = [column_of(title, Where(shown, line)) for title in header]
    names = [name for name, _ in columns]
    check_header(names, Where(shown, line))
    values = [read_row(row, columns, Where(shown, line)) for line, row in rows[1:]]
    table = dict(zip(names, zip(*values, strict=True), strict=True))
    check_times(np.array(table["time"]), shown, [line for line, _ in rows[1:]], from_file=True)
    return table


def numbered_rows(path: Path, shown: str) -> list[tuple[int, list[str]]]:
    """Line numbers and cells of every row that says something."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file)
            rows = [(reader.line_num, row) for row in reader]
    except FileNotFoundError:
        raise TraceError("file is missing", Where(shown), next_step="check the name") from None
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise TraceError(f"file cannot be read as CSV text: {error}", Where(shown)) from None
    return [(n, row) for n, row in rows if any(cell.strip() for cell in row) and not row[0].startswith("#")]


def column_of(title: str, where: Where) -> tuple[str, float]:
    """Column name and factor to SI of a header cell."""
    plain = re.sub(r"\s*\[(.*)\]$", r"_\1", title.strip()).replace("/", "_per_").replace("%", "percent")
    for name, units in SUFFIXES.items():
        for unit, factor in units.items():
            if plain == f"{name}_{unit}".rstrip("_"):
                return name, factor
    raise TraceError(
        "column is not known",
        where,
        got=title,
        allowed=listed(KNOWN, len(KNOWN)),
        nearest=nearest(plain, KNOWN),
        next_step="write name_unit",
    )


def check_header(names: list[str], where: Where) -> None:
    """Time and speed must be there; nothing twice."""
    for name in ("time", "speed"):
        if name not in names:
            raise TraceError(f"column {name!r} is missing", where, next_step="e.g. time_s,speed_km_h")
    if len(set(names)) < len(names):
        raise TraceError("a column is given twice", where, got=", ".join(names), next_step="keep one of them")


def read_row(row: list[str], columns: list[tuple[str, float]], where: Where) -> list[float]:
    """SI values of one row."""
    if len(row) != len(columns):
        raise TraceError(
            "row has another number of columns than the header",
            where,
            got=str(len(row)),
            allowed=str(len(columns)),
            next_step="complete the row",
        )
    return [
        read_cell(text, factor, Where(where.file, where.line, name))
        for text, (name, factor) in zip(row, columns, strict=True)
    ]


def read_cell(text: str, factor: float, where: Where) -> float:
    """One finite number, SI."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise TraceError(
            "a value is missing or is no number",
            where,
            got=text.strip() or "nothing",
            allowed="a finite number",
            next_step="fill it in or remove the row",
        )
    return value * factor


def check_times(time: np.ndarray, shown: str, lines: list[int], *, from_file: bool) -> None:
    """Times (s) rise, and a file has no gap. `lines`: line of each row, 0 where unknown."""
    steps = np.diff(time)
    back = np.flatnonzero(~(steps > 0.0))
    if back.size:
        k = int(back[0]) + 1
        raise TraceError(
            "time runs back or stands still",
            Where(shown, lines[k], "time"),
            got=f"{time[k]:g} s after {time[k - 1]:g} s",
            allowed="time that rises from row to row",
            next_step="sort the rows or remove the repeated ones",
        )
    if time[-1] - time[0] > LONGEST:
        raise TraceError("trace is longer than 48 h", Where(shown), got=f"{(time[-1] - time[0]) / 3600:g} h")
    longest = max(GAP * float(np.median(steps)), LEAST_GAP)
    wide = np.flatnonzero(steps > longest)
    if from_file and wide.size:
        k = int(wide[0]) + 1
        raise TraceError(
            "trace has a gap",
            Where(shown, lines[k], "time"),
            got=f"{steps[k - 1]:g} s without a row",
            allowed=f"at most {longest:g} s",
            next_step="fill the gap, or give the trace as lists where long straight pieces are meant",
        )


def trace_columns(drive: Trace, folder: Path | None = None) -> dict[str, np.ndarray]:
    """Checked SI columns, time from 0. Reads `file` from `folder` where the record holds no values yet."""
    names = ("time", "speed", "grade", "engine_speed", "power")
    shown = drive.file or "trace"
    columns = {name: getattr(drive, name) for name in names if getattr(drive, name)}
    if not columns and drive.file is not None and folder is not None:
        columns = read_columns(inside(folder, drive.file), drive.file)
    if not columns and drive.file is not None:
        raise TraceError("trace file is not read yet", Where(drive.file), next_step="give the project folder")
    arrays = {name: np.asarray(column, dtype=float) for name, column in columns.items()}
    check_arrays(arrays, shown)
    lines = [k + 2 if drive.file else 0 for k in range(arrays["time"].size)]
    check_times(arrays["time"], shown, lines, from_file=drive.file is not None)
    arrays["time"] = arrays["time"] - arrays["time"][0]
    return arrays


def inside(folder: Path, name: str) -> Path:
    """Path of a file in the project. TraceError where it lies outside."""
    path = (folder / name).resolve()
    if not path.is_relative_to(folder.resolve()):
        raise TraceError(
            "file lies outside the project folder", Where(name), next_step="copy it into the project"
        )
    return path


def check_arrays(arrays: dict[str, np.ndarray], shown: str) -> None:
    """Enough points, one length, no NaN, no speed below zero."""
    if "time" not in arrays or "speed" not in arrays or arrays["time"].size < 2:
        raise TraceError(
            "trace needs at least two points of time and speed", Where(shown), next_step="add time and speed"
        )
    for name, column in arrays.items():
        if column.size != arrays["time"].size:
            raise TraceError(
                f"{name} and time differ in length",
                Where(shown, 0, name),
                got=f"{column.size} against {arrays['time'].size}",
                next_step="give one value for each time",
            )
        lowest = -np.inf if name in ("power", "grade", "time") else 0.0
        bad = np.flatnonzero(~np.isfinite(column) | (column < lowest))
        if bad.size:
            raise TraceError(
                f"{name} is no number or below zero",
                Where(shown, int(bad[0]) + 2 if shown != "trace" else 0, name),
                got=f"{column[bad[0]]:g} at point {int(bad[0]) + 1}",
                next_step="correct or remove the point",
            )
