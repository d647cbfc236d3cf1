"""Long text tables: one channel a row, as `time, name, value, unit`."""

import re
from dataclasses import dataclass

import numpy as np

from heatproof.logs.reading import time_axis
from heatproof.logs.reading.log_units import mend_text, parse_unit
from heatproof.logs.reading.names import split_unit
from heatproof.logs.reading.records import Floats, LogError, LogFinding
from heatproof.logs.reading.table import Rows, pandas_module, to_numbers
from heatproof.logs.reading.text_bytes import TextBytes
from heatproof.logs.reading.wide_form import Raw


@dataclass(frozen=True)
class LongColumns:
    time: int
    name: int
    value: int
    unit: int | None


def long_columns(rows: Rows) -> LongColumns | None:
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
    return LongColumns(when, name, value, _first(heads, {"unit", "units"}))


def _first(heads: list[str], wanted: set[str]) -> int | None:
    return next((n for n, head in enumerate(heads) if head in wanted), None)


def long_channels(rows: Rows, long: LongColumns, text: TextBytes) -> tuple[list[Raw], time_axis.TimeAxis]:
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
    rows.findings.append(
        LogFinding("note", "long form: one channel a row", rows.where, f"{len(out)} channels")
    )
    return out, axis


def _long_axis(rows: Rows, long: LongColumns) -> time_axis.TimeAxis:
    column = rows.layout.columns[long.time]
    if rows.kinds[long.time] == "words":
        return time_axis.from_clock(rows.cells[long.time], where=rows.where, column=column)
    unit = parse_unit(rows.layout.units[long.time] or split_unit(column)[1])
    return time_axis.from_numbers(rows.cells[long.time], unit, where=rows.where, column=column)


def _long_values(rows: Rows, long: LongColumns) -> Floats:
    if rows.kinds[long.value] == "numbers":
        return np.asarray(rows.cells[long.value], np.float64)
    pd = pandas_module()
    return to_numbers(pd.Series([bytes(c).decode("latin-1") for c in rows.cells[long.value]]), rows.layout)[0]
