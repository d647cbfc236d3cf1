"""Two loggers on one clock: offset and drift from a signal that both recorded.

Method: smoothed derivatives of the shared signal on a common grid, FFT cross-correlation in windows with a
parabolic peak, and a robust straight line (Theil–Sen) through the lags of the windows. Then one least-squares
fit of offset, drift, gain and bias to all samples at once, which is far sharper. Use a fast signal (engine
speed, vehicle speed); temperatures are too slow.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.signal import correlate, correlation_lags
from scipy.stats import theilslopes

from heatproof.logs.cleaning.autocorrelation import effective_size
from heatproof.logs.reading.records import Channel, Flags, Floats, Log, LogError

SHARED = ("engine_speed", "vehicle_speed", "gps_speed", "air_flow", "manifold_pressure", "pedal", "throttle")
ALIKE = {"gps_speed": "vehicle_speed", "vehicle_speed": "gps_speed"}
LEAST_MATCH = 0.3
SMOOTH_S = 0.3
FARTHEST_S = 1.0
"""A refined clock that moves further than this from the windows' line is not believed."""


@dataclass(frozen=True)
class Alignment:
    """t_a = t_b + offset_s + drift · t_b. `drift` in s/s (1e-6 = 1 ppm); `*_sd` from the scatter of windows.

    With a single window the drift cannot be seen: it is 0 and its deviation is nan.
    """

    offset_s: float
    drift: float
    offset_sd_s: float
    drift_sd: float
    windows: int
    scatter_s: float
    match: float
    quantity: str

    def to_a(self, time_b_s: Floats) -> Floats:
        """Times of logger b on the clock of logger a; any shape."""
        return time_b_s + self.offset_s + self.drift * time_b_s


def align_logs(log_a: Log, log_b: Log, *, max_offset_s: float = 600.0) -> Alignment:
    """Alignment from the best shared channel of two logs; LogError if there is none or none matches."""
    best: Alignment | None = None
    for quantity in SHARED:
        a = log_a.find(quantity)
        b = log_b.find(quantity) or log_b.find(ALIKE.get(quantity, quantity))
        if a is None or b is None:
            continue
        found = align_channels(a, b, max_offset_s=max_offset_s)
        if best is None or found.match > best.match:
            best = found
    if best is None:
        raise LogError(
            "the two logs share no fast signal",
            where=f"{log_a.path} and {log_b.path}",
            allowed=", ".join(SHARED),
            next_step="log engine speed in both, or give the offset by hand",
        )
    if best.match < LEAST_MATCH:
        raise LogError(
            "the two logs do not match",
            where=f"{log_a.path} and {log_b.path}",
            got=f"best correlation {best.match:.2f} of {best.quantity}",
            allowed=f"at least {LEAST_MATCH}",
            next_step="the same run? a larger offset than searched? widen max_offset_s",
        )
    return best


def align_channels(
    a: Channel, b: Channel, *, max_offset_s: float = 600.0, window_s: float = 600.0, step_s: float = 0.05
) -> Alignment:
    """Offset and drift between two records of one signal.

    A whole-run correlation gives the coarse offset; windows of `window_s` (half overlapping) refine it.
    """
    smooth = max(SMOOTH_S, 1.5 * step_s, 0.5 / max(a.rate_Hz, 1e-3), 0.5 / max(b.rate_Hz, 1e-3))
    coarse = max(step_s, smooth / 2)
    offset, match = _whole_run(a, b, coarse, smooth, max_offset_s)
    centres, lags, weights = _windows(a, b, offset, window_s, step_s, smooth)
    good = weights >= max(LEAST_MATCH, 0.5 * weights.max(initial=0.0))
    if good.sum() < 2:
        fine = float(lags[good][0]) if good.any() else 0.0
        return Alignment(
            offset + fine, 0.0, float("nan"), float("nan"), int(good.sum()), float("nan"), match, a.quantity
        )
    return _refined(a, b, _line(centres[good], lags[good] + offset, match, a.quantity), max(smooth, SMOOTH_S))


def _refined(a: Channel, b: Channel, start: Alignment, smooth: float) -> Alignment:
    """b(t) = g a(t + o + d t) + c by Gauss–Newton with Huber weights; `start` if that runs away."""
    step = max(0.1, smooth / 3)
    t_b = np.arange(b.time_s[0], b.time_s[-1], step)
    t_b = t_b[_covered(b, t_b)]
    grid = np.arange(a.time_s[0], a.time_s[-1], step)
    ok_a, ok_b = a.measured, b.measured
    smooth_a = gaussian_filter1d(np.interp(grid, a.time_s[ok_a], a.values[ok_a]), smooth / step)
    slope_a = np.gradient(smooth_a, step)
    even_b = np.arange(b.time_s[0], b.time_s[-1], step)
    smooth_b = gaussian_filter1d(np.interp(even_b, b.time_s[ok_b], b.values[ok_b]), smooth / step)
    y_b = np.interp(t_b, even_b, smooth_b)
    p = np.array([start.offset_s, start.drift, 1.0, 0.0])
    for _ in range(15):
        t_a = t_b + p[0] + p[1] * t_b
        inside = (t_a > grid[0]) & (t_a < grid[-1]) & _covered(a, t_a)
        if inside.sum() < 20:
            return start
        x, dx, t = np.interp(t_a[inside], grid, smooth_a), np.interp(t_a[inside], grid, slope_a), t_b[inside]
        rest = y_b[inside] - p[2] * x - p[3]
        spread = max(1.4826 * float(np.median(np.abs(rest))), 1e-12)
        weight = np.sqrt(np.minimum(1.0, 1.5 * spread / np.maximum(np.abs(rest), 1e-12)))
        jac = np.column_stack([p[2] * dx, p[2] * dx * t, x, np.ones_like(x)]) * weight[:, None]
        scale = np.maximum(np.linalg.norm(jac, axis=0), 1e-12)
        move = np.linalg.lstsq(jac / scale, rest * weight, rcond=None)[0] / scale
        p = p + move
        if abs(move[0]) < 1e-5 and abs(move[1]) < 1e-9:
            break
    return _accepted(p, jac, rest * weight, start, t)


def _accepted(p: Floats, jac: Floats, rest: Floats, start: Alignment, t: Floats) -> Alignment:
    """The refined clock with deviations for correlated residuals, if it stays near the start."""
    moved = max(abs(p[0] + p[1] * x - start.offset_s - start.drift * x) for x in (t[0], t[-1]))
    if not np.all(np.isfinite(p)) or moved > FARTHEST_S:
        return start
    variance = float(rest @ rest) / rest.size * rest.size / effective_size(rest)
    sd = np.sqrt(np.maximum(np.diag(np.linalg.pinv(jac.T @ jac)) * variance, 0.0))
    return replace(
        start, offset_s=float(p[0]), drift=float(p[1]), offset_sd_s=float(sd[0]), drift_sd=float(sd[1])
    )


def _covered(channel: Channel, time_s: Floats) -> Flags:
    """True where a sample stands within two and a half sample steps."""
    t = channel.time_s[channel.measured]
    after = np.clip(np.searchsorted(t, time_s), 1, t.size - 1)
    near = np.minimum(np.abs(t[after] - time_s), np.abs(time_s - t[after - 1]))
    return np.asarray(near <= 2.5 / max(channel.rate_Hz, 1e-3))


def shift_log(log: Log, alignment: Alignment) -> Log:
    """Logger b's channels on the clock of logger a."""
    moved: dict[int, Floats] = {}
    channels = tuple(
        replace(c, time_s=moved.setdefault(id(c.time_s), alignment.to_a(c.time_s))) for c in log.channels
    )
    return log.with_channels(channels)


def _grid(channel: Channel, t0: float, t1: float, step: float, smooth: float) -> Floats:
    """Smoothed derivative on an even grid, zero mean, zero where not measured."""
    time_s = np.arange(t0, t1, step)
    ok = channel.measured
    values = np.interp(time_s, channel.time_s[ok], channel.values[ok])
    slope = gaussian_filter1d(values, smooth / step, order=1, mode="nearest")
    slope[(time_s < channel.time_s[ok][0]) | (time_s > channel.time_s[ok][-1])] = 0.0
    return slope - slope.mean()


def _peak(x: Floats, y: Floats, step: float, most: float) -> tuple[float, float]:
    """Lag L with x(t) ≈ y(t − L), and the normalised height of the peak."""
    size = np.sqrt(float(x @ x) * float(y @ y))
    if size <= 0 or x.size < 3 or y.size < 3:
        return 0.0, 0.0
    height = correlate(x, y, method="fft") / size
    lags = correlation_lags(x.size, y.size) * step
    height = np.where(np.abs(lags) <= most, height, -np.inf)
    k = int(np.argmax(height))
    if not 0 < k < height.size - 1 or not np.all(np.isfinite(height[k - 1 : k + 2])):
        return float(lags[k]), float(height[k])
    left, top, right = height[k - 1 : k + 2]
    bend = left - 2 * top + right
    return float(lags[k] + (0.5 * (left - right) / bend * step if bend < 0 else 0.0)), float(top)


def _whole_run(a: Channel, b: Channel, step: float, smooth: float, most: float) -> tuple[float, float]:
    for channel in (a, b):
        if channel.measured.sum() < 10:
            raise LogError(
                "too few samples to align on", where=channel.column, got=str(int(channel.measured.sum()))
            )
    x = _grid(a, a.time_s[0], a.time_s[-1], step, smooth)
    y = _grid(b, b.time_s[0], b.time_s[-1], step, smooth)
    start = float(a.time_s[0] - b.time_s[0])
    lag, match = _peak(x, y, step, most + abs(start))
    return lag + start, match


def _windows(
    a: Channel, b: Channel, offset: float, window: float, step: float, smooth: float
) -> tuple[Floats, Floats, Floats]:
    """Centres on clock b, extra lag over `offset`, and correlation of each window."""
    t0 = max(float(b.time_s[0]), float(a.time_s[0]) - offset)
    t1 = min(float(b.time_s[-1]), float(a.time_s[-1]) - offset)
    window = min(window, max((t1 - t0) / 2, 60.0))
    starts = np.arange(t0, t1 - window + 1e-9, window / 2)
    out = []
    for start in starts:
        y = _grid(b, start, start + window, step, smooth)
        x = _grid(a, start + offset, start + offset + window, step, smooth)
        lag, match = _peak(x, y, step, 5.0 + 0.001 * (t1 - t0))
        out.append((start + window / 2, lag, match))
    table = np.array(out).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]


def _line(centres: Floats, lags: Floats, match: float, quantity: str) -> Alignment:
    """Theil–Sen first, outlying windows out, then least squares through the rest."""
    slope, base, *_ = theilslopes(lags, centres)
    off = lags - (base + slope * centres)
    spread = max(1.4826 * float(np.median(np.abs(off - np.median(off)))), 1e-3)
    keep = np.abs(off - np.median(off)) <= 4 * spread
    t, y = centres[keep], lags[keep]
    if t.size < 3:
        return Alignment(
            float(base),
            float(slope),
            spread,
            spread / max(float(np.ptp(t)), 1.0),
            t.size,
            spread,
            match,
            quantity,
        )
    slope, base = np.polyfit(t, y, 1)
    rest = y - (base + slope * t)
    scatter = float(np.sqrt(rest @ rest / (t.size - 2)))
    centred = t - t.mean()
    slope_sd = scatter / float(np.sqrt(centred @ centred))
    base_sd = float(np.hypot(scatter / np.sqrt(t.size), slope_sd * t.mean()))
    return Alignment(float(base), float(slope), base_sd, slope_sd, t.size, scatter, match, quantity)
