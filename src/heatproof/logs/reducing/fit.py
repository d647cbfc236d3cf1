"""Exponential approach fitted to one temperature: settled value, time constants, honest intervals.

Residuals of a slow temperature are correlated; counted as independent they give intervals 10 times too
narrow.
Here an AR(1) whitening (Cochrane and Orcutt, J. Am. Stat. Assoc. 44 (1949) 32; first sample after Prais and
Winsten 1954) is iterated to a settled ρ, and a resolution step adds its own part.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from heatproof.logs.cleaning.autocorrelation import t_quantile
from heatproof.logs.reading.records import Floats, LogError

MOST_SAMPLES = 4000


@dataclass(frozen=True)
class Fitted:
    """One parameter: value, sd, and the interval at `confidence` (unsymmetric for positive parameters)."""

    name: str
    value: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class ExponentialFit:
    """T(t) = T_end + Σ A_k exp(−(t − t0)/τ_k), K and s. `settled`: T_end with its interval.

    `determined` is False when the run is shorter than the time constant found, or the interval of T_end is
    wider
    than the whole swing: then extend the run, nothing else helps.
    """

    terms: int
    T_end: Fitted
    amplitudes: tuple[Fitted, ...]
    time_constants: tuple[Fitted, ...]
    rho: float
    residual_sd: float
    worth: float
    determined: bool
    t0: float
    notes: tuple[str, ...] = ()

    def at(self, time_s: Floats) -> Floats:
        """Fitted temperature, K; shape of `time_s`."""
        x = np.asarray(time_s, float) - self.t0
        pairs = zip(self.amplitudes, self.time_constants, strict=True)
        return self.T_end.value + sum(
            (a.value * np.exp(-x / tau.value) for a, tau in pairs), np.zeros_like(x)
        )


def fit_exponential(
    time_s: Floats,
    values: Floats,
    *,
    terms: int = 1,
    T_end: tuple[float, float] | None = None,
    resolution_K: float = 0.0,
    confidence: float = 0.95,
) -> ExponentialFit:
    """Fit one or two exponentials to a warm-up, cool-down or unfinished run; shapes (n,), NaN passed over.

    `T_end`: prior (mean, sd) of the settled value, for instance ambient for a soak; with sd 0 it is held.
    Raises LogError for fewer than 10 samples or no change.
    """
    t, x = _ready(time_s, values)
    t0 = float(t[0])
    t = t - t0
    prior = T_end or (float("nan"), float("inf"))
    start = _start(t, x, terms, prior)
    rho = 0.0
    noise = max(float(np.std(np.diff(x))) / np.sqrt(2), resolution_K / np.sqrt(12), 1e-6)
    for _ in range(8):
        result = least_squares(
            _residuals,
            start,
            args=(t, x, terms, prior, rho, noise),
            method="trf",
            max_nfev=400,
            x_scale="jac",
        )
        start = result.x
        rest = x - _curve(start, t, terms)
        new = _rho(rest)
        white = _whiten(rest, new)
        noise = max(float(np.sqrt(white @ white / max(t.size - start.size, 1))), 1e-9)
        if abs(new - rho) < 1e-3:
            break
        rho = new
    return _report(start, result.jac, t0, t, x, terms, prior, rho, resolution_K, confidence)


def settle(time_s: Floats, values: Floats, *, resolution_K: float = 0.0) -> ExponentialFit:
    """Settled value of an unfinished run by one exponential."""
    return fit_exponential(time_s, values, terms=1, resolution_K=resolution_K)


def better_terms(one: ExponentialFit, two: ExponentialFit, samples: int) -> int:
    """1 or 2, by the Bayes information criterion on whitened residuals; 1 when two are not determined."""
    if not two.determined or not np.isfinite(two.time_constants[0].sd):
        return 1
    gain = samples * np.log(_innovation(one) / _innovation(two)) * 2
    return 2 if gain > 2 * np.log(samples) else 1


def _innovation(fit: ExponentialFit) -> float:
    return fit.residual_sd * float(np.sqrt(1 - fit.rho**2))


def _ready(time_s: Floats, values: Floats) -> tuple[Floats, Floats]:
    ok = np.isfinite(values)
    t, x = np.asarray(time_s, float)[ok], np.asarray(values, float)[ok]
    if t.size < 10:
        raise LogError(
            "too few samples to fit", got=str(t.size), allowed="at least 10", next_step="choose a longer span"
        )
    if np.ptp(x) == 0:
        raise LogError(
            "the temperature does not change", next_step="choose a span with a warm-up or cool-down"
        )
    if t.size > MOST_SAMPLES:
        # Means of equal blocks: nothing slow is lost, and the whitening stays cheap.
        block = -(-t.size // MOST_SAMPLES)
        n = t.size // block * block
        t, x = t[:n].reshape(-1, block).mean(axis=1), x[:n].reshape(-1, block).mean(axis=1)
    return t, x


def _start(t: Floats, x: Floats, terms: int, prior: tuple[float, float]) -> NDArray[np.float64]:
    span = float(t[-1])
    end = prior[0] if np.isfinite(prior[0]) else float(x[-1] + 0.2 * (x[-1] - x[0]))
    if terms == 1:
        return np.array([end, x[0] - end, np.log(span / 2)])
    return np.array([end, 0.4 * (x[0] - end), 0.6 * (x[0] - end), np.log(span / 8), np.log(span)])


def _curve(p: NDArray[np.float64], t: Floats, terms: int) -> Floats:
    amps, taus = p[1 : 1 + terms], np.exp(np.clip(p[1 + terms :], -20, 25))
    return p[0] + np.exp(-t[:, None] / taus) @ amps


def _whiten(rest: Floats, rho: float) -> Floats:
    return np.r_[rest[0] * np.sqrt(1 - rho**2), rest[1:] - rho * rest[:-1]]


def _rho(rest: Floats) -> float:
    power = float(rest[:-1] @ rest[:-1])
    if power <= 0:
        return 0.0
    raw = float(rest[1:] @ rest[:-1]) / power
    return float(np.clip(raw + (1 + 4 * raw) / rest.size, 0.0, 0.995))


def _residuals(
    p: NDArray[np.float64],
    t: Floats,
    x: Floats,
    terms: int,
    prior: tuple[float, float],
    rho: float,
    noise: float,
) -> Floats:
    white = _whiten(x - _curve(p, t, terms), rho) / noise
    if not np.isfinite(prior[1]):
        return white
    return np.r_[white, (p[0] - prior[0]) / max(prior[1], 1e-3)]


def _report(
    p: NDArray[np.float64],
    jac: NDArray[np.float64],
    t0: float,
    t: Floats,
    x: Floats,
    terms: int,
    prior: tuple[float, float],
    rho: float,
    resolution_K: float,
    confidence: float,
) -> ExponentialFit:
    worth = max(t.size * (1 - rho) / (1 + rho), 1.0)
    cov = np.linalg.pinv(jac.T @ jac)
    sd = np.sqrt(np.maximum(np.diag(cov), 0.0))
    # A staircase of whole steps hides a bias of up to half a step in T_end and amplitudes.
    sd[: 1 + terms] = np.hypot(sd[: 1 + terms], resolution_K / np.sqrt(12))
    q = t_quantile(confidence, worth - p.size)
    order = np.argsort(p[1 + terms :])
    end = _plain("T_end", p[0], sd[0], q)
    amps = tuple(_plain(f"A_{k + 1}", p[1 + n], sd[1 + n], q) for k, n in enumerate(order))
    taus = tuple(
        _positive(f"tau_{k + 1}", p[1 + terms + n], sd[1 + terms + n], q) for k, n in enumerate(order)
    )
    swing = float(np.ptp(x))
    notes = []
    if taus[-1].value > t[-1] and not np.isfinite(prior[1]):
        notes.append("the run is shorter than the time constant found")
    if end.high - end.low > swing:
        notes.append("the settled value is less certain than the whole change seen")
    if any(tau.sd > tau.value for tau in taus):
        notes.append("a time constant is not determined")
    rest = x - _curve(p, t, terms)
    return ExponentialFit(
        terms, end, amps, taus, rho, float(np.std(rest)), worth, not notes, t0, tuple(notes)
    )


def _plain(name: str, value: float, sd: float, q: float) -> Fitted:
    return Fitted(name, float(value), float(sd), float(value - q * sd), float(value + q * sd))


def _positive(name: str, log_value: float, log_sd: float, q: float) -> Fitted:
    value = float(np.exp(np.clip(log_value, -20, 25)))
    reach = float(np.exp(min(q * log_sd, 50.0)))
    return Fitted(name, value, value * min(float(log_sd), 1e6), value / reach, value * reach)
