"""First-order sensor lag: put on a model series (preferred), or taken off a measured one.

A lagged sensor obeys τ dT_s/dt = T − T_s. Comparing lagged model with measured series adds no noise;
undoing the
lag multiplies noise by τ times the slope filter's gain.
"""

import numpy as np
from scipy.signal import savgol_filter

from heatproof.logs.reading.records import Floats


def lagged(time_s: Floats, values: Floats, tau_s: float | Floats, *, start: float | None = None) -> Floats:
    """What a sensor with time constant tau_s shows of `values`; shapes (n,), uneven times allowed.

    Exact for values linear between samples. `tau_s` may vary (shape (n,)): the mean of each step is used.
    `start`: first reading, the first value if not given. NaN values are bridged linearly.
    """
    x = _bridged(time_s, np.asarray(values, float))
    tau = np.broadcast_to(np.asarray(tau_s, float), x.shape)
    if np.any(tau < 0):
        raise ValueError("a time constant is not below zero")
    out = np.empty_like(x)
    out[0] = x[0] if start is None else start
    steps = np.diff(time_s)
    taus = 0.5 * (tau[1:] + tau[:-1])
    safe = np.where(taus > 0, taus, 1.0)
    decay = np.where(taus > 0, np.exp(-steps / safe), 0.0)
    slope = np.diff(x) / np.where(steps > 0, steps, 1.0)
    for n in range(1, x.size):
        # Solution of the ramp x[n-1] + slope t: particular part trails by slope tau.
        trail = slope[n - 1] * taus[n - 1]
        out[n] = x[n] - trail + (out[n - 1] - x[n - 1] + trail) * decay[n - 1]
    return out


def unlagged(time_s: Floats, values: Floats, tau_s: float, *, window_s: float = 2.0) -> Floats:
    """T = T_s + τ dT_s/dt with a Savitzky–Golay slope (order 2) over `window_s`; shape (n,).

    Uneven series are put on an even grid of the median step and back. A window of about τ/4 balanced bias
    against
    noise in trials with τ = 8 s; one as long as τ clips peaks.
    """
    x = _bridged(time_s, np.asarray(values, float))
    step = float(np.median(np.diff(time_s)))
    width = max(5, round(window_s / step) | 1)
    grid = np.arange(time_s[0], time_s[-1] + step / 2, step)
    if width > grid.size:
        raise ValueError("the window is longer than the series")
    even = np.interp(grid, time_s, x)
    smooth = savgol_filter(even, width, 2)
    slope = savgol_filter(even, width, 2, deriv=1, delta=step)
    return np.interp(time_s, grid, smooth + tau_s * slope)


def tau_at_flow(tau_ref_s: float, flow: Floats, flow_ref: float, *, exponent: float = -0.5) -> Floats:
    """Time constant at another flow of the same fluid: τ = τ_ref (G/G_ref)^−0.5, bounded to 20 τ_ref.

    The exponent follows from Nu ~ Re^0.5 across a small cylinder (Churchill and Bernstein 1977, low Re).
    """
    ratio = np.maximum(np.asarray(flow, float) / flow_ref, 1e-6)
    return np.minimum(tau_ref_s * ratio**exponent, 20 * tau_ref_s)


def _bridged(time_s: Floats, values: Floats) -> Floats:
    ok = np.isfinite(values)
    if ok.all():
        return values
    if not ok.any():
        raise ValueError("nothing measured")
    return np.interp(time_s, time_s[ok], values[ok])
