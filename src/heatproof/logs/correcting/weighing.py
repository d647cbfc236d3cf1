"""Residuals of a fit: measured less predicted less biases, whitened per channel, priors beside them.

Each channel's residual is taken as AR(1): its ρ and its innovation's deviation are estimated from the fit
before and iterated. Unknowns are the parameters x, one bias for each logger's cold junction (shared by all its
thermocouples in one run), one for each sensor, and for a bead on a surface the share of its excess over ambient
that its mounting costs; all in standard deviations of their priors.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from heatproof.logs.correcting.information import Matrix, whitened
from heatproof.logs.predicting.predict import Blocks, Reading, in_blocks
from heatproof.logs.reading.records import Floats
from heatproof.logs.reducing.sensor_doubt import doubt_of, mounting_share
from heatproof.logs.reducing.thermocouples import SensorDoubt

RHO_MOST = 0.995
NOISE_LEAST_K = 0.2
FAST_SHARE = 0.2
"""Of a residual's root mean square that is added to its innovations: a model that is off by 7 K slowly is not right
within 0.3 K from one block to the next, and its quick moves must not decide a fit. Common practice, no source."""
WEATHER_K, UNEXPLAINED = 1.0, 2.5
"""What one day adds to a misfit, K (common practice, no source); misfit over what is usual that counts as too much."""
ROBUST = 2.5
"""Whitened residuals beyond this many deviations count less and less (soft l1)."""


@dataclass(frozen=True, eq=False)
class Weighed:
    """One channel of one run as it enters the fit: block means and how its errors behave."""

    run: int
    blocks: Blocks
    doubt: SensorDoubt
    resets: NDArray[np.bool_]
    mounting: Floats
    """(blocks,) K that one standard deviation of the mounting's share is worth, zeros in a fluid. From the
    predicted excess: the measured one would carry its noise into the fit."""
    rho: float = 0.85
    noise: float = 1.0

    @property
    def size(self) -> int:
        """Blocks."""
        return int(self.blocks.values.size)

    @property
    def key(self) -> str:
        """Column name."""
        return self.blocks.raw.key

    @property
    def usual_K(self) -> float:
        """Misfit that sensor, mounting and one day's weather explain, K."""
        mounting = 0.5 * float(np.mean(np.abs(self.mounting)))
        return float(np.sqrt(self.doubt.total_K**2 + WEATHER_K**2 + mounting**2))


@dataclass(frozen=True, eq=False)
class Unknowns:
    """Places of the biases behind the parameters: `sensor` and `mounting` by column, `logger` by run."""

    parameters: int
    sensor: dict[str, int] = field(default_factory=dict)
    mounting: dict[str, int] = field(default_factory=dict)
    logger: dict[int, int] = field(default_factory=dict)

    @property
    def size(self) -> int:
        """All of them."""
        return self.parameters + len(self.sensor) + len(self.mounting) + len(self.logger)


def weigh(
    run: int,
    readings: Sequence[Reading],
    *,
    block_s: float,
    from_s: float,
    end_s: float,
    ambient: float,
    surfaces: set[str],
    predicted: Callable[[Blocks], Floats],
) -> list[Weighed]:
    """Channels of one run as block means from `from_s` on; those with fewer than five blocks are left out.

    surfaces: places that are no fluid, where a mounted bead misreads; predicted: what each should show.
    """
    out = []
    for reading in readings:
        thin = in_blocks(reading, block_s, from_s, end_s)
        if thin.values.size < 5:
            continue
        doubt = doubt_of(reading.channel, ambient=ambient)
        share = mounting_share(reading.channel, surface=reading.place in surfaces)
        gaps = np.concatenate([[True], np.diff(thin.time_s) > 1.6 * block_s])
        out.append(Weighed(run, thin, doubt, gaps, share * (predicted(thin) - ambient)))
    return out


def unknowns_of(weighed: Sequence[Weighed], parameters: int) -> Unknowns:
    """A bias for every sensor, and one for every logger whose channels share a cold junction."""
    found = Unknowns(parameters)
    for one in weighed:
        if one.key not in found.sensor:
            found.sensor[one.key] = found.size
        if np.any(one.mounting) and one.key not in found.mounting:
            found.mounting[one.key] = found.size
        if one.doubt.shared_K > 0.0 and one.run not in found.logger:
            found.logger[one.run] = found.size
    return found


def biases(one: Weighed, unknowns: Unknowns, z: Floats) -> Floats:
    """(blocks,) K that this channel reads too high, by the unknowns z."""
    return bias_columns(one, unknowns) @ z[unknowns.parameters :]


def bias_columns(one: Weighed, unknowns: Unknowns) -> Matrix:
    """(blocks, biases): K that each bias adds to this channel per standard deviation."""
    out = np.zeros((one.size, unknowns.size - unknowns.parameters))
    key, first = one.key, unknowns.parameters
    out[:, unknowns.sensor[key] - first] = one.doubt.own_K
    if key in unknowns.mounting:
        out[:, unknowns.mounting[key] - first] = one.mounting
    if one.doubt.shared_K > 0.0:
        out[:, unknowns.logger[one.run] - first] = one.doubt.shared_K
    return out


def white_residual(one: Weighed, unknowns: Unknowns, z: Floats, predicted: Floats) -> Floats:
    """(blocks,) whitened residual of one channel."""
    rest = one.blocks.values - predicted - biases(one, unknowns, z)
    return whitened(rest[:, None], rho=one.rho, noise=one.noise, resets=one.resets)[:, 0]


def white_jacobian(one: Weighed, unknowns: Unknowns, slope: Matrix) -> Matrix:
    """(blocks, unknowns): derivative of `white_residual`; slope (blocks, P) of the prediction."""
    J = -np.hstack([slope, bias_columns(one, unknowns)])
    return whitened(J, rho=one.rho, noise=one.noise, resets=one.resets)


def reweighed_all(
    weighed: Sequence[Weighed],
    unknowns: Unknowns,
    z: Floats,
    predicted: Sequence[Floats],
    *,
    last: bool = False,
) -> list[Weighed]:
    """With ρ and noise from these residuals. last: the fit has settled, so what is left over is the model's.

    A fit takes slow swings out of a residual, so that what is left looks less correlated than it is: no channel
    keeps a ρ below the middle one's, and the variance is raised for the two levels fitted to it.
    """
    rests = [w.blocks.values - p - biases(w, unknowns, z) for w, p in zip(weighed, predicted, strict=True)]
    rhos = [correlation(rest, w.resets) for w, rest in zip(weighed, rests, strict=True)]
    middle = float(np.median(rhos))
    return [
        reweighed(w, rest, max(rho, middle), last) for w, rest, rho in zip(weighed, rests, rhos, strict=True)
    ]


def reweighed(one: Weighed, rest: Floats, rho: float, last: bool) -> Weighed:
    """noise: sd of the whole series, from that of its innovations, σ = noise √(1 − ρ²)."""
    steps = (rest[1:] - rho * rest[:-1])[~one.resets[1:]]
    innovation = 1.4826 * float(np.median(np.abs(steps))) if steps.size else float(rest.std())
    innovation = float(np.hypot(innovation, FAST_SHARE * np.sqrt(np.mean(rest**2))))
    noise = innovation / float(np.sqrt(1.0 - rho * rho))
    worth = one.size * (1.0 - rho) / (1.0 + rho)
    raised = np.sqrt(max(worth, 3.0) / (max(worth, 3.0) - 2.0))
    noise = max(noise * float(raised), NOISE_LEAST_K) * (birge(one, rest) if last else 1.0)
    return replace(one, rho=rho, noise=noise)


def correlation(rest: Floats, resets: NDArray[np.bool_]) -> float:
    """Lag-one correlation of neighbours, raised by its bias (1 + 4ρ)/n (Marriott and Pope 1954), 0..0.995."""
    a, b = rest[:-1][~resets[1:]], rest[1:][~resets[1:]]
    power = 0.5 * float(a @ a + b @ b)
    if a.size < 4 or power <= 0.0:
        return 0.0
    raw = float(a @ b) / power
    return float(np.clip(raw + (1.0 + 4.0 * raw) / a.size, 0.0, RHO_MOST))


def birge(one: Weighed, rest: Floats) -> float:
    """By how much the errors of a channel are raised that misfits far more than sensor and weather explain, 1 for
    one that does not: the scatter there is over the scatter that was expected (Birge, Phys. Rev. 40 (1932) 207),
    squared, because a model that is so far off in level is not to be trusted in its moves either (common practice,
    no source)."""
    ratio = float(np.sqrt(np.mean(rest**2))) / (UNEXPLAINED * one.usual_K)
    return max(1.0, ratio) ** 2


def robust_loss(data_rows: int):  # type: ignore[no-untyped-def]
    """Loss for scipy's least_squares: soft l1 for the data rows, plain squares for the priors behind them."""

    def loss(z: Floats) -> Floats:
        out = np.vstack([z, np.ones_like(z), np.zeros_like(z)])
        t = 1.0 + z[:data_rows] / ROBUST**2
        out[0, :data_rows] = 2.0 * ROBUST**2 * (np.sqrt(t) - 1.0)
        out[1, :data_rows] = t**-0.5
        out[2, :data_rows] = -0.5 * t**-1.5 / ROBUST**2
        return out

    return loss
