"""The laid network's data as plain arrays, the numbers of its signals, and the effectiveness of a crossflow core."""

import numpy as np
from scipy.special import gammainc

COUNTS = np.arange(1, 120)[:, None]

# Numbers of the network's signals, as sources and branches refer to them.
ONE, ON, SPEED, VEHICLE, CONDITIONING, SUN = 0, 1, 2, 3, 4, 5
AIR, FUEL, EXHAUST, EXHAUST_CP, EXHAUST_HEAT = 7, 8, 9, 11, 13
WALLS, FRICTION, COMPRESSION, TURBINE, BEARING, FAN, SIGNALS = 14, 15, 16, 17, 18, 30, 42


def columns(table) -> dict[str, np.ndarray]:
    """A structured array as plain columns."""
    return {name: np.array(table[name]) for name in table.dtype.names}


def laplacian(size: int, i, j, G) -> np.ndarray:
    """L with (L x)_i = Σ G (x_j − x_i)."""
    L = np.zeros((size, size))
    np.add.at(L, (i, j), G)
    np.add.at(L, (j, i), G)
    np.add.at(L, (i, i), -G)
    np.add.at(L, (j, j), -G)
    return L


def crossflow(NTU, ratio):
    """Effectiveness, both streams unmixed: Mason's series Σ P(k, NTU) P(k, C NTU)/(C NTU), P incomplete gamma."""
    b = np.maximum(ratio * NTU, 1e-12)
    series = (gammainc(COUNTS, NTU) * gammainc(COUNTS, b)).sum(axis=0) / b
    return np.where(ratio * NTU < 1e-6, -np.expm1(-NTU), series)
