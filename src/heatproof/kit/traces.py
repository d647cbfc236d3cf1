"""Speed traces in CSV files: a header `time [s],speed [km/h]`, then rows."""

import csv
import re
from pathlib import Path

from heatproof.kit.fields import fields_of
from heatproof.kit.findings import Findings, listed, nearest
from heatproof.kit.records.duty import Trace
from heatproof.kit.records.variant import Where
from heatproof.units.errors import UnitError
from heatproof.units.parse import read
from heatproof.units.quantity import Quantity

LARGEST = 20_000_000  # bytes
COLUMNS = {key: f.quantity for key, f in fields_of(Trace).items() if f.shape == "numbers"}
HEADER = re.compile(r"\s*([a-z_]+)\s*\[([^\]]+)\]\s*")

Columns = dict[str, tuple[float, ...]]


def trace_data(folder: Path, name: str, where: Where, findings: Findings) -> bytes | None:
    """Bytes of the file; None with a finding where it cannot be had."""
    try:
        path = (folder / name).resolve()
        if not path.is_relative_to(folder.resolve()):
            findings.error(
                "file lies outside the project folder", where, got=name, next_step="copy it into the project"
            )
            return None
        data = path.read_bytes() if path.stat().st_size <= LARGEST else None
    except (OSError, ValueError, RuntimeError):  # no such file, no such name, links in a circle
        findings.error(
            "file is missing",
            where,
            got=name[:100],
            next_step="check the name; it is relative to the project",
        )
        return None
    if data is None:
        findings.error(
            "file is too big", where, got=name, allowed=f"{LARGEST // 1_000_000} MB", next_step="thin it out"
        )
    return data


def trace_columns(data: bytes, name: str, where: Where, findings: Findings) -> Columns:
    """Field name to SI values; empty with findings where they cannot be used."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        findings.error("file is not UTF-8 text", where, got=name, next_step="save it as UTF-8")
        return {}
    own = Findings()
    columns = _columns(_cells(text, name, own), name, own)
    findings.extend(own)
    return columns


def _cells(text: str, name: str, findings: Findings) -> list[list[str]]:
    """Rows of cells, up to what no table of numbers holds."""
    reader = csv.reader(text.splitlines())
    rows: list[list[str]] = []
    try:
        rows.extend(reader)
    except csv.Error as error:  # an endless cell
        where = Where(name, reader.line_num)
        findings.error("row is not a row of cells", where, got=str(error), next_step="look for a stray quote")
    return rows


def _columns(rows: list[list[str]], name: str, findings: Findings) -> Columns:
    header = rows[0] if rows else []
    wanted = [_column(title, name, findings) for title in header]
    keys = [column[0] for column in wanted if column]
    for key in ("time", "speed"):
        if key not in keys:
            findings.error(
                f"column {key!r} is missing", Where(name, 1), next_step="e.g. time [s],speed [km/h]"
            )
    if len(set(keys)) != len(keys):
        got = ",".join(header)[:80]
        findings.error("a column is given twice", Where(name, 1), got=got, next_step="keep one of the two")
    if findings.errors:
        return {}
    values: dict[str, list[float]] = {key: [] for key in keys}
    for line, row in enumerate(rows[1:], start=2):
        if row and not _read_row(row, wanted, values, Where(name, line), findings):
            return {}
    return {key: tuple(column) for key, column in values.items()}


def _column(title: str, name: str, findings: Findings) -> tuple[str, str] | None:
    match = HEADER.fullmatch(title)
    if match is None or match[1] not in COLUMNS:
        known = listed(f"{key} [{quantity.unit}]" for key, quantity in COLUMNS.items())
        near = nearest(title.split("[")[0].strip(), COLUMNS)
        findings.error(
            "column is not known",
            Where(name, 1),
            got=title[:60],
            allowed=known,
            nearest=f"{near} [{COLUMNS[near].unit}]" if near else "",
            next_step="write name [unit]",
        )
        return None
    return match[1], match[2]


def _read_row(
    row: list[str],
    wanted: list[tuple[str, str] | None],
    values: dict[str, list[float]],
    where: Where,
    findings: Findings,
) -> bool:
    if len(row) != len(wanted):
        findings.error(
            "row has another number of columns than the header",
            where,
            got=",".join(row)[:80],
            allowed=f"{len(wanted)} columns",
            next_step="mend or remove the row",
        )
        return False
    for text, column in zip(row, wanted, strict=True):
        if column is None:
            continue
        key, unit = column
        try:
            values[key].append(_read_cell(text, unit, COLUMNS[key]))
        except UnitError as error:
            findings.error(
                error.what,
                Where(where.file, where.line, key),
                got=text[:60],
                allowed=error.allowed,
                next_step=error.next_step or f"write a number of {unit}",
                amounts=error.amounts,
            )
            return False
    time = values["time"]
    if len(time) > 1 and time[-1] <= time[-2]:
        findings.error(
            "time runs back",
            Where(where.file, where.line, "time"),
            got=f"{time[-1]:g} s after {time[-2]:g} s",
            allowed="time that rises from row to row",
            next_step="sort the rows or remove the repeated ones",
        )
        return False
    return True


def _read_cell(text: str, unit: str, quantity: Quantity) -> float:
    return read(f"{text.strip()} {unit}", quantity)
