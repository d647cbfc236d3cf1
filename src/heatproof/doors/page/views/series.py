"""Long histories thinned to what a screen can show, peaks kept."""

import numpy as np
from numpy.typing import NDArray

MOST_POINTS = 1200


def thinned(
    time: NDArray[np.float64], values: NDArray[np.float64], most: int = MOST_POINTS
) -> NDArray[np.int64]:
    """Rows to keep: of every equal stretch of time the first, lowest and highest, so that a spike of one row stays."""
    n = time.size
    if n <= most:
        return np.arange(n)
    cells = max(most // 3, 1)
    span = max(float(time[-1] - time[0]), 1e-9)
    cell = np.minimum(((time - time[0]) / span * cells).astype(int), cells - 1)
    starts = np.flatnonzero(np.r_[True, np.diff(cell) > 0])
    ends = np.r_[starts[1:], n]
    keep = {0, n - 1}
    for a, b in zip(starts, ends, strict=True):
        part = values[a:b]
        keep.update((int(a), int(a + np.argmin(part)), int(a + np.argmax(part))))
    return np.array(sorted(keep), dtype=np.int64)


def rounded(values: NDArray[np.float64], digits: int = 2) -> list[float]:
    """Plain floats, short in JSON."""
    return [float(x) for x in np.round(values, digits)]
