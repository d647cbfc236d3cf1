"""Small logs with known truth."""

import numpy as np

from heatproof.logs.reading.quantities import QUANTITIES
from heatproof.logs.reading.records import Channel, Log


def channel(quantity, time_s, values, *, column="", sensor=""):
    """A channel in SI."""
    unit = QUANTITIES[quantity].unit
    return Channel(
        column or quantity, quantity, unit.name, unit.si_unit, np.asarray(time_s, float), np.asarray(values,
            float),
        "synthetic", sensor,
    )  # fmt: skip


def log(*channels, path="synthetic.csv", start=None):
    return Log(path, tuple(channels), start)


def correlated(rng, n, *, rho, sd):
    """AR(1) series with standard deviation sd, shape (n,)."""
    from scipy.signal import lfilter

    burn = 2000
    noise = rng.normal(0, sd * np.sqrt(1 - rho**2), n + burn)
    return lfilter([1.0], [1.0, -rho], noise)[burn:]


def drive(rng, length_s, step_s):
    """Engine speed, turns/s: accelerations, lifts and gear changes with random lengths; (time, values)."""
    time_s = np.arange(0, length_s, step_s)
    marks = np.cumsum(rng.uniform(2, 15, int(length_s / 4) + 10))
    levels = rng.uniform(15, 90, marks.size)
    from scipy.ndimage import gaussian_filter1d

    return time_s, gaussian_filter1d(np.interp(time_s, marks, levels), 0.3 / step_s)


def lagged(time_s, values, tau_s):
    """What a probe with time constant tau_s shows of `values`, shape (n,): each ramp between samples solved exactly."""
    out = np.array(values, float)
    for n in range(1, out.size):
        step = time_s[n] - time_s[n - 1]
        trail = (values[n] - values[n - 1]) / step * tau_s
        decay = np.exp(-step / tau_s)
        out[n] = values[n] - trail + (out[n - 1] - values[n - 1] + trail) * decay
    return out
