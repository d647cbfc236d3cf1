"""Steady windows: where the drivers hold still and the slow temperatures no longer drift."""

from dataclasses import dataclass

import numpy as np

from heatproof.logs.cleaning.autocorrelation import effective_size
from heatproof.logs.reading.records import Channel, Floats, Log, LogError
from heatproof.logs.reducing.events import RPM, Event, EventSettings, figures_of
from heatproof.logs.reducing.spells import close_gaps


@dataclass(frozen=True)
class SteadySettings:
    """A drift rule of 1 K/min (common practice, no source), driver spread, and window length.

    `driver_sd`: greatest standard deviation of each driver inside the window, SI.
    """

    window_s: float = 60.0
    every_s: float = 10.0
    slow: tuple[str, ...] = ("coolant_temperature",)
    slope_K_per_min: float = 1.0
    driver_sd: tuple[tuple[str, float], ...] = (("vehicle_speed", 5 / 3.6),)
    time_constant_s: float = 0.0
    """If given, a window also needs three time constants of steady drivers behind its start."""


@dataclass(frozen=True)
class SteadyWindow:
    """One window. `proved`: the drift stays below the rule even with two standard deviations of its slope,
    counted with the autocorrelation of the residuals."""

    start_s: float
    end_s: float
    steady: bool
    proved: bool
    slope_K_per_min: dict[str, float]
    slope_sd_K_per_min: dict[str, float]
    driver_sd: dict[str, float]
    why_not: str


def steady_windows(log: Log, settings: SteadySettings | None = None) -> tuple[SteadyWindow, ...]:
    """All windows of the log, steady or not, each with its figures. Needs at least one slow channel."""
    settings = settings or SteadySettings()
    slow = {q: c for q in settings.slow if (c := log.find(q)) is not None}
    if not slow:
        raise LogError(
            "no slow temperature to judge",
            where=log.path,
            allowed=", ".join(settings.slow),
            next_step="name one in SteadySettings(slow=…)",
        )
    t0, t1 = log.span_s
    grid = np.arange(t0, t1, 1.0)
    series = {q: c.at(grid) for q, c in slow.items()}
    drivers = {q: c.at(grid) for q, _ in settings.driver_sd if (c := log.find(q)) is not None}
    limits = dict(settings.driver_sd)
    out = []
    for start in np.arange(t0, t1 - settings.window_s + 1e-9, settings.every_s):
        inside = (grid >= start) & (grid < start + settings.window_s)
        before = (grid >= start - 3 * settings.time_constant_s) & (grid < start + settings.window_s)
        spread = {q: max(_sd(x[inside]), _sd(x[before])) for q, x in drivers.items()}
        slopes = {q: slope_with_sd(grid[inside], x[inside]) for q, x in series.items()}
        early = bool(start - 3 * settings.time_constant_s < t0 - 1e-9)
        out.append(_window(start, settings, slopes, spread, limits, early))
    return tuple(out)


def steady_stretches(log: Log, settings: SteadySettings | None = None) -> tuple[Event, ...]:
    """Steady windows with the engine running, neighbours as one event; none where no slow temperature was measured."""
    settings = settings or SteadySettings()
    if not any(log.has(quantity) for quantity in settings.slow):
        return ()
    engine = log.find("engine_speed")
    found = [
        (window.start_s, window.end_s)
        for window in steady_windows(log, settings)
        if window.steady and runs(engine, window.start_s, window.end_s)
    ]
    table = close_gaps(np.array(found).reshape(-1, 2), settings.every_s)
    return tuple(Event("steady", float(a), float(b), figures_of(log, a, b)) for a, b in table)


def runs(engine: Channel | None, start_s: float, end_s: float) -> bool:
    """Whether the engine runs all through a span; taken for granted where its speed was not measured."""
    if engine is None:
        return True
    speed = engine.at(np.arange(start_s, end_s, 1.0))
    return bool((speed[np.isfinite(speed)] > EventSettings.running_above_rpm * RPM).all())


def _window(
    start: float,
    settings: SteadySettings,
    slopes: dict[str, tuple[float, float]],
    spread: dict[str, float],
    limits: dict[str, float],
    early: bool,
) -> SteadyWindow:
    per_min = {q: s * 60 for q, (s, _) in slopes.items()}
    sd = {q: s * 60 for q, (_, s) in slopes.items()}
    rule = settings.slope_K_per_min
    why = [f"{q} drifts {v:+.1f} K/min" for q, v in per_min.items() if not abs(v) < rule]
    why += [f"{q} moves too much" for q, v in spread.items() if not v < limits[q]]
    why += ["less than three time constants behind it"] if early else []
    proved = not why and all(abs(per_min[q]) + 2 * sd[q] < rule for q in per_min)
    return SteadyWindow(
        float(start), float(start + settings.window_s), not why, proved, per_min, sd, spread, "; ".join(why)
    )


def _sd(values: Floats) -> float:
    good = values[np.isfinite(values)]
    return float(np.std(good)) if good.size > 1 else float("nan")


def slope_with_sd(time_s: Floats, values: Floats) -> tuple[float, float]:
    """Least-squares slope (unit/s) and its standard deviation for AR(1) residuals; nan with too few
    samples."""
    ok = np.isfinite(values)
    t, x = time_s[ok], values[ok]
    if t.size < 5 or t.size < 0.5 * values.size:
        return float("nan"), float("nan")
    t = t - t.mean()
    slope = float(t @ (x - x.mean()) / (t @ t))
    rest = x - x.mean() - slope * t
    size = effective_size(rest)
    variance = float(rest @ rest) / max(t.size - 2, 1)
    return slope, float(np.sqrt(variance / (t @ t) * t.size / size))
