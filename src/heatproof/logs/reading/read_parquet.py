"""Parquet logs."""

from pathlib import Path
from typing import Any

import numpy as np

from heatproof.logs.reading import time_axis
from heatproof.logs.reading.binary_bounds import AGAIN, INSTALL, bound, need_channels, short
from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.label import make_channel
from heatproof.logs.reading.log_units import parse_unit
from heatproof.logs.reading.names import guess_name, split_unit
from heatproof.logs.reading.records import Channel, Floats, Log, LogError, LogFinding
from heatproof.logs.reading.text_bytes import file_hash


def read_parquet_log(path: Path, *, channel_map: ChannelMap) -> Log:
    """A Parquet table with a time column; units from the field's metadata or the column names."""
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as error:
        raise LogError("reading Parquet needs pyarrow", where=path.name, next_step=INSTALL) from error
    try:
        with pq.ParquetFile(path) as file:
            bound(path.name, file.metadata.num_rows, file.metadata.num_columns)
            table = file.read()
    except (pa.ArrowException, OSError, ValueError) as error:
        raise LogError("damaged Parquet file", where=path.name, got=short(error), next_step=AGAIN) from error
    axis, used, findings = _parquet_axis(path, table, channel_map)
    channels: list[Channel] = []
    for n, item in enumerate(table.schema):
        if n == used:
            continue
        values = _numbers(table.column(n), pa)
        if values is None:
            findings.append(LogFinding("note", "column of text left out", path.name, repr(item.name)))
            continue
        unit = ((item.metadata or {}).get(b"unit") or b"").decode("utf-8", errors="replace")
        channel, notes = make_channel(
            item.name, unit, axis.seconds, values[axis.keep], source=item.name, channel_map=channel_map
        )
        channels.append(channel)
        findings += notes
    need_channels(channels, path.name)
    layout = {"form": "parquet", "rows": table.num_rows, "dropped": tuple(axis.dropped)}
    return Log(str(path), tuple(channels), axis.start, (*axis.findings, *findings), layout, file_hash(path))


def _parquet_axis(
    path: Path, table: Any, channel_map: ChannelMap
) -> tuple[Any, int | None, list[LogFinding]]:
    if channel_map.rate_Hz:
        return time_axis.from_rate(table.num_rows, channel_map.rate_Hz), None, []
    if not table.num_rows:
        raise LogError("the table has no rows", where=path.name, next_step="the run holds no samples")
    import pyarrow as pa

    for n, item in enumerate(table.schema):
        if pa.types.is_timestamp(item.type):
            nanos = table.column(n).cast(pa.timestamp("ns"), safe=False).cast(pa.int64()).to_numpy()
            return (
                time_axis.from_numbers(nanos.astype(np.float64), None, where=path.name, column=item.name),
                n,
                [],
            )
    for n, item in enumerate(table.schema):
        quantity = guess_name(item.name).quantity
        if item.name == channel_map.time or (quantity is not None and quantity.key == "time"):
            values = _numbers(table.column(n), pa)
            if values is None:
                cells = np.array([str(v).encode() for v in table.column(n).to_pylist()], dtype="S")
                return time_axis.from_clock(cells, where=path.name, column=item.name), n, []
            unit = parse_unit(split_unit(item.name)[1])
            return time_axis.from_numbers(values, unit, where=path.name, column=item.name), n, []
    raise LogError(
        "no time column",
        where=path.name,
        got=", ".join(table.schema.names[:8]),
        next_step="give the rate in Hz (rate_Hz), or name the time column in the channel map",
    )


def _numbers(column: Any, pa: Any) -> Floats | None:
    kind = column.type
    if not (pa.types.is_floating(kind) or pa.types.is_integer(kind) or pa.types.is_boolean(kind)):
        return None
    return np.asarray(column.cast(pa.float64()).to_numpy(zero_copy_only=False), np.float64)
