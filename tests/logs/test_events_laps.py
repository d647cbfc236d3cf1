"""Events and laps against logs built to hold them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from synthetic import channel, log

from heatproof.logs.reading.records import LogError
from heatproof.logs.reducing.events import find_events, pulls
from heatproof.logs.reducing.laps import EARTH_M, StartLine, laps, laps_by_speed
from heatproof.logs.reducing.reduce import soak_peaks
from heatproof.logs.reducing.spells import spells
from heatproof.logs.reducing.steady import SteadySettings, slope_with_sd, steady_stretches, steady_windows

T = np.arange(0, 1200, 0.2)


def test_pulls_idles_stops_and_soak():
    pressure = np.full(T.size, 100e3)
    for start, end in ((100, 108), (200, 206), (207, 212), (300, 300.3)):
        pressure[(start <= T) & (end > T)] = 220e3
    engine = np.where(T < 700, 40.0, 0.0)
    engine[(T > 400) & (T < 420)] = 0.0
    speed = np.where((T < 380) | ((T > 450) & (T < 650)), 25.0, 0.0)
    oil = 380 + np.where(T > 700, 12 * (1 - np.exp(-(T - 700) / 100)) - 0.03 * (T - 700), 0)
    run = log(
        channel("manifold_pressure", T, pressure), channel("engine_speed", T, engine),
        channel("vehicle_speed", T, speed), channel("oil_temperature", T, oil),
    )  # fmt: skip
    found = find_events(run)
    by_kind = {k: [e for e in found if e.kind == k] for k in ("pull", "idle", "stop", "soak")}
    spans = [(e.start_s, e.end_s) for e in by_kind["pull"] if e.length_s > 1]
    assert spans == [pytest.approx((100, 108), abs=0.5), pytest.approx((200, 212), abs=0.5)]
    assert [round(e.start_s) for e in by_kind["stop"]] == [400]
    (soak,) = by_kind["soak"]
    assert (soak.start_s, soak.end_s) == pytest.approx((700, 1200), abs=0.5)
    assert [(round(e.start_s), round(e.end_s)) for e in by_kind["idle"]] == [
        (380, 400),
        (420, 450),
        (650, 700),
    ]
    k = int(np.argmax(oil))
    assert soak.figures["oil_temperature peak [K]"] == pytest.approx(oil[k], abs=1e-6)
    assert soak.figures["oil_temperature peak after [s]"] == pytest.approx(T[k] - 700, abs=0.5)
    assert soak.figures["oil_temperature soak rise [K]"] == pytest.approx(oil[k] - 380, abs=0.01)
    peak, when = [f for f in soak_peaks(run, soak) if "oil" in f.name]
    assert (peak.value, when.value) == pytest.approx((oil[k], T[k] - 700), abs=0.5)
    assert peak.standing == "valid"


def test_soak_still_rising_is_a_lower_bound():
    oil = 380 + 0.05 * np.maximum(T - 700, 0)
    run = log(channel("engine_speed", T, np.where(T < 700, 40.0, 0.0)), channel("oil_temperature", T, oil))
    soak = next(e for e in find_events(run) if e.kind == "soak")
    assert soak_peaks(run, soak)[0].standing == "lower bound"


def test_pull_figures():
    pressure = np.where((T >= 50) & (T < 60), 200e3, 100e3)
    intake = 310 + 2.0 * np.clip(T - 50, 0, 10)
    (pull,) = pulls(log(channel("manifold_pressure", T, pressure), channel("intake_temperature", T, intake)))
    assert pull.figures["intake_temperature rise [K]"] == pytest.approx(20, abs=1.1)
    assert pull.figures["manifold_pressure peak [Pa]"] == 200e3


@given(st.lists(st.booleans(), min_size=1, max_size=80), st.integers(0, 6), st.integers(0, 6))
def test_spells_agree_with_plain_counting(bits, close, least):
    """Independent count: runs of True on a unit grid, gaps closed, short ones dropped, by string
    replacement."""
    text = "".join("1" if b else "0" for b in bits)
    import re

    if close:
        text = re.sub(rf"(?<=1)0{{1,{close}}}(?=1)", lambda m: "1" * len(m[0]), text)
    runs = [(m.start(), min(m.end(), len(bits) - 1)) for m in re.finditer("1+", text)]
    runs = [r for r in runs if r[1] - r[0] >= least]
    table = spells(
        np.arange(len(bits)) * 1.0,
        np.array(bits, float),
        above=0.5,
        close_s=float(close),
        least_s=float(least),
    )
    assert [tuple(r) for r in table] == [(float(a), float(b)) for a, b in runs]


def test_hysteresis():
    x = np.array([0, 5, 3, 5, 1, 3, 5, 0.0])
    assert len(spells(np.arange(8.0), x, above=4)) == 3
    assert len(spells(np.arange(8.0), x, above=4, below=2)) == 2
    assert spells(np.arange(3.0), np.full(3, np.nan), above=1).shape == (0, 2)


def circuit(lap_times, step=0.1):
    """Car on a 3 km closed course, speed by place; t, distance along, speed, lat and lon in rad."""
    length = 3000.0
    rng = np.random.default_rng(7)
    bends = rng.uniform(0, 2 * np.pi, 4)

    def shape(s):
        return 1 + sum(0.2 / (k + 1) * np.sin(2 * np.pi * (k + 1) * s / length + bends[k]) for k in range(4))

    grid = np.linspace(0, length, 3001)
    unit_time = np.concatenate(
        [[0], np.cumsum(0.5 * (1 / shape(grid[1:]) + 1 / shape(grid[:-1])) * np.diff(grid))]
    )
    t_parts, s_parts, now = [], [], 0.0
    for k, lap in enumerate(lap_times):
        t_parts.append(now + unit_time[:-1] * lap / unit_time[-1])
        s_parts.append(grid[:-1] + k * length)
        now += lap
    t_all, s_all = np.concatenate(t_parts), np.concatenate(s_parts)
    t = np.arange(0, now - 1, step)
    s = np.interp(t, t_all, s_all)
    radius = length / 2 / np.pi
    angle = 2 * np.pi * s / length
    north, east = 1.5 * radius * np.sin(angle), radius * np.cos(angle)
    return (
        t,
        np.gradient(s, t),
        np.radians(50) + north / EARTH_M,
        np.radians(8) + east / EARTH_M / np.cos(np.radians(50)),
    )


LAPS = [92.0, 88.5, 87.25, 90.0, 95.5]


def test_laps_by_position():
    t, _, lat, lon = circuit(LAPS)
    rng = np.random.default_rng(1)
    noise = 1.0 / EARTH_M
    run = log(
        channel("gps_latitude", t[::2], lat[::2] + rng.normal(0, noise / 3, t[::2].size)),
        channel("gps_longitude", t[::2], lon[::2] + rng.normal(0, noise / 3, t[::2].size)),
        channel("oil_temperature", t, 370 + t / 100),
    )  # fmt: skip
    line = StartLine(50.0, float(np.degrees(lon[0])), 0.0, 30.0)
    found = laps(run, line)
    assert [e.length_s for e in found] == pytest.approx(LAPS[1:4], abs=0.15)
    assert found[0].start_s == pytest.approx(LAPS[0], abs=0.15)
    assert found[0].figures["oil_temperature rise [K]"] == pytest.approx(0.885, abs=0.02)
    free = laps(run)
    assert 3 <= len(free) <= 5
    assert all(85 < e.length_s < 97 for e in free)


def test_laps_by_speed():
    t, v, _, _ = circuit(LAPS)
    found = laps_by_speed(
        log(channel("vehicle_speed", t, v + np.random.default_rng(2).normal(0, 0.3, t.size)))
    )
    assert len(found) in (4, 5)
    assert [e.length_s for e in found[:4]] == pytest.approx(LAPS[:4], abs=1.5)


def test_road_without_laps_has_none():
    rng = np.random.default_rng(5)
    t = np.arange(0, 1800, 0.5)
    v = np.interp(t, np.arange(0, 1900, 20), rng.uniform(5, 40, 95))
    assert laps_by_speed(log(channel("vehicle_speed", t, v))) == ()
    with pytest.raises(LogError, match="laps need speed"):
        laps(log(channel("oil_temperature", t, v + 300)))


def test_steady_windows_find_the_plateau():
    t = np.arange(0, 1800.0)
    coolant = 363 - 60 * np.exp(-t / 200)
    speed = np.where(t < 1200, 30.0, 30 + 8 * np.sin(t / 5))
    windows = steady_windows(
        log(channel("coolant_temperature", t, coolant), channel("vehicle_speed", t, speed))
    )
    good = [w for w in windows if w.steady]
    # Slope 18 exp(−t/200) K/min is 1 K/min at 578 s in the middle of the window.
    assert good[0].start_s == pytest.approx(548, abs=12)
    assert good[-1].end_s == pytest.approx(1200, abs=15)
    slower = SteadySettings(time_constant_s=100)
    later = steady_windows(
        log(channel("coolant_temperature", t, coolant), channel("vehicle_speed", t, speed)), slower
    )
    assert sum(w.steady for w in later) <= len(good)
    assert "moves too much" in windows[-1].why_not


def test_steady_stretches_are_one_event_each_and_need_a_running_engine():
    t = np.arange(0, 1800.0)
    coolant = channel("coolant_temperature", t, 363 - 60 * np.exp(-t / 200))
    speed = channel("vehicle_speed", t, np.where(t < 1200, 30.0, 30 + 8 * np.sin(t / 5)))
    engine = channel("engine_speed", t, np.where((t > 800) & (t < 850), 0.0, 40.0))
    (whole,) = steady_stretches(log(coolant, speed))
    # Slope 18 exp(−t/200) K/min is 1 K/min at 578 s, in the middle of the first window.
    assert (whole.start_s, whole.end_s) == pytest.approx((548, 1200), abs=15)
    assert whole.figures["coolant_temperature peak [K]"] == pytest.approx(363.0, abs=0.5)
    before, after = steady_stretches(log(coolant, speed, engine))
    assert before.end_s == pytest.approx(800, abs=11)
    assert after.start_s == pytest.approx(850, abs=11)
    assert steady_stretches(log(speed, engine)) == ()


def test_slope_deviation_counts_autocorrelation():
    """True slope 0, AR(1) noise ρ 0.9: |slope| stays below two deviations in 85 to 100 % of 200 repeats."""
    from synthetic import correlated

    rng = np.random.default_rng(11)
    t = np.arange(300.0)
    pairs = np.array([slope_with_sd(t, 350 + correlated(rng, 300, rho=0.9, sd=0.5)) for _ in range(200)])
    inside = np.mean(np.abs(pairs[:, 0]) < 2 * pairs[:, 1])
    assert 0.85 <= inside <= 1.0
