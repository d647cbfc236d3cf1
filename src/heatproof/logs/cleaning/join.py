"""The files of one test run, read, cleaned and put on one clock."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from heatproof.logs.cleaning.align import Alignment, align_logs, shift_log
from heatproof.logs.cleaning.clean import NO_ENGINE_SPEED, CleanLog, clean, gate_joined
from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import Channel, Dropped, Log, LogFinding


@dataclass(frozen=True, eq=False)
class Joined:
    """One run. `raw`: the logs as read; `clocks`: of each further file against the first."""

    log: Log
    raw: tuple[Log, ...]
    dropped: tuple[Dropped, ...]
    findings: tuple[LogFinding, ...]
    clocks: tuple[Alignment, ...] = ()


def join_files(
    paths: Sequence[Path],
    maps: Mapping[Path, ChannelMap] | None = None,
    *,
    rate_Hz: float | None = None,
    dbc: Path | None = None,
) -> Joined:
    """Reads, cleans and aligns; every further file is put on the clock of the first. LogError."""
    told = maps or {}
    raw = tuple(read_log(p, told.get(p), rate_Hz=rate_Hz, dbc=dbc) for p in paths)
    return join(raw)


def join(raw: Sequence[Log]) -> Joined:
    """The same for logs that are read already."""
    cleaned = [clean(log) for log in raw]
    first = cleaned[0]
    clocks = [align_logs(first.log, other.log) for other in cleaned[1:]]
    moved = [shift_log(one.log, clock) for one, clock in zip(cleaned[1:], clocks, strict=True)]
    channels = list(first.log.channels)
    for log in moved:
        channels += log.channels
    joined, gated = gate_joined(first.log.with_channels(unique(channels)))
    findings = [f for one in cleaned for f in shown_findings(one, len(cleaned))]
    if joined.has("engine_speed"):
        findings = [f for f in findings if f.what != NO_ENGINE_SPEED]
    return Joined(
        log=joined,
        raw=tuple(raw),
        dropped=(*(d for one in cleaned for d in one.dropped), *gated),
        findings=(*findings, *map(told, clocks)),
        clocks=tuple(clocks),
    )


def unique(channels: Sequence[Channel]) -> tuple[Channel, ...]:
    """Channels with a number behind a column name that stands twice."""
    seen: dict[str, int] = {}
    out = []
    for channel in channels:
        n = seen[channel.column] = seen.get(channel.column, 0) + 1
        out.append(channel if n == 1 else replace(channel, column=f"{channel.column} ({n})"))
    return tuple(out)


def shown_findings(one: CleanLog, files: int) -> list[LogFinding]:
    """Findings of cleaning, with the file named where there are several."""
    if files == 1:
        return list(one.findings)
    name = Path(one.log.path).name
    return [f if f.where else replace(f, where=name) for f in one.findings]


def told(clock: Alignment) -> LogFinding:
    """What was found of a second clock."""
    text = (
        f"second logger's clock: offset {clock.offset_s:+.2f} s, drift {clock.drift * 1e6:+.0f} ppm, "
        f"from {clock.quantity.replace('_', ' ')} (match {clock.match:.2f})"
    )
    return LogFinding("note", text)
