"""Cleaning steps against logs whose defects are known."""

import numpy as np
import pytest
from synthetic import channel, lagged, log

from heatproof.logs.cleaning.clean import clean, hampel
from heatproof.logs.cleaning.staircase import beat_of, undo_staircase, update_rows

T = np.arange(0, 600, 0.1)
RPM = np.where((T > 200) & (T < 260), 0.0, 2000 / 60)


def intake():
    return 300 + 5 * np.sin(T / 60)


def test_nothing_wrong_nothing_dropped():
    rng = np.random.default_rng(3)
    result = clean(log(
        channel("coolant_temperature", T, 360 + rng.normal(0, 0.2, T.size)),
        channel("engine_speed", T, 33 + rng.normal(0, 0.5, T.size)),
    ))  # fmt: skip
    assert sum(d.count for d in result.dropped) == 0


def test_rubbish_at_engine_stop_goes_by_the_gate_not_by_statistics():
    values = intake()
    rubbish = (T > 200) & (T < 275)
    values[rubbish] = 273.15 + np.random.default_rng(1).uniform(-39, 140, rubbish.sum())
    result = clean(log(channel("intake_temperature", T, values), channel("engine_speed", T, RPM)))
    left = result.log.need("intake_temperature")
    assert np.nanmax(np.abs(left.values - np.interp(left.time_s, T, intake()))) < 1e-9
    gate = next(d for d in result.dropped if d.step == "state gate")
    assert gate.count == pytest.approx(
        rubbish.sum() + 50 + 20, abs=5
    )  # 5 s after the rubbish, 2 s of spin-down
    assert "engine stopped" in gate.why
    statistics_alone = hampel(values, width=611, threshold=4.0, floor=3.0)
    assert np.ptp(values[~statistics_alone]) > 3 * np.ptp(intake())


def test_a_sensor_of_its_own_is_not_gated():
    own = channel("intake_temperature", T, intake(), sensor="1 mm K")
    assert clean(log(own, channel("engine_speed", T, RPM))).dropped == ()


def test_spikes_go_steps_of_speed_stay():
    temperature, speed = intake(), np.where(T > 300, 30.0, 0.0)
    temperature[[1000, 1001, 4000]] += [40, 35, -20]
    speed[2000] = 50.0
    result = clean(log(
        channel("intake_temperature", T, temperature), channel("vehicle_speed", T, speed),
        channel("engine_speed", T, np.full(T.size, 30.0) + np.sin(T)),
    ))  # fmt: skip
    (spike,) = result.dropped
    assert (spike.column, spike.step, spike.count) == ("intake_temperature", "spike", 3)
    assert spike.first_s == pytest.approx(100.0)
    assert result.log.need("vehicle_speed").values[2000] == 50.0


@pytest.mark.parametrize("rate_Hz", [1.1, 10.0])
@pytest.mark.parametrize("tau", [2.0, 5.0])
def test_a_short_pull_is_no_spike(rate_Hz, tau):
    """Six-second pulls after a minute of cruising, seen by a sensor with a lag: every sample stays."""
    t = np.arange(0, 900, 1 / rate_Hz)
    gas = 310 + 80.0 * (t % 90 > 84) + np.random.default_rng(4).normal(0, 0.1, t.size)
    shown = lagged(t, gas, tau)
    assert np.ptp(shown) > 20
    result = clean(
        log(channel("charge_out_temperature", t, shown), channel("engine_speed", t, 30 + np.sin(t)))
    )
    assert sum(d.count for d in result.dropped) == 0


def test_open_thermocouple_and_range():
    egt = 900 + 50 * np.sin(T / 20)
    egt[500:600] = 1370 + 273.15
    oil = 370 + np.sin(T / 30)
    oil[700:720] = 373.15 + 800
    result = clean(log(channel("exhaust_temperature", T, egt), channel("oil_temperature", T, oil)))
    counts = {(d.column, d.step): d.count for d in result.dropped}
    assert counts[("exhaust_temperature", "range")] == 100
    assert counts[("oil_temperature", "range")] == 20
    egt[500:600] = 1200 + 273.15
    result = clean(log(channel("exhaust_temperature", T, egt)))
    assert [(d.step, d.count) for d in result.dropped] == [("open circuit", 100)]


def test_stuck_pressure():
    engine = 30 + 20 * np.sin(T / 5)
    pressure = 1e5 + 5e4 * np.sin(T / 5)
    pressure[2000:4000] = 130e3
    result = clean(log(channel("manifold_pressure", T, pressure), channel("engine_speed", T, engine)))
    assert [(d.column, d.step, d.count) for d in result.dropped] == [("manifold_pressure", "stuck", 2000)]


def test_cold_junction_jump_is_noticed():
    jump = np.where(T > 300, 6.0, 0.0)
    names = ("oil_temperature", "coolant_temperature", "surface_temperature", "bay_air_temperature")
    result = clean(log(*(channel(n, T, 350 + k + np.sin(T / (40 + k)) + jump) for k, n in enumerate(names))))
    assert any("cold junction" in f.what and f.where.startswith("300") for f in result.findings)


def test_no_engine_speed_is_said():
    result = clean(log(channel("intake_temperature", T, intake())))
    assert any("no engine speed" in f.what for f in result.findings)


@pytest.mark.parametrize("polled", [2, 3, 10, 25])
def test_staircase_of_a_polled_logger(polled):
    """Channel k is refreshed in rows k, k + P, …; rows lost at random places."""
    rng = np.random.default_rng(polled)
    rows = np.arange(polled * 400)
    lost = np.sort(rng.choice(rows[50:], 2, replace=False))
    kept = np.delete(rows, lost)
    time_s = kept * 0.09
    channels, truth = [], []
    for k in range(polled):
        fresh = np.where(rows < k, np.nan, rows - (rows - k) % polled)
        values = np.round(350 + 30 * np.sin(fresh * 0.09 / 20 + k), 0 if k % 2 else 1)
        channels.append(channel("coolant_temperature", time_s, np.delete(values, lost), column=f"c{k}"))
        truth.append(((np.arange(k, rows.size, polled)) * 0.09, k))
    out, dropped = undo_staircase(tuple(channels))
    assert len(dropped) == polled
    for done, (times, k) in zip(out, truth, strict=True):
        assert done.values.size == pytest.approx(times.size, abs=4)
        # Values stand at the time at which they were measured; after a lost row they may stand one row off.
        exact = np.round(350 + 30 * np.sin(done.time_s / 20 + k), 0 if k % 2 else 1)
        assert np.mean(np.abs(done.values - exact) <= (1.01 if k % 2 else 0.31)) > 0.98


def test_a_coarse_but_true_channel_is_left_alone():
    values = np.round(350 + 20 * np.sin(T / 50) + np.random.default_rng(2).normal(0, 0.3, T.size))
    assert beat_of(values) == 1
    out, dropped = undo_staircase((channel("coolant_temperature", T, values),))
    assert dropped == ()
    assert out[0].values.size == T.size


def test_update_rows_keep_true_repeats():
    values = np.repeat([1.0, 1.0, 2.0, 2.0, 2.0, 3.0], 5)
    assert update_rows(values, 5).tolist() == [0, 5, 10, 15, 20, 25]
