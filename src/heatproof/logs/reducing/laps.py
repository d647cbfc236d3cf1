"""Laps: crossings of a start line from satellite positions, or the period of the speed over distance."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.signal import correlate, find_peaks

from heatproof.logs.reading.records import Floats, Log, LogError
from heatproof.logs.reducing.events import Event, figures_of

EARTH_M = 6_371_008.8
STEP_M = 5.0


@dataclass(frozen=True)
class StartLine:
    """Centre (degrees), half width (m) and driving direction (degrees from north, clockwise)."""

    latitude_deg: float
    longitude_deg: float
    heading_deg: float
    half_width_m: float = 15.0


def laps(log: Log, start_line: StartLine | None = None, *, least_s: float = 20.0) -> tuple[Event, ...]:
    """Laps by satellite position if there is one (line chosen where the car is fastest unless given), else
    by speed."""
    if log.has("gps_latitude") and log.has("gps_longitude"):
        return laps_by_position(log, start_line, least_s=least_s)
    return laps_by_speed(log, least_s=least_s)


def laps_by_position(
    log: Log, start_line: StartLine | None = None, *, least_s: float = 20.0
) -> tuple[Event, ...]:
    """Crossings of the line in its direction, interpolated in time between positions."""
    t, north, east, origin = _track(log)
    if t.size < 10:
        return ()
    n0, e0, heading, half = _line(start_line, origin, t, north, east)
    along = (north - n0) * np.cos(heading) + (east - e0) * np.sin(heading)
    across = -(north - n0) * np.sin(heading) + (east - e0) * np.cos(heading)
    step = np.flatnonzero((along[:-1] < 0) & (along[1:] >= 0))
    part = -along[step] / (along[step + 1] - along[step])
    side = across[step] + part * (across[step + 1] - across[step])
    times = (t[step] + part * (t[step + 1] - t[step]))[np.abs(side) <= half]
    return _events(log, _apart(times, least_s))


def laps_by_speed(log: Log, *, least_s: float = 20.0, least_match: float = 0.6) -> tuple[Event, ...]:
    """Laps from the period of speed over distance; none if no period stands out.

    The start is the first place at which a whole period follows, so lap starts are arbitrary, lap times
    are not.
    """
    speed = log.find("vehicle_speed") or log.find("gps_speed")
    if speed is None:
        raise LogError("laps need speed or position", where=log.path, next_step="log vehicle speed")
    ok = speed.measured
    t, v = speed.time_s[ok], np.maximum(speed.values[ok], 0.0)
    way = np.r_[0.0, np.cumsum(0.5 * (v[1:] + v[:-1]) * np.diff(t))]
    if way[-1] < 40 * STEP_M:
        return ()
    grid = np.arange(0, way[-1], STEP_M)
    period = _period(np.interp(grid, way, v), least_match)
    if not period:
        return ()
    first = float(grid[np.argmax(np.interp(grid, way, v) > 0.5 * v.max())])
    marks = np.arange(first, way[-1], period)
    rising = np.r_[True, np.diff(way) > 0]
    return _events(log, _apart(np.interp(marks, way[rising], t[rising]), least_s))


def _period(v: Floats, least_match: float) -> float:
    """Distance after which speed repeats, m; 0 if it does not."""
    x = v - v.mean()
    n = x.size
    match = correlate(x, x, method="fft")[n - 1 :]
    count = np.arange(n, 0, -1)
    match = match / count / max(match[0] / n, 1e-12)
    match = match[: n // 2 + 1]
    start = int(200 / STEP_M)
    peaks, _ = find_peaks(match[start:], height=least_match)
    if not peaks.size:
        return 0.0
    heights = match[start:][peaks]
    best = peaks[np.flatnonzero(heights >= 0.9 * heights.max())[0]] + start
    return float(_refined(match, int(best)) * STEP_M)


def _refined(y: Floats, k: int) -> float:
    if not 0 < k < y.size - 1:
        return float(k)
    bend = y[k - 1] - 2 * y[k] + y[k + 1]
    return k + (0.5 * (y[k - 1] - y[k + 1]) / bend if bend < 0 else 0.0)


def _track(log: Log) -> tuple[Floats, Floats, Floats, tuple[float, float]]:
    lat, lon = log.need("gps_latitude"), log.need("gps_longitude")
    t = lat.time_s[lat.measured]
    phi, lam = lat.values[lat.measured], lon.at(t)
    ok = np.isfinite(lam) & ((np.abs(phi) > 1e-9) | (np.abs(lam) > 1e-9))
    t, phi, lam = t[ok], phi[ok], lam[ok]
    if not t.size:
        return t, phi, lam, (0.0, 0.0)
    origin = float(np.median(phi)), float(np.median(lam))
    return t, EARTH_M * (phi - origin[0]), EARTH_M * np.cos(origin[0]) * (lam - origin[1]), origin


def _line(
    line: StartLine | None, origin: tuple[float, float], t: Floats, north: Floats, east: Floats
) -> tuple[float, float, float, float]:
    if line is not None:
        n0 = EARTH_M * (np.radians(line.latitude_deg) - origin[0])
        e0 = EARTH_M * np.cos(origin[0]) * (np.radians(line.longitude_deg) - origin[1])
        return float(n0), float(e0), float(np.radians(line.heading_deg)), line.half_width_m
    speed = np.hypot(np.gradient(north, t), np.gradient(east, t))
    k = int(np.argmax(np.convolve(speed, np.ones(5) / 5, mode="same")[2:-2])) + 2
    heading = np.arctan2(east[k + 1] - east[k - 1], north[k + 1] - north[k - 1])
    return float(north[k]), float(east[k]), float(heading), 25.0


def _apart(times: Floats, least_s: float) -> Floats:
    kept: list[float] = []
    for time in times:
        if not kept or time - kept[-1] >= least_s:
            kept.append(float(time))
    return np.array(kept)


def _events(log: Log, times: Floats) -> tuple[Event, ...]:
    pairs = pairwise(times)
    return tuple(Event("lap", float(a), float(b), figures_of(log, a, b)) for a, b in pairs)
