"""Parquet and ASAM MDF4 logs; CAN frames inside MDF4 through a DBC file."""

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any, BinaryIO, cast

import numpy as np

from heatproof.logs import time_axis
from heatproof.logs.channel_map import ChannelMap
from heatproof.logs.label import make_channel
from heatproof.logs.log_units import mend_text, parse_unit
from heatproof.logs.names import guess_name, split_unit
from heatproof.logs.records import Channel, Finding, Floats, Log, LogError
from heatproof.logs.text_bytes import MAX_CELLS, MAX_COLUMNS, file_hash

INSTALL = 'pip install "heatproof[logs]"'
AGAIN = "copy the file from the logger again, or export it as CSV"


def read_parquet_log(path: Path, *, channel_map: ChannelMap) -> Log:
    """A Parquet table with a time column; units from the field's metadata or the column names."""
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as error:
        raise LogError("reading Parquet needs pyarrow", where=path.name, next_step=INSTALL) from error
    try:
        with pq.ParquetFile(path) as file:
            _bound(path.name, file.metadata.num_rows, file.metadata.num_columns)
            table = file.read()
    except (pa.ArrowException, OSError, ValueError) as error:
        raise LogError("damaged Parquet file", where=path.name, got=_short(error), next_step=AGAIN) from error
    axis, used, findings = _parquet_axis(path, table, channel_map)
    channels: list[Channel] = []
    for n, item in enumerate(table.schema):
        if n == used:
            continue
        values = _numbers(table.column(n), pa)
        if values is None:
            findings.append(Finding("info", "column of text left out", path.name, repr(item.name)))
            continue
        unit = ((item.metadata or {}).get(b"unit") or b"").decode("utf-8", errors="replace")
        channel, notes = make_channel(
            item.name, unit, axis.seconds, values[axis.keep], source=item.name, channel_map=channel_map
        )
        channels.append(channel)
        findings += notes
    _need_channels(channels, path)
    layout = {"form": "parquet", "rows": table.num_rows, "dropped": tuple(axis.dropped)}
    return Log(str(path), tuple(channels), axis.start, (*axis.findings, *findings), layout, file_hash(path))


def _parquet_axis(path: Path, table: Any, channel_map: ChannelMap) -> tuple[Any, int | None, list[Finding]]:
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


def read_mdf_log(path: Path, *, channel_map: ChannelMap, dbc: Path | None = None) -> Log:
    """An MDF file: every channel with its group's own time; bus frames through `dbc` if one is given."""
    with open(path, "rb") as stream, _quiet() as said:
        mdf = _open_mdf(path, stream)
        try:
            raw, findings = _mdf_channels(mdf, path, dbc)
            start = mdf.header.start_time
        except LogError:
            raise
        except Exception as error:  # the library raises many kinds on damaged blocks
            raise LogError("damaged MDF file", where=path.name, got=_short(error), next_step=AGAIN) from error
        finally:
            mdf.close()
    findings += [Finding("warn", "remark of the MDF reader", path.name, text[:160]) for text in said[:5]]
    first = min((t[0] for _, _, t, _, _ in raw if t.size), default=0.0)
    channels: list[Channel] = []
    shared: dict[int, Floats] = {}
    for column, unit, time_s, values, source in raw:
        if channel_map.row(column).ignore:
            continue
        own = shared.setdefault(id(time_s), time_s - first)
        channel, notes = make_channel(column, unit, own, values, source=source, channel_map=channel_map)
        channels.append(channel)
        findings += notes
    _need_channels(channels, path)
    return Log(
        str(path),
        tuple(channels),
        start.replace(tzinfo=None) if start else None,
        tuple(findings),
        {"form": "mdf", "rows": sum(c.values.size for c in channels)},
        file_hash(path),
    )


@contextmanager
def _quiet() -> Iterator[list[str]]:
    """The library prints and logs on damaged files; what it logs is kept, what it prints is not shown."""
    said: list[str] = []
    handler = logging.Handler(logging.WARNING)
    handler.emit = lambda record: said.append(record.getMessage().split("\n")[0])  # type: ignore[method-assign]
    logger = logging.getLogger("asammdf")
    old, logger.handlers = logger.handlers, [handler]
    spread, logger.propagate = logger.propagate, False
    try:
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            yield said
    finally:
        logger.handlers, logger.propagate = old, spread


def _open_mdf(path: Path, stream: BinaryIO) -> Any:
    """Opened through our own handle: the file is closed whatever the library does on a damaged block."""
    try:
        from asammdf import MDF
    except ImportError as error:
        raise LogError("reading MDF needs asammdf", where=path.name, next_step=INSTALL) from error
    try:
        return MDF(cast(Any, stream))
    except Exception as error:  # the library raises many kinds on damaged blocks
        _disarm(error)
        raise LogError("damaged MDF file", where=path.name, got=_short(error), next_step=AGAIN) from error


def _disarm(error: BaseException) -> None:
    """Mark a half-built reader as closed: its destructor would otherwise complain on the way out."""
    trace = error.__traceback__
    while trace is not None:
        maker = trace.tb_frame.f_locals.get("self")
        if hasattr(maker, "_closed"):
            cast(Any, maker)._closed = True
        trace = trace.tb_next


RawChannel = tuple[str, str, Floats, Floats, str]


def _mdf_channels(mdf: Any, path: Path, dbc: Path | None) -> tuple[list[RawChannel], list[Finding]]:
    total = sum(len(group.channels) for group in mdf.groups)
    _bound(path.name, 1, total)
    out: list[RawChannel] = []
    findings: list[Finding] = []
    seen: dict[str, int] = {}
    for g, group in enumerate(mdf.groups):
        names = [channel.name for channel in group.channels]
        if any(name.startswith("CAN_DataFrame") for name in names):
            out += _frames(mdf, g, path, dbc, findings)
            continue
        for signal, index in _signals(mdf, g, group):
            values = signal.samples
            if values.dtype.kind not in "fiub" or values.ndim != 1:
                findings.append(
                    Finding("info", "channel is not a series of numbers, left out", path.name, signal.name)
                )
                continue
            if not _times_rise(signal.timestamps):
                raise LogError(
                    "time runs back",
                    where=f"{path.name}, channel group {g}",
                    got=signal.name,
                    next_step=AGAIN,
                )
            name = _unique(mend_text(signal.name), seen, findings)
            unit = mend_text(signal.unit or "")
            out.append(
                (name, unit, signal.timestamps, values.astype(np.float64), f"group {g}, channel {index}")
            )
    return out, findings


def _signals(mdf: Any, g: int, group: Any) -> Iterator[tuple[Any, int]]:
    master = mdf.masters_db.get(g)
    wanted = [i for i in range(len(group.channels)) if i != master]
    if not wanted or not group.channel_group.cycles_nr:
        return
    picks = [(None, g, i) for i in wanted]
    signals = mdf.select(picks, ignore_value2text_conversions=True, copy_master=False)
    yield from zip(signals, wanted, strict=True)


def _times_rise(time_s: Floats) -> bool:
    return bool(time_s.size < 2 or np.all(np.diff(time_s) >= 0))


def _unique(name: str, seen: dict[str, int], findings: list[Finding]) -> str:
    seen[name] = seen.get(name, 0) + 1
    if seen[name] == 1:
        return name
    findings.append(Finding("warn", "channel name given twice", got=f"{name!r} again, called #{seen[name]}"))
    return f"{name} #{seen[name]}"


def _frames(mdf: Any, g: int, path: Path, dbc: Path | None, findings: list[Finding]) -> list[RawChannel]:
    from heatproof.logs.can_frames import decode_frames

    if dbc is None:
        findings.append(Finding("warn", "bus frames not decoded", path.name, next_step="give the DBC file"))
        return []
    ident = mdf.get("CAN_DataFrame.ID", group=g)
    data = mdf.get("CAN_DataFrame.DataBytes", group=g).samples
    length = mdf.get("CAN_DataFrame.DataLength", group=g).samples
    times = ident.timestamps.astype(np.float64)
    return decode_frames(times, ident.samples.astype(np.int64), data, length, dbc=dbc, findings=findings)


def _need_channels(channels: list[Channel], path: Path) -> None:
    if not channels:
        raise LogError("no channel holds numbers", where=path.name, next_step=AGAIN)


def _bound(where: str, rows: int, columns: int) -> None:
    if columns > MAX_COLUMNS:
        raise LogError(
            "too many columns",
            where=where,
            got=str(columns),
            allowed=f"at most {MAX_COLUMNS}",
            next_step="export only the channels you need",
        )
    if rows * columns > MAX_CELLS:
        raise LogError(
            "too many values",
            where=where,
            got=str(rows * columns),
            allowed=f"at most {MAX_CELLS}",
            next_step="cut it into single runs",
        )


def _short(error: BaseException) -> str:
    return f"{type(error).__name__}: {error}".split("\n")[0][:160]
