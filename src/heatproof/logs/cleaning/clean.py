"""Cleaning in the right order: range, open and stuck sensors, state gates, staircase, spikes.

Plausibility by operating state comes before statistics: a burst of rubbish while the engine stands is no
spike.
Values taken out become NaN (or, for copies, leave their row); each step reports what, how much, why.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.ndimage import median_filter

from heatproof.logs.cleaning.staircase import undo_staircase
from heatproof.logs.reading.quantities import QUANTITIES
from heatproof.logs.reading.records import Channel, Dropped, Flags, Floats, Log, LogFinding

RPM = 1 / 60
NO_VALUE_K = 233.15
MAD_TO_SD = 1.4826
# Meaningless with the engine stopped when they come from the engine's own sensor in the air stream.
GATED = ("intake_temperature", "air_flow")
MUST_MOVE = ("engine_speed", "manifold_pressure", "boost_pressure", "air_flow", "exhaust_temperature")
DRIVERS = ("engine_speed", "manifold_pressure", "air_flow")
NO_ENGINE_SPEED = "no engine speed: values at engine stop cannot be gated"
# Faster than a spike filter may assume: least step that counts as a spike, K.
FAST_FLOOR_K = {"exhaust_temperature": 60.0, "catalyst_temperature": 60.0, "charge_in_temperature": 15.0}


Test = tuple[str, str, Callable[[Channel], Flags]]
"""A cleaning step: its name, why, and which samples of a channel it takes."""


@dataclass(frozen=True)
class CleanSettings:
    """Figures of the cleaning steps; gate and spike window were chosen on an open set of 77 trips
    (DOI 10.35097/1130)."""

    stopped_below_rpm: float = 400.0
    """No engine idles as slowly: below it one spins down, stalls or stands; common practice, no source."""
    spin_down_s: float = 2.0
    """Before the first slow reading: engine speed comes about once a second, and the stop is told late."""
    gate_after_s: float = 20.0
    stuck_s: float = 60.0
    spike_window_s: float = 61.0
    spike_threshold: float = 4.0
    spike_floor_K: float = 3.0
    spike_longest_s: float = 1.0
    open_gap_K: float = 200.0
    below_ambient_K: float = 5.0


@dataclass(frozen=True, eq=False)
class CleanLog:
    """The cleaned log, everything that was dropped, and what was noticed."""

    log: Log
    dropped: tuple[Dropped, ...]
    findings: tuple[LogFinding, ...]

    def dropped_of(self, column: str, *, copies: bool = False) -> int:
        """Samples dropped from a column; copies of a staircase only if asked for."""
        return sum(d.count for d in self.dropped if d.column == column and (copies or d.step != "staircase"))


def clean(log: Log, settings: CleanSettings | None = None) -> CleanLog:
    """All steps, in order. The log passed in is left as it is."""
    settings = settings or CleanSettings()
    stopped = engine_stopped(log, settings)
    dropped: list[Dropped] = []
    findings = [*_cold_junction(log.channels)]
    channels = log.channels
    per_channel: list[Test] = [
        ("range", "outside what such a sensor can report", out_of_range),
        ("range", "reads −40 °C, the code for no value", no_value_code),
        ("open circuit", "full scale, far from all other values", lambda c: open_circuit(c, settings)),
        ("stuck", "does not move while the duty changes", lambda c: stuck(c, log, settings)),
        *state_gates(log, stopped, settings),
    ]
    for step, why, test in per_channel:
        channels = tuple(_drop(c, test(c), step, why, dropped) for c in channels)
    channels, copies = undo_staircase(channels)
    dropped += copies
    why = f"off the median of {settings.spike_window_s:g} s "
    why += f"by more than {settings.spike_threshold:g} deviations"
    channels = tuple(_drop(c, spikes(c, settings), "spike", why, dropped) for c in channels)
    if stopped is None:
        findings.append(LogFinding("warning", NO_ENGINE_SPEED, log.path))
    findings += _emptied(channels)
    return CleanLog(log.with_channels(channels), tuple(dropped), tuple(findings))


def state_gates(log: Log, stopped: tuple[Floats, Floats] | None, settings: CleanSettings) -> list[Test]:
    """The tests by operating state, with what else the log holds."""
    why = f"engine stopped, and {settings.gate_after_s:g} s after"
    return [
        ("state gate", why, lambda c: gated(c, stopped, settings)),
        ("state gate", "intake air colder than ambient", lambda c: colder_than_ambient(c, log, settings)),
    ]


def gate_joined(log: Log, settings: CleanSettings | None = None) -> tuple[Log, tuple[Dropped, ...]]:
    """The state gates once more over a run of several files: the engine speed may stand in another file than the
    channel that it makes meaningless."""
    settings = settings or CleanSettings()
    stopped = engine_stopped(log, settings)
    dropped: list[Dropped] = []
    channels = log.channels
    for step, why, test in state_gates(log, stopped, settings):
        channels = tuple(_drop(c, test(c), step, why, dropped) for c in channels)
    return log.with_channels(channels), tuple(dropped)


def engine_stopped(log: Log, settings: CleanSettings) -> tuple[Floats, Floats] | None:
    """Starts and ends (s) of the spells with the engine stopped, stalls however short among them, each with its
    spin-down before and the time after; None if engine speed was not measured."""
    speed = log.find("engine_speed")
    if speed is None or not speed.measured.any():
        return None
    ok = speed.measured
    t, stands = speed.time_s[ok], speed.values[ok] < settings.stopped_below_rpm * RPM
    edges = np.diff(np.r_[0, stands.astype(int), 0])
    first, last = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    starts = np.where(first == 0, -np.inf, t[first] - settings.spin_down_s)
    ends = np.where(last == t.size, np.inf, t[np.minimum(last, t.size - 1)] + settings.gate_after_s)
    return starts, ends


def out_of_range(channel: Channel) -> Flags:
    """Outside the physical limits of the quantity."""
    row = QUANTITIES.get(channel.quantity)
    if row is None or channel.si_unit != row.unit.si_unit:
        return np.zeros(channel.values.shape, bool)
    low, high = row.limits_si
    with np.errstate(invalid="ignore"):
        return np.asarray((channel.values < low) | (channel.values > high))


def no_value_code(channel: Channel) -> Flags:
    """Exactly −40 °C (a raw byte of zero, SAE J1979) in a channel that is otherwise far from it."""
    if channel.si_unit != "K" or not channel.measured.any():
        return np.zeros(channel.values.shape, bool)
    if np.nanmedian(channel.values) < NO_VALUE_K + 20:
        return np.zeros(channel.values.shape, bool)
    return np.asarray(np.abs(channel.values - NO_VALUE_K) < 1e-6)


def open_circuit(channel: Channel, settings: CleanSettings) -> Flags:
    """Repeated full scale, high or low, with a wide gap to every other value of a temperature channel."""
    flags = np.zeros(channel.values.shape, bool)
    if channel.si_unit != "K":
        return flags
    for sign in (1.0, -1.0):
        signed = sign * np.where(channel.measured & ~flags, channel.values, np.nan)
        if not np.isfinite(signed).any():
            break
        top = np.nanmax(signed)
        at = signed >= top - 0.5
        rest = signed[np.isfinite(signed) & ~at]
        if at.sum() >= 3 and rest.size and top - rest.max() > settings.open_gap_K:
            flags |= at
    return flags


def stuck(channel: Channel, log: Log, settings: CleanSettings) -> Flags:
    """One value for longer than `stuck_s` while another driver moves by a fifth of its range."""
    flags = np.zeros(channel.values.shape, bool)
    if channel.quantity not in MUST_MOVE:
        return flags
    rows = np.flatnonzero(channel.measured)
    if rows.size < 3:
        return flags
    kept = channel.values[rows]
    starts = np.flatnonzero(np.r_[True, kept[1:] != kept[:-1]])
    ends = np.r_[starts[1:], rows.size]
    for a, b in zip(starts, ends, strict=True):
        t0, t1 = channel.time_s[rows[a]], channel.time_s[rows[b - 1]]
        if t1 - t0 > settings.stuck_s and kept[a] != 0.0 and _duty_moves(channel, log, t0, t1):
            flags[rows[a:b]] = True
    return flags


def _duty_moves(channel: Channel, log: Log, t0: float, t1: float) -> bool:
    for other in log.channels:
        if other.quantity not in DRIVERS or other.quantity == channel.quantity or not other.measured.any():
            continue
        inside = other.values[(other.time_s >= t0) & (other.time_s <= t1) & other.measured]
        span = np.nanmax(other.values) - np.nanmin(other.values)
        if inside.size and span > 0 and np.ptp(inside) > 0.2 * span:
            return True
    return False


def gated(channel: Channel, stopped: tuple[Floats, Floats] | None, settings: CleanSettings) -> Flags:
    """Inside a spell with the engine stopped. A channel with a sensor of its own (channel map: `sensor`) stays.

    The time after the start is for sensors that warmed in still air; a flow is right at once (a launch may follow
    a restart within seconds).
    """
    inside = np.zeros(channel.values.shape, bool)
    if stopped is None or channel.quantity not in GATED or channel.sensor:
        return inside
    starts, ends = stopped
    after = settings.gate_after_s if channel.quantity == "air_flow" else 0.0
    for start, end in zip(starts, ends, strict=True):
        inside |= (channel.time_s >= start) & (channel.time_s < end - after)
    return inside & channel.measured


def colder_than_ambient(channel: Channel, log: Log, settings: CleanSettings) -> Flags:
    """Intake air more than `below_ambient_K` below ambient: a sensor that recovers, or a lift-off
    expansion."""
    ambient = log.find("ambient_temperature")
    if channel.quantity != "intake_temperature" or ambient is None:
        return np.zeros(channel.values.shape, bool)
    with np.errstate(invalid="ignore"):
        return np.asarray(channel.values < ambient.at(channel.time_s) - settings.below_ambient_K)


def spikes(channel: Channel, settings: CleanSettings) -> Flags:
    """Hampel test of temperature channels; never of quantities whose steps are real.

    |x − median| > max(threshold · 1.4826 · MAD, floor), over a centred window. Hampel, J. Am. Stat. Assoc. 69
    (1974) 383.
    """
    flags = np.zeros(channel.values.shape, bool)
    row = QUANTITIES.get(channel.quantity)
    if channel.si_unit != "K" or (row is not None and row.steps):
        return flags
    rows = np.flatnonzero(channel.measured)
    width = int(settings.spike_window_s * channel.rate_Hz) | 1
    if rows.size < 5 or width < 5:
        return flags
    width = min(width, rows.size - 1 + rows.size % 2)
    floor = FAST_FLOOR_K.get(channel.quantity, settings.spike_floor_K)
    x = channel.values[rows]
    odd = hampel(x, width=width, threshold=settings.spike_threshold, floor=floor)
    flags[rows] = sudden(x, odd, most=max(3, round(settings.spike_longest_s * channel.rate_Hz)))
    return flags


def hampel(values: Floats, *, width: int, threshold: float, floor: float) -> Flags:
    """True where a value is a spike; values (n,) without NaN, width odd, floor in the unit of the values."""
    middle = median_filter(values, size=width, mode="nearest")
    off = np.abs(values - middle)
    spread = MAD_TO_SD * median_filter(off, size=width, mode="nearest")
    return np.asarray(off > np.maximum(threshold * spread, floor))


def sudden(values: Floats, odd: Flags, *, most: int) -> Flags:
    """Of the odd samples, the bursts of at most `most` that begin and end with a jump.

    A pull is odd against its window too, but a real sensor climbs and falls: its flanks are no
    jumps. A jump is
    at least half of what the burst stands out from the samples beside it.
    """
    edges = np.diff(np.r_[0, odd.astype(int), 0])
    out = np.zeros(odd.shape, bool)
    for a, b in zip(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist(), strict=True):
        if b - a > most:
            continue
        before, after = values[max(a - 1, 0)], values[min(b, values.size - 1)]
        height = np.max(np.abs(values[a:b] - 0.5 * (before + after)))
        enters = a == 0 or abs(values[a] - before) >= 0.5 * height
        leaves = b == values.size or abs(values[b - 1] - after) >= 0.5 * height
        out[a:b] = enters and leaves
    return out


def _drop(channel: Channel, flags: Flags, step: str, why: str, dropped: list[Dropped]) -> Channel:
    flags = flags & channel.measured
    count = int(flags.sum())
    if not count:
        return channel
    first = float(channel.time_s[int(np.argmax(flags))])
    dropped.append(Dropped(channel.column, step, count, int(channel.measured.sum()), why, first))
    return replace(channel, values=np.where(flags, np.nan, channel.values))


def _cold_junction(channels: tuple[Channel, ...]) -> list[LogFinding]:
    """One equal jump on all thermocouples of a logger at once: its cold junction, not the parts."""
    groups: dict[int, list[Channel]] = {}
    for channel in channels:
        if channel.si_unit == "K" and channel.values.size > 2:
            groups.setdefault(channel.values.size, []).append(channel)
    out = []
    for group in groups.values():
        if len(group) < 3:
            continue
        steps = np.diff(np.array([c.values for c in group]), axis=1)
        middle, spread = np.median(steps, axis=0), np.ptp(steps, axis=0)
        for row in np.flatnonzero((np.abs(middle) > 2.0) & (spread < 0.5))[:3]:
            out.append(
                LogFinding(
                    "warning",
                    "all temperatures jump at once: cold junction of the logger?",
                    f"{group[0].time_s[row + 1]:.1f} s",
                    f"{middle[row]:+.1f} K",
                )
            )
    return out


def _emptied(channels: tuple[Channel, ...]) -> list[LogFinding]:
    return [
        LogFinding("warning", "nothing left after cleaning", c.column)
        for c in channels
        if not c.measured.any()
    ]
