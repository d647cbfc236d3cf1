"""Text logs: sniffed, read, named."""

import numpy as np

from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.label import make_channel
from heatproof.logs.reading.long_form import long_channels, long_columns
from heatproof.logs.reading.records import Channel, Log, LogError, LogFinding
from heatproof.logs.reading.sniff import sniff
from heatproof.logs.reading.table import Rows, read_rows
from heatproof.logs.reading.text_bytes import TextBytes
from heatproof.logs.reading.wide_form import Raw, wide_channels


def read_text_log(text: TextBytes, *, path: str, name: str, channel_map: ChannelMap) -> Log:
    """A text log as `Log`; LogError when it cannot be one."""
    layout, findings = sniff(text, where=name)
    rows = read_rows(text, layout, name)
    long = long_columns(rows)
    if long:
        raw, axis = long_channels(rows, long, text)
    else:
        raw, axis = wide_channels(rows, channel_map)
    channels, notes = _label(raw, channel_map)
    if not any(c.measured.any() for c in channels):
        raise LogError(
            "no column holds numbers", where=name, next_step="open the file in an editor; export it again"
        )
    notes += _empty_start(rows, channels)
    drops = [LogFinding("warning", f"{d.count} of {d.of} rows dropped", name, d.why) for d in axis.dropped]
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


def _empty_start(rows: Rows, channels: list[Channel]) -> list[LogFinding]:
    """First rows in which some channels were not yet measured."""
    late = [
        int(np.argmax(c.measured))
        for c in channels
        if c.values.size == channels[0].values.size and c.measured.any()
    ]
    most = max(late, default=0)
    return [LogFinding("note", f"first {most} rows are partly empty", rows.where)] if most else []


def _label(raw: list[Raw], channel_map: ChannelMap) -> tuple[list[Channel], list[LogFinding]]:
    channels, findings = [], []
    for column, unit, time_s, values in raw:
        if channel_map.row(column).ignore:
            findings.append(LogFinding("note", "left out, as the channel map says", column))
            continue
        channel, notes = make_channel(column, unit, time_s, values, source=column, channel_map=channel_map)
        channels.append(channel)
        findings += notes
        if not np.isfinite(values).any():
            findings.append(LogFinding("warning", "column without a single number", column))
    return channels, findings
