"""Events of a run with their figures: pulls, idles, engine stops, key-off soaks."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.records import Channel, Floats, Log
from heatproof.logs.reducing.spells import close_gaps, long_enough, spells

RPM = 1 / 60
GRID_S = 0.5


@dataclass(frozen=True)
class Event:
    """One event. `figures`: value in SI by name, for example `intake_temperature rise [K]`."""

    kind: str
    start_s: float
    end_s: float
    figures: dict[str, float] = field(default_factory=dict)

    @property
    def length_s(self) -> float:
        """Duration, s."""
        return self.end_s - self.start_s


@dataclass(frozen=True)
class EventSettings:
    """Thresholds, SI. Pulls count manifold pressure above `pull_Pa`, on a half-second grid, gaps closed."""

    pull_Pa: float = 180e3
    pull_gauge_Pa: float = 80e3
    pull_pedal: float = 0.8
    pull_close_s: float = 2.0
    pull_least_s: float = 0.0
    idle_least_s: float = 10.0
    soak_least_s: float = 180.0
    running_above_rpm: float = 300.0
    still_below: float = 1 / 3.6


def find_events(log: Log, settings: EventSettings | None = None) -> tuple[Event, ...]:
    """All events in order of time. Use a cleaned log: copies and rubbish falsify the figures."""
    settings = settings or EventSettings()
    found = [*pulls(log, settings), *idles(log, settings), *stops(log, settings)]
    return tuple(sorted(found, key=lambda event: (event.start_s, event.kind)))


def pulls(log: Log, settings: EventSettings | None = None) -> tuple[Event, ...]:
    """Spells of boost; by pedal when no manifold pressure was measured; none when neither was."""
    settings = settings or EventSettings()
    for quantity, above in (
        ("manifold_pressure", settings.pull_Pa),
        ("boost_pressure", settings.pull_gauge_Pa),
        ("pedal", settings.pull_pedal),
        ("throttle", settings.pull_pedal),
    ):
        channel = log.find(quantity)
        if channel is not None and channel.measured.any():
            grid, values = _on_grid(channel)
            table = spells(
                grid,
                values,
                above=np.nextafter(above, -np.inf),
                close_s=settings.pull_close_s,
                least_s=settings.pull_least_s,
            )
            return tuple(Event("pull", float(a), float(b), figures_of(log, a, b)) for a, b in table)
    return ()


def idles(log: Log, settings: EventSettings | None = None) -> tuple[Event, ...]:
    """Engine running, car standing."""
    settings = settings or EventSettings()
    speed, engine = log.find("vehicle_speed") or log.find("gps_speed"), log.find("engine_speed")
    if speed is None or engine is None:
        return ()
    grid, v = _on_grid(speed)
    n = engine.at(grid)
    both = np.where(
        np.isfinite(v) & np.isfinite(n),
        (v < settings.still_below) & (n > settings.running_above_rpm * RPM),
        0.0,
    )
    table = long_enough(close_gaps(spells(grid, both, above=0.5), GRID_S), settings.idle_least_s)
    return tuple(Event("idle", float(a), float(b), figures_of(log, a, b)) for a, b in table)


def stops(log: Log, settings: EventSettings | None = None) -> tuple[Event, ...]:
    """Engine at rest: `stop` (start-stop, stall) or, from `soak_least_s` on, `soak` after key-off.

    Rest before the first start is `before start`, and has no key-off.
    """
    settings = settings or EventSettings()
    engine = log.find("engine_speed")
    if engine is None or not engine.measured.any():
        return ()
    t, n = engine.time_s[engine.measured], engine.values[engine.measured]
    rest = spells(t, np.where(n < settings.running_above_rpm * RPM, 1.0, 0.0), above=0.5)
    out = []
    for a, b in rest:
        end = log.span_s[1] if b >= t[-1] else float(b)
        kind = "before start" if a <= t[0] else "soak" if end - a >= settings.soak_least_s else "stop"
        out.append(Event(kind, float(a), end, _rest_figures(log, float(a), end)))
    return tuple(e for e in out if e.length_s > 0)


def figures_of(log: Log, start_s: float, end_s: float) -> dict[str, float]:
    """Peak, rise and time of peak of each temperature; mean and peak of the drivers. SI."""
    out = {"length [s]": float(end_s - start_s)}
    for channel in log.channels:
        t, x = _inside(channel, start_s, end_s)
        if channel.quantity == "unknown" or x.size < 2:
            continue
        key = _key(channel, log)
        if channel.si_unit == "K":
            peak = int(np.argmax(x))
            out[f"{key} peak [K]"] = float(x[peak])
            out[f"{key} rise [K]"] = float(x[-1] - x[0])
            out[f"{key} peak after [s]"] = float(t[peak] - start_s)
        elif channel.quantity in {
            "manifold_pressure",
            "boost_pressure",
            "engine_speed",
            "vehicle_speed",
            "air_flow",
        }:
            out[f"{key} mean [{channel.si_unit}]"] = float(np.mean(x))
            out[f"{key} peak [{channel.si_unit}]"] = float(np.max(x))
    return out


def _rest_figures(log: Log, start_s: float, end_s: float) -> dict[str, float]:
    """Figures of a rest, with the rise from the last value before it to the peak."""
    out = figures_of(log, start_s, end_s)
    for channel in log.channels:
        key = f"{_key(channel, log)} peak [K]"
        before = channel.measured & (channel.time_s <= start_s)
        if key in out and before.any():
            out[f"{_key(channel, log)} soak rise [K]"] = out[key] - float(channel.values[before][-1])
    return out


def _key(channel: Channel, log: Log) -> str:
    """Quantity, with the column behind it when the log holds several of the kind."""
    many = sum(c.quantity == channel.quantity for c in log.channels) > 1
    return f"{channel.quantity} ({channel.column})" if many else channel.quantity


def _inside(channel: Channel, start_s: float, end_s: float) -> tuple[Floats, Floats]:
    """Samples inside, and the interpolated ends."""
    pick = channel.measured & (channel.time_s >= start_s) & (channel.time_s <= end_s)
    t = np.r_[start_s, channel.time_s[pick], end_s]
    x = np.r_[channel.at(np.array([start_s])), channel.values[pick], channel.at(np.array([end_s]))]
    ok = np.isfinite(x)
    return t[ok], x[ok]


def _on_grid(channel: Channel) -> tuple[NDArray[np.float64], Floats]:
    """Linear on an even grid that starts at the run's zero; NaN over holes longer than 10 s."""
    ok = channel.measured
    t, x = channel.time_s[ok], channel.values[ok]
    grid = np.arange(np.floor(t[0]), t[-1] + 1e-9, GRID_S)
    values = np.interp(grid, t, x)
    after = np.clip(np.searchsorted(t, grid), 1, max(t.size - 1, 1))
    if t.size > 1:
        values[(t[after] - t[after - 1]) > max(10.0, 20 / max(channel.rate_Hz, 1e-3))] = np.nan
    return grid, values
