"""Spells in which a signal stays above a threshold: hysteresis, short gaps closed, least length."""

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.records import Flags, Floats


def spells(
    time_s: Floats,
    values: Floats,
    *,
    above: float,
    below: float | None = None,
    close_s: float = 0.0,
    least_s: float = 0.0,
) -> NDArray[np.float64]:
    """Starts and ends (s), shape (k, 2), of the spells with values > `above`.

    A spell ends when values fall to `below` (the same as `above` if not given). Two spells with at most
    `close_s` between are one; spells shorter than `least_s` are left out. NaN samples are passed over. A
    spell
    ends at the first sample outside it (or at the last sample of all).
    """
    ok = np.isfinite(values)
    t, x = time_s[ok], values[ok]
    if not t.size:
        return np.empty((0, 2))
    on = _hysteresis(x, above, above if below is None else below)
    edges = np.diff(np.r_[0, on.astype(int), 0])
    first, last = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    table = np.column_stack([t[first], t[np.minimum(last, t.size - 1)]])
    return long_enough(close_gaps(table, close_s), least_s)


def close_gaps(table: NDArray[np.float64], close_s: float) -> NDArray[np.float64]:
    """Neighbouring spells with a gap of at most `close_s` joined."""
    if len(table) < 2 or close_s <= 0:
        return table
    apart = table[1:, 0] - table[:-1, 1] > close_s * (1 + 1e-9)
    starts = table[np.r_[True, apart], 0]
    ends = table[np.r_[apart, True], 1]
    return np.column_stack([starts, ends])


def long_enough(table: NDArray[np.float64], least_s: float) -> NDArray[np.float64]:
    """Spells of at least `least_s`."""
    return table[table[:, 1] - table[:, 0] >= least_s]


def _hysteresis(x: Floats, above: float, below: float) -> Flags:
    """On above one threshold, off at or under the other, unchanged in between."""
    state = np.where(x > above, 1, np.where(x <= below, 0, -1))
    state[0] = max(state[0], 0)
    known = np.maximum.accumulate(np.where(state >= 0, np.arange(x.size), 0))
    return state[known] == 1
