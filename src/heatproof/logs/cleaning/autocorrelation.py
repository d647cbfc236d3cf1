"""How many independent samples a correlated series is worth, and means with an honest deviation."""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from heatproof.logs.reading.records import Floats


@dataclass(frozen=True)
class Mean:
    """`sd_of_mean` counts `worth` independent samples, not all `samples`."""

    value: float
    sd_of_mean: float
    samples: int
    worth: float


def lag_one(residuals: Floats) -> float:
    """Autocorrelation of neighbouring residuals, −1..1; 0 for a constant series."""
    x = residuals - residuals.mean()
    power = float(x @ x)
    return float(np.clip(x[1:] @ x[:-1] / power, -0.999, 0.999)) if power > 0 and x.size > 2 else 0.0


def effective_size(residuals: Floats) -> float:
    """Independent samples that an AR(1) series is worth: n (1 − ρ)/(1 + ρ), between 1 and n.

    Bayley and Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184, for a long series. The sample ρ is raised
    by its
    bias, about (1 + 4 ρ)/n (Marriott and Pope, Biometrika 41 (1954) 390).
    """
    n = residuals.size
    rho = lag_one(residuals)
    rho = min(rho + (1 + 4 * rho) / max(n, 1), 0.999)
    return float(np.clip(n * (1 - rho) / (1 + rho), 1.0, n)) if rho > 0 else float(n)


def mean_of(values: Floats) -> Mean:
    """Mean of a correlated series, NaN passed over; sd is nan when it is worth fewer than two samples."""
    good = values[np.isfinite(values)]
    if good.size < 3:
        return Mean(
            float(good.mean()) if good.size else float("nan"), float("nan"), good.size, float(good.size)
        )
    worth = effective_size(good)
    sd = float(np.std(good, ddof=1))
    return Mean(float(good.mean()), sd / np.sqrt(worth) if worth >= 2 else float("nan"), good.size, worth)


def t_quantile(confidence: float, freedom: float) -> float:
    """Two-sided Student quantile."""
    return float(stats.t.ppf(0.5 + confidence / 2, max(freedom, 1.0)))
