"""A against B: the difference of two test days with a confidence that knows about autocorrelation."""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from heatproof.logs.cleaning.autocorrelation import Mean, mean_of
from heatproof.logs.reading.records import Floats, Log, LogError
from heatproof.logs.reducing.reduce import pick


@dataclass(frozen=True)
class Difference:
    """B minus A, K. `confidence_lower`: probability that B is truly lower than A (0.5 = cannot tell).

    `between_sd_K` is the doubt of one day against another (sensors, weather, driver) that no amount of
    samples of
    these two days removes; it is part of `sd_K`.
    """

    quantity: str
    a: Mean
    b: Mean
    difference_K: float
    sd_K: float
    low_K: float
    high_K: float
    confidence_lower: float
    between_sd_K: float
    verdict: str


def compare_days(
    log_a: Log,
    log_b: Log,
    quantity: str,
    *,
    spans_a: tuple[tuple[float, float], ...] | None = None,
    spans_b: tuple[tuple[float, float], ...] | None = None,
    over_ambient: bool = True,
    between_sd_K: float = 0.5,
    confidence: float = 0.95,
) -> Difference:
    """Compare the mean of a channel (over ambient unless told otherwise) in the spans of two logs.

    Welch's t with effective sample sizes. `between_sd_K`: default half a kelvin, common practice, no
    source; give
    the spread of repeated days if you have it.
    """
    a, b = _series(log_a, quantity, spans_a, over_ambient), _series(log_b, quantity, spans_b, over_ambient)
    return compare_series(a, b, quantity, between_sd_K=between_sd_K, confidence=confidence)


def compare_series(
    a: Floats, b: Floats, quantity: str = "", *, between_sd_K: float = 0.0, confidence: float = 0.95
) -> Difference:
    """Compare two evenly sampled, correlated series."""
    mean_a, mean_b = mean_of(a), mean_of(b)
    own = np.hypot(mean_a.sd_of_mean, mean_b.sd_of_mean)
    if not np.isfinite(own):
        raise LogError(
            "too few independent samples to compare",
            got=f"{mean_a.worth:.1f} and {mean_b.worth:.1f}",
            allowed="at least 2 each",
            next_step="use longer spans or repeat the run",
        )
    freedom = _freedom(mean_a, mean_b)
    difference = mean_b.value - mean_a.value
    sd = float(np.hypot(own, between_sd_K))
    reach = float(stats.t.ppf(0.5 + confidence / 2, freedom)) * sd
    lower = float(stats.t.cdf(-difference / sd, freedom)) if sd > 0 else float(difference < 0)
    low, high = difference - reach, difference + reach
    verdict = "cannot tell" if low < 0 < high else "B is lower" if high <= 0 else "B is higher"
    return Difference(quantity, mean_a, mean_b, difference, sd, low, high, lower, between_sd_K, verdict)


def _freedom(a: Mean, b: Mean) -> float:
    """Welch and Satterthwaite, with the samples each series is worth."""
    va, vb = a.sd_of_mean**2, b.sd_of_mean**2
    below = va**2 / max(a.worth - 1, 1.0) + vb**2 / max(b.worth - 1, 1.0)
    return float((va + vb) ** 2 / below) if below > 0 else max(a.worth + b.worth - 2, 1.0)


def _series(
    log: Log, quantity: str, spans: tuple[tuple[float, float], ...] | None, over_ambient: bool
) -> Floats:
    t, x = pick(log.need(quantity), spans)
    if over_ambient:
        x = x - log.need("ambient_temperature").at(t)
    x = x[np.isfinite(x)]
    if x.size < 3:
        raise LogError(
            f"too few samples of {quantity}", where=log.path, got=str(x.size), allowed="at least 3"
        )
    return x
