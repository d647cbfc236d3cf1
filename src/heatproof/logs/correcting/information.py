"""How much a probe tells of the parameters: Fisher information of a slow, correlated, biased reading.

A reading is y = S x + b + e: S (n, P) its change per standard deviation of each parameter, b its biases
(normal, their variances known), e an AR(1) series. With W the inverse covariance of e, the information on x
after the biases are integrated out is S'WS − S'W1 (1'W1 + 1/b²)⁻¹ 1'WS, the Schur complement of the normal
matrix. Biases that several readings share are kept as further columns until the end.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.reading.records import Floats

Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class ReadingDoubt:
    """K. own: bias of the sensor, the same in every run; shared: of its logger; run: of one run (weather,
    driver, what the model leaves out); noise: sd of the correlated rest, with correlation time `time_s`."""

    own: float
    shared: float
    run: float = 1.0
    noise: float = 1.0
    time_s: float = 60.0


def whitened(S: Matrix, *, rho: float, noise: float, resets: NDArray[np.bool_] | None = None) -> Matrix:
    """Rows with unit independent errors: (S_k − ρ S_k−1)/(σ √(1−ρ²)); the first row is S_0/σ.

    S (n, columns); `resets` (n,) True where the row before is not its neighbour in time.
    """
    out = np.array(S, dtype=float)
    out[1:] -= rho * S[:-1]
    scale = np.full(S.shape[0], noise * np.sqrt(1.0 - rho * rho))
    first = np.zeros(S.shape[0], bool) if resets is None else resets.copy()
    first[:1] = True
    out[first] = S[first]
    scale[first] = noise
    return np.asarray(out / scale[:, None])


def run_information(
    S: Matrix, step_s: float, doubt: ReadingDoubt, *, repeats: int = 1, mounting: Floats | None = None
) -> Matrix:
    """(P + 3, P + 3): parameters, shared bias, own bias, mounting; the bias of each run integrated out.

    S (n, P) at even steps of `step_s`; `repeats`: as many runs of the same duty; mounting (n,): K that one
    standard deviation of the mounting's share is worth.
    """
    rho = float(np.exp(-step_s / doubt.time_s))
    ones = np.ones((S.shape[0], 1))
    share = np.zeros_like(ones) if mounting is None else np.asarray(mounting)[:, None]
    white = whitened(np.hstack([S, ones, ones, share, ones]), rho=rho, noise=doubt.noise)
    full = white.T @ white
    return repeats * integrated_out(full, -1, doubt.run)


def integrated_out(full: Matrix, column: int, sd: float) -> Matrix:
    """The normal matrix without one column whose prior is normal with this sd (0: known, so dropped)."""
    keep = np.delete(np.arange(full.shape[0]), column)
    kept = full[np.ix_(keep, keep)]
    if sd <= 0.0:
        return np.asarray(kept)
    side = full[keep, column]
    return np.asarray(kept - np.outer(side, side) / (full[column, column] + 1.0 / sd**2))


def sensor_information(runs: list[Matrix], doubt: ReadingDoubt) -> Matrix:
    """(P + 1, P + 1): one sensor over several runs, its mounting and its own bias integrated out; last column:
    the shared bias."""
    total = integrated_out(np.sum(runs, axis=0), -1, 1.0)
    return integrated_out(total, -1, doubt.own)


def posterior(information: Matrix, shared_sd: float) -> Matrix:
    """Covariance (P, P) of the parameters: prior 1 each, information (P + 1, P + 1) with the shared bias."""
    on_parameters = integrated_out(information, -1, shared_sd)
    n = on_parameters.shape[0]
    return np.asarray(np.linalg.inv(np.eye(n) + on_parameters))


def variances(covariance: Matrix, change: Matrix) -> Floats:
    """Variance of each margin: change (margins, P) in K per standard deviation."""
    return np.asarray(np.einsum("ij,jk,ik->i", change, covariance, change))
