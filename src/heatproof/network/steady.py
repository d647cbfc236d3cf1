"""Steady state of one held sample: long implicit steps first, then Newton with a differenced Jacobian."""

import numpy as np

from heatproof.network.arrays import Surroundings
from heatproof.network.laid import Network
from heatproof.network.not_solved import NotSolved
from heatproof.network.rates import rates
from heatproof.network.solve import make_work, settle_start

DIFFERENCE = 1e-3  # K
RESIDUAL = 1e-3  # W
STEP = 1e-6  # K
MOST_ITERATIONS = 60
SETTLE = 4 * 3600  # s


def steady(
    network: Network, around: Surroundings, sample: np.ndarray, start: np.ndarray | None = None
) -> np.ndarray:
    """State at which every rate is zero (1e-3 W, 1e-6 K). Fans hold the speed they settled at.

    Raises NotSolved with the mass whose balance is worst.
    """
    y, fans = settle_start(network, around, sample, seconds=SETTLE, start=start)
    work = make_work(network, around)
    n = len(network.masses)

    def flows(state: np.ndarray) -> np.ndarray:
        rates(network.model, around, sample, state, fans, work)
        return work.rate.copy()

    f = flows(y)
    for _ in range(MOST_ITERATIONS):
        J = np.empty((y.size, y.size))
        for i in range(y.size):
            moved = y.copy()
            moved[i] += DIFFERENCE
            J[:, i] = (flows(moved) - f) / DIFFERENCE
        step = np.linalg.solve(J, -f)
        size = 1.0
        while size > 1e-4:
            new = y + size * step
            new[n:] = np.clip(new[n:], 0.0, 1.0)
            g = flows(new)
            if np.max(np.abs(g)) < np.max(np.abs(f)) or np.max(np.abs(step)) < STEP:
                break
            size *= 0.5
        moved_by = np.max(np.abs(new - y))
        y, f = new, g
        if np.max(np.abs(f)) < RESIDUAL and moved_by < 1e-4:
            return y
    worst = int(np.argmax(np.abs(f[:n])))
    raise NotSolved(f"steady state: {network.masses[worst]} is {f[worst]:.3g} W out of balance", 0.0)
