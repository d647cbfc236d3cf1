"""The channel map of a project: column → quantity, unit, sensor, place, time constant. YAML, comments kept.

    rate_Hz: 10            # only for logs without a time column
    channels:
      "IAT [C]": {quantity: intake_temperature, unit: degC, place: manifold, time_constant_s: 4}

What stands in the map wins over every guess.
"""

import difflib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from heatproof._files import write_whole
from heatproof.kit.commented import Table, commented_text, load_commented, read_commented
from heatproof.kit.findings import Refused
from heatproof.kit.tree import Source
from heatproof.logs.reading.log_units import parse_unit
from heatproof.logs.reading.quantities import QUANTITIES
from heatproof.logs.reading.records import Log, LogError

KEYS = ("quantity", "unit", "sensor", "place", "time_constant_s", "ignore")


@dataclass(frozen=True)
class MapRow:
    """What is known of one column; empty text means "guess"."""

    quantity: str = ""
    unit: str = ""
    sensor: str = ""
    place: str = ""
    time_constant_s: float | None = None
    ignore: bool = False


@dataclass(frozen=True)
class ChannelMap:
    """Rows by column name; `rate_Hz` for logs without a time column; `time` names the time column."""

    rows: dict[str, MapRow] = field(default_factory=dict)
    rate_Hz: float | None = None
    time: str = ""

    def row(self, column: str) -> MapRow:
        """The row of a column, empty if the map does not name it."""
        return self.rows.get(column, MapRow())

    def merged(self, other: "ChannelMap") -> "ChannelMap":
        """This map completed by `other` where it says nothing: corrections in `self` win."""
        rows = dict(other.rows)
        for name, row in self.rows.items():
            rows[name] = _over(row, rows.get(name, MapRow()))
        return ChannelMap(rows, self.rate_Hz or other.rate_Hz, self.time or other.time)


def _over(row: MapRow, base: MapRow) -> MapRow:
    told = {k: getattr(row, k) for k in KEYS if getattr(row, k) not in ("", None, False)}
    return replace(base, **told)


def map_of(log: Log) -> ChannelMap:
    """The map that a log was read with: every guess, ready to be corrected."""
    rows = {
        c.column: MapRow(c.quantity, c.unit, c.sensor, c.place, c.time_constant_s or None)
        for c in log.channels
    }
    return ChannelMap(rows, time=str(log.layout.get("time_column", "")))


def read_channel_map(file: str | Path | Source) -> ChannelMap:
    """Read a map, or the text of one; LogError with line for what is not understood."""
    path = file if isinstance(file, Source) else Path(file)
    data: Any = _as_log_error(read_commented, path) or {}
    table = data.get("channels") or {}
    if not isinstance(table, dict):
        raise LogError(
            "`channels` must be a table of columns",
            where=f"{path.name}:{_line(data, 'channels')}",
            got=type(table).__name__,
        )
    rows = {str(name): _row(path.name, table, name, entry) for name, entry in table.items()}
    rate = data.get("rate_Hz")
    if rate is not None and not (isinstance(rate, int | float) and 0 < rate <= 1e5):
        raise LogError(
            "rate_Hz is not a rate",
            where=f"{path.name}:{_line(data, 'rate_Hz')}",
            got=repr(rate),
            allowed="a number above 0, in Hz",
        )
    return ChannelMap(rows, None if rate is None else float(rate), str(data.get("time") or ""))


def save_channel_map(path: str | Path, channel_map: ChannelMap) -> None:
    """Write a map, whole or not at all. In a map that is already there comments and order stay, and what the
    user wrote stays: only missing columns and missing entries are added."""
    path = Path(path)
    if path.exists():
        read_channel_map(path)
    data = (_as_log_error(load_commented, path) if path.exists() else None) or _new()
    if data.get("channels") is None:
        data["channels"] = {}
    table = data["channels"]
    names = {str(name): name for name in table}  # a column may be called 5
    if channel_map.rate_Hz and "rate_Hz" not in data:
        data["rate_Hz"] = channel_map.rate_Hz
    if channel_map.time and "time" not in data:
        data["time"] = channel_map.time
    for name, row in channel_map.rows.items():
        entry = table.setdefault(names.get(name, name), {})
        for key in KEYS:
            value = getattr(row, key)
            if value not in ("", None, False) and key not in entry:
                entry[key] = value
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, commented_text(data).encode())


def _new() -> Any:
    from ruamel.yaml.comments import CommentedMap

    data = CommentedMap()
    data.yaml_set_start_comment(
        "Guesses of the log reader. Correct them here: what stands in this file wins."
    )
    return data


def _as_log_error(read: Callable[[Any], Any], path: Path | Source) -> Any:
    try:
        return read(path)
    except Refused as refused:
        first = refused.findings[0]
        where = f"{path.name}:{first.where.line}" if first.where.line else path.name
        raise LogError(
            first.what, where=where, got=first.got, allowed=first.allowed, next_step=first.next_step
        ) from refused


def _line(table: Any, key: Any) -> int:
    return table.line(key) if isinstance(table, Table) else 1


def _row(file: str, table: Any, name: Any, entry: Any) -> MapRow:
    where = f"{file}:{_line(table, name)}"
    if not isinstance(entry, dict):
        raise LogError(
            f"column {name!r} needs a table", where=where, got=repr(entry)[:60], allowed=", ".join(KEYS)
        )
    for key in entry:
        if key not in KEYS:
            near = difflib.get_close_matches(str(key), KEYS, n=1)
            raise LogError(
                f"unknown entry {key!r} of column {name!r}",
                where=f"{file}:{_line(entry, key)}",
                allowed=", ".join(KEYS),
                next_step=f"did you mean {near[0]}?" if near else "",
            )
    return MapRow(
        _quantity(str(entry.get("quantity") or ""), where),
        _unit(str(entry.get("unit") or ""), where),
        str(entry.get("sensor") or ""),
        str(entry.get("place") or ""),
        _tau(entry.get("time_constant_s"), where),
        bool(entry.get("ignore", False)),
    )


def _quantity(key: str, where: str) -> str:
    if key and key != "unknown" and key not in QUANTITIES:
        near = difflib.get_close_matches(key, QUANTITIES, n=3, cutoff=0.5)
        raise LogError(
            "unknown quantity",
            where=where,
            got=repr(key),
            allowed=", ".join(QUANTITIES),
            next_step=f"did you mean {' or '.join(near)}?" if near else "",
        )
    return key


def _unit(text: str, where: str) -> str:
    if text and parse_unit(text) is None:
        raise LogError(
            "unknown unit", where=where, got=repr(text), next_step="write it as degC, kPa, rpm, km/h, g/s …"
        )
    return text


def _tau(value: Any, where: str) -> float | None:
    if value is None:
        return None
    if not isinstance(value, int | float) or not 0 <= value < 3600:
        raise LogError(
            "time_constant_s is not a time", where=where, got=repr(value), allowed="0 to 3600, in s"
        )
    return float(value)
