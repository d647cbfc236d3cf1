"""The one-step method against two general-purpose integrators on the same equations, Jacobian and held inputs."""

from functools import cache

import numpy as np
import pytest
from bench.reference_integrators import run_bdf, run_cvode

from heatproof.network.solve import Duty

DRIVE, SOAK = 60, 240


@pytest.fixture(scope="module")
def short(case):
    """Sixty seconds of the track session's hardest part, key-off, four minutes of soak."""
    c = case("track_session")
    samples = np.vstack([c.duty.samples[200 : 200 + DRIVE], np.repeat(c.duty.samples[-1:], SOAK, axis=0)])
    return c, Duty(np.ascontiguousarray(samples), DRIVE)


@pytest.fixture(scope="module")
def fine(short):
    """Peaks of CVODE at tight tolerances, restarted at every second of the drive."""
    c, duty = short

    @cache
    def peaks():
        record = run_cvode(
            c.network, c.around, duty, c.start, c.fans, rtol=1e-7, atol=1e-4, soak_step=1.0, restart=True
        )
        return record.peaks()

    return peaks


def worst(network, a: np.ndarray, b: np.ndarray) -> tuple[float, str]:
    kinds = [network.kinds[m] for m in network.masses]
    solid = [i for i, kind in enumerate(kinds) if kind == "solid"]
    i = max(solid, key=lambda i: abs(a[i] - b[i]))
    return abs(float(a[i] - b[i])), network.masses[i]


def test_production_step_against_cvode(short, fine):
    c, duty = short
    error, where = worst(c.network, c.run(duty).state.max(axis=0), fine())
    assert error < 0.1, where


def test_production_step_against_bdf(short, fine):
    c, duty = short
    record = run_bdf(c.network, c.around, duty, c.start, c.fans, rtol=3e-6, atol=3e-4, soak_step=2.0)
    error, where = worst(c.network, record.peaks(), fine())
    assert error < 0.1, where
    error, where = worst(c.network, c.run(duty).state.max(axis=0), record.peaks())
    assert error < 0.15, where


def test_fine_steps_converge_to_the_reference(short, fine):
    c, duty = short
    error, where = worst(c.network, c.run(duty, tolerance=0.01, longest=1.0).state.max(axis=0), fine())
    assert error < 0.03, where
