"""Information of correlated, biased readings against generalised least squares written out in full.

Source of the formulas: generalised least squares (Aitken 1935) and the Schur complement; checked here against the
explicit covariance matrix and its inverse by numpy.
"""

import numpy as np
import pytest

from heatproof.logs.correcting.information import (
    ReadingDoubt,
    integrated_out,
    posterior,
    run_information,
    sensor_information,
    variances,
    whitened,
)


def covariance(n, step, doubt, mounting):
    """Of one reading's errors, written out."""
    lag = np.abs(np.subtract.outer(np.arange(n), np.arange(n))) * step
    noise = doubt.noise**2 * np.exp(-lag / doubt.time_s)
    ones = np.ones((n, n))
    return noise + (doubt.own**2 + doubt.shared**2 + doubt.run**2) * ones + np.outer(mounting, mounting)


def test_one_sensor_equals_the_full_covariance():
    rng = np.random.default_rng(1)
    n, step = 60, 20.0
    S, mounting = rng.normal(size=(n, 3)).cumsum(axis=0), rng.uniform(0.5, 2.0, n)
    doubt = ReadingDoubt(own=0.8, shared=0.6, run=1.1, noise=0.9, time_s=75.0)
    one = sensor_information([run_information(S, step, doubt, mounting=mounting)], doubt)
    full = S.T @ np.linalg.inv(covariance(n, step, doubt, mounting)) @ S
    assert integrated_out(one, -1, doubt.shared) == pytest.approx(full, rel=1e-9)
    assert posterior(one, doubt.shared) == pytest.approx(np.linalg.inv(np.eye(3) + full), rel=1e-9)


def test_repeats_cannot_beat_the_sensor():
    """Many runs average weather and noise away, not the sensor's own bias."""
    doubt = ReadingDoubt(own=1.0, shared=0.0, run=1.0, noise=1.0, time_s=60.0)
    S = np.ones((100, 1))
    left = []
    for repeats in (1, 4, 1000):
        info = sensor_information([run_information(S, 20.0, doubt, repeats=repeats)], doubt)
        left.append(float(1.0 / integrated_out(info, -1, 0.0)[0, 0]))
    assert left[0] > left[1] > left[2]
    assert left[2] == pytest.approx(1.0, abs=0.01)


def test_mean_of_an_ar1_series():
    """1'W1 is the information on a mean: n(1 − ρ)/(1 + ρ)/σ² for a long series (Bayley and Hammersley 1946)."""
    rho, n, noise = 0.8, 20_000, 1.3
    white = whitened(np.ones((n, 1)), rho=rho, noise=noise)
    assert float(white[:, 0] @ white[:, 0]) == pytest.approx(n * (1 - rho) / (1 + rho) / noise**2, rel=1e-3)


def test_variance_of_margins():
    rng = np.random.default_rng(2)
    root = rng.normal(size=(4, 4))
    C, change = root @ root.T, rng.normal(size=(5, 4))
    assert variances(C, change) == pytest.approx(np.diag(change @ C @ change.T))
