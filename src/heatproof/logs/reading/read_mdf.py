"""ASAM MDF4 logs; CAN frames inside them through a DBC file."""

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any, BinaryIO, cast

import numpy as np

from heatproof.logs.reading.binary_bounds import AGAIN, INSTALL, bound, need_channels, short
from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.label import make_channel
from heatproof.logs.reading.log_units import mend_text
from heatproof.logs.reading.records import Channel, Floats, Log, LogError, LogFinding
from heatproof.logs.reading.text_bytes import file_hash

# Channel types without bytes in the record (MDF 4.1: virtual master, virtual data).
VIRTUAL = (3, 6)


def read_mdf_log(path: Path, *, channel_map: ChannelMap, dbc: Path | None = None) -> Log:
    """An MDF file: every channel with its group's own time; bus frames through `dbc` if one is given."""
    with open(path, "rb") as stream, _quiet() as said:
        mdf = _open_mdf(path, stream)
        try:
            _check_records(mdf, path)
            raw, findings = _mdf_channels(mdf, path, dbc)
            start = mdf.header.start_time
        except LogError:
            raise
        except Exception as error:  # the library raises many kinds on damaged blocks
            raise LogError("damaged MDF file", where=path.name, got=short(error), next_step=AGAIN) from error
        finally:
            mdf.close()
    findings += [
        LogFinding("warning", "remark of the MDF reader", path.name, text[:160]) for text in said[:5]
    ]
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
    need_channels(channels, path.name)
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
        raise LogError("damaged MDF file", where=path.name, got=short(error), next_step=AGAIN) from error


def _disarm(error: BaseException) -> None:
    """Mark a half-built reader as closed: its destructor would otherwise complain on the way out."""
    trace = error.__traceback__
    while trace is not None:
        maker = trace.tb_frame.f_locals.get("self")
        if hasattr(maker, "_closed"):
            cast(Any, maker)._closed = True
        trace = trace.tb_next


def _check_records(mdf: Any, path: Path) -> None:
    """Every channel inside its record, every data block inside the file: the library's compiled part does
    not check."""
    size = path.stat().st_size
    for g, group in enumerate(mdf.groups):
        where = f"{path.name}, channel group {g}"
        record = group.channel_group.samples_byte_nr + group.channel_group.invalidation_bytes_nr
        for channel in group.channels:
            end = channel.byte_offset + (channel.bit_offset + channel.bit_count + 7) // 8
            if channel.bit_offset > 7 or (channel.channel_type not in VIRTUAL and end > record):
                raise LogError(
                    "damaged MDF file: a channel lies outside its record",
                    where=where,
                    got=channel.name[:40],
                    next_step=AGAIN,
                )
        blocks = list(group.get_data_blocks())
        if any(block.address + block.compressed_size > size for block in blocks):
            raise LogError("MDF file is cut short", where=where, got=f"{size} bytes", next_step=AGAIN)
        held = sum(block.original_size for block in blocks)
        if group.sorted and group.channel_group.cycles_nr * record > held:
            raise LogError("MDF file holds fewer samples than it says", where=where, next_step=AGAIN)


RawChannel = tuple[str, str, Floats, Floats, str]


def _mdf_channels(mdf: Any, path: Path, dbc: Path | None) -> tuple[list[RawChannel], list[LogFinding]]:
    total = sum(len(group.channels) for group in mdf.groups)
    bound(path.name, 1, total)
    out: list[RawChannel] = []
    findings: list[LogFinding] = []
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
                    LogFinding("note", "channel is not a series of numbers, left out", path.name, signal.name)
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


def _unique(name: str, seen: dict[str, int], findings: list[LogFinding]) -> str:
    seen[name] = seen.get(name, 0) + 1
    if seen[name] == 1:
        return name
    findings.append(
        LogFinding("warning", "channel name given twice", got=f"{name!r} again, called #{seen[name]}")
    )
    return f"{name} #{seen[name]}"


def _frames(mdf: Any, g: int, path: Path, dbc: Path | None, findings: list[LogFinding]) -> list[RawChannel]:
    from heatproof.logs.reading.can_frames import decode_frames

    if dbc is None:
        findings.append(
            LogFinding("warning", "bus frames not decoded", path.name, next_step="give the DBC file")
        )
        return []
    ident = mdf.get("CAN_DataFrame.ID", group=g)
    data = mdf.get("CAN_DataFrame.DataBytes", group=g).samples
    length = mdf.get("CAN_DataFrame.DataLength", group=g).samples
    times = ident.timestamps.astype(np.float64)
    return decode_frames(times, ident.samples.astype(np.int64), data, length, dbc=dbc, findings=findings)
