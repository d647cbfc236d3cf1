"""First-order lag of a probe, τ dT_s/dt = T − T_s.

It is put on the model's history, which adds no noise; taking it off the log would multiply the log's.
"""

import numpy as np
from scipy.signal import lfilter

from heatproof.logs.reading.records import Floats


def shown(time: Floats, values: Floats, tau_s: float, at_s: Floats) -> Floats:
    """A history behind a first-order lag, at other times; shapes (n,), (n,), (m,) → (m,)."""
    if tau_s <= 0.0:
        return np.interp(at_s, time, values)
    step = float(np.clip(tau_s / 4.0, 0.05, 1.0))
    grid = np.arange(time[0], time[-1] + step, step)
    return np.interp(at_s, grid, lagged_evenly(np.interp(grid, time, values), tau_s / step))


def lagged_evenly(x: Floats, tau: float) -> Floats:
    """A first-order lag on an even grid, exact for straight lines between; tau in steps."""
    a = np.exp(-1.0 / tau)
    now, before = 1.0 - tau * (1.0 - a), tau * (1.0 - a) - a
    state = np.array([before * x[0] + a * x[0]])
    rest, _ = lfilter([now, before], [1.0, -a], x[1:], zi=state)
    return np.concatenate([x[:1], rest])
