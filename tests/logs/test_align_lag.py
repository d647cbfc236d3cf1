"""Clock alignment against synthetic truth, the lag of a probe against its equation.

Targets: offset within 0.1 s, drift within 10 ppm.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from synthetic import channel, drive, lagged, log

from heatproof.laws.instruments import lag_response
from heatproof.logs.cleaning.align import align_logs, shift_log
from heatproof.logs.predicting.lag import shown
from heatproof.logs.reading.records import LogError


def two_loggers(seed, offset, drift, *, length_s=3600.0, rate_a=20.0, rate_b=10.0):
    """Logger a on true time, logger b on its own clock: t_true = t_b (1 + drift) + offset."""
    rng = np.random.default_rng(seed)
    t, n = drive(rng, length_s, 0.05)
    t_a = np.arange(0, length_s, 1 / rate_a)
    a = np.interp(t_a, t, n) + rng.normal(0, 0.3, t_a.size)
    t_b = np.arange(0, (length_s - 60 - max(offset, 0)) / (1 + drift), 1 / rate_b)
    b = np.interp(t_b * (1 + drift) + offset, t, n) + rng.normal(0, 0.3, t_b.size)
    return log(channel("engine_speed", t_a, a)), log(channel("engine_speed", t_b, b), path="b.csv")


@pytest.mark.parametrize("seed", range(6))
def test_offset_and_drift(seed):
    rng = np.random.default_rng(100 + seed)
    offset, drift = float(rng.uniform(0, 200)), float(rng.uniform(-400e-6, 400e-6))
    a, b = two_loggers(seed, offset, drift)
    found = align_logs(a, b)
    assert found.offset_s == pytest.approx(offset, abs=0.1)
    assert found.drift == pytest.approx(drift, abs=10e-6)
    middle = shift_log(b, found).channels[0].time_s[18000]
    assert middle == pytest.approx(b.channels[0].time_s[18000] * (1 + drift) + offset, abs=0.05)


def test_slow_polled_logger_against_fast_one():
    """1.1 Hz against 20 Hz, quantised to 0.25 rpm steps: still within 0.1 s and 10 ppm."""
    a, b = two_loggers(42, 7.3, 300e-6, rate_b=1.1)
    found = align_logs(a, b)
    assert found.offset_s == pytest.approx(7.3, abs=0.1)
    assert found.drift == pytest.approx(300e-6, abs=10e-6)
    assert found.scatter_s < 0.2


def test_negative_offset_and_hole():
    a, b = two_loggers(9, -40.0, 100e-6)
    speed = b.channels[0]
    values = speed.values.copy()
    values[(speed.time_s > 900) & (speed.time_s < 1100)] = np.nan
    b = b.with_channels((speed.with_data(speed.time_s, values),))
    found = align_logs(a, b)
    # Before zero of logger a nothing is known, so the first 40 s of b match nothing.
    assert found.offset_s == pytest.approx(-40.0, abs=0.1)
    assert found.drift == pytest.approx(100e-6, abs=10e-6)


def test_logs_that_do_not_belong_together():
    a, _ = two_loggers(1, 0, 0)
    _, b = two_loggers(2, 0, 0)
    with pytest.raises(LogError, match="do not match"):
        align_logs(a, b)
    with pytest.raises(LogError, match="no fast signal"):
        align_logs(a, log(channel("oil_temperature", [0, 1], [300, 301])))


def test_lag_is_the_exact_answer_to_a_step_and_a_ramp():
    """First-order sensor: 1 − exp(−t/τ) for a step (laws.instruments), ramp trails by slope · τ."""
    t = np.arange(0.0, 60.01, 2.0)
    step = shown(np.r_[0.0, 1e-6, 61.0], np.array([0.0, 1.0, 1.0]), 8.0, t)
    assert step[1:] == pytest.approx([lag_response(x, 8.0) for x in t[1:]], abs=0.06)
    ramp = shown(np.array([0.0, 61.0]), np.array([0.0, 122.0]), 8.0, t)
    assert ramp == pytest.approx(2.0 * (t - 8.0 * (1.0 - np.exp(-t / 8.0))), abs=1e-9)
    assert shown(t, np.sin(t), 0.0, t) == pytest.approx(np.sin(t))


@pytest.mark.parametrize("tau", [0.5, 2.0, 8.0, 20.0])
def test_lag_against_scipy(tau):
    """A pulse of 60 K, ten seconds wide. The history is read at quarters of τ, which costs at most a quarter per cent."""
    t = np.arange(0, 100, 0.25)
    gas = 300 + 60 * np.exp(-(((t - 40) / 9) ** 2))
    answer = solve_ivp(
        lambda s, y: (np.interp(s, t, gas) - y) / tau,
        (0, t[-1]),
        [gas[0]],
        t_eval=t,
        rtol=1e-9,
        atol=1e-9,
        max_step=0.1,
    )
    assert shown(t, gas, tau, t) == pytest.approx(answer.y[0], abs=0.15)
    assert lagged(t, gas, tau) == pytest.approx(answer.y[0], abs=1e-3)
