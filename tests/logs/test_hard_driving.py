"""A drive of pulls and lifts: full load and overrun follow each other within seconds, and the fit must not blur them."""

import numpy as np
import pytest
from proving import PATHS, PROBES, hidden, small_project, small_variant

from heatproof.kit.records.duty import Start, Weather
from heatproof.logs.correcting.correct import correct
from heatproof.logs.correcting.correction_fit import TestRun
from heatproof.logs.correcting.parameters import chosen_parameters
from heatproof.logs.predicting.logged_duty import Day, LoggedDuty
from heatproof.logs.predicting.predict import Reading, run_logged
from heatproof.logs.reading.records import Channel

NOISE = 0.1  # K
DRIVE_S, SOAK_S = 900, 300


def pulls() -> LoggedDuty:
    """Eight seconds up, four down, all the way."""
    saw = np.interp(np.arange(DRIVE_S) % 12, (0.0, 8.0, 12.0), (12.0, 34.0, 12.0))
    weather = Weather(ambient=295.15, sun=0.0)
    return LoggedDuty(
        name="pulls", from_s=0.0, speed=saw, engine_speed=None, air=None, mixture=None, pedal=None, grade=None,
        key_off=DRIVE_S, soak=float(SOAK_S), weather=weather, start=Start(), day=Day(),
    )  # fmt: skip


def test_hidden_values_are_found_from_pulls_and_lifts(tmp_path):
    """The truth is that of the model's own run with other values; noise 0.1 K. Each within a quarter of its spread."""
    variant = small_variant(small_project(tmp_path / "small"))
    parameters = chosen_parameters(variant, PATHS[:3])
    x, logged, rng = np.array([1.0, -1.0, 0.8]), pulls(), np.random.default_rng(5)
    run = run_logged(hidden(variant, parameters, x), logged)
    loads = run.duty.samples[:DRIVE_S, 2]
    assert np.count_nonzero(np.diff(np.sign(loads))) > DRIVE_S // 12  # it does pull and lift
    at = np.arange(0.0, DRIVE_S + SOAK_S, 1.0)
    readings = []
    for place, _ in PROBES.values():
        true = np.interp(at, run.time, run.state[:, run.network.mass(place)])
        values = true + rng.normal(0.0, NOISE, at.size)
        channel = Channel(place, "surface_temperature", "degC", "K", at, values, "bench", "K class 1", place)
        readings.append(Reading(channel, place, at, values))
    found = correct(variant, parameters, [TestRun("pulls", logged, readings, from_s=60.0)])
    assert found.x == pytest.approx(x, abs=0.25)
    assert np.all(np.abs(found.x - x) < 3.5 * found.sd)
