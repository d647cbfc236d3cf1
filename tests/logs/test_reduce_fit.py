"""Reduction, fits, comparison of days, sensor doubt.

Sources: LAT and ATB definitions and cases after SAE J1393 (as summarised publicly); effectiveness after a
published supplier example; type K tolerances IEC 60584-1; the rest is synthetic truth or arithmetic.
"""

import numpy as np
import pytest
from scipy.optimize import curve_fit
from synthetic import channel, correlated, log

from heatproof.logs.cleaning.autocorrelation import effective_size, mean_of
from heatproof.logs.predicting.compare_days import compare_days, compare_series
from heatproof.logs.reading.records import LogError
from heatproof.logs.reducing.cooldown import coolant_fit, cooling_constant, pair_of_logs, soak_pair
from heatproof.logs.reducing.events import find_events
from heatproof.logs.reducing.fit import better_terms, fit_exponential, settle
from heatproof.logs.reducing.reduce import (
    Thermostat,
    air_to_boil,
    charge_rise_to_ambient,
    coolant_capability,
    cooler_effectiveness,
    heat_from_drop,
    limiting_ambient,
    radiator_drop,
    rise_over_ambient,
    to_ambient,
)
from heatproof.logs.reducing.reduction import reduced
from heatproof.logs.reducing.thermocouples import byte_sensor_doubt, thermocouple_doubt

C = 273.15


def test_lat_and_atb_cases():
    """Coolant out 98, ambient 27, limit 115 degC: LAT 44. Boiling at 126: ATB 55; base case 100: 29.
    Third case: 107, 90, 29: 46."""
    assert limiting_ambient(98 + C, 27 + C, 115 + C) - C == pytest.approx(44)
    assert air_to_boil(98 + C, 27 + C, 126 + C) - C == pytest.approx(55)
    assert air_to_boil(98 + C, 27 + C, 100 + C) - C == pytest.approx(29)
    assert limiting_ambient(90 + C, 29 + C, 107 + C) - C == pytest.approx(46)


def test_ambient_corrections():
    """One to one: 90 degC at 30 is 100 degC at 40. Charge rise 23.05 K at 303.15 K is 23.81 K at 313.15 K."""
    assert to_ambient(90 + C, 30 + C, 40 + C) == pytest.approx(100 + C)
    assert to_ambient(90 + C, 30 + C, 40 + C, heat_ratio=1.1) == pytest.approx(106 + C)
    assert charge_rise_to_ambient(23.05, 303.15, 313.15) == pytest.approx(23.81, abs=0.005)


def test_heat_from_coolant_drop():
    """110 kW in 150 L/min of 1.02 kg/L and 3.6 kJ/(kg K) is 11.98 K."""
    assert heat_from_drop(11.98, 0.150 / 60, 1020, 3600) == pytest.approx(110e3, rel=2e-3)


def charge_log(effectiveness, n=600, noise=0.0, seed=0):
    rng = np.random.default_rng(seed)
    t = np.arange(n) * 1.0
    ambient = np.full(n, 294.26)
    hot = ambient + 100 + 90 * np.sin(t / 40)
    out = hot - effectiveness * (hot - ambient)
    return log(
        channel("charge_in_temperature", t, hot + rng.normal(0, noise, n)),
        channel("charge_out_temperature", t, out + rng.normal(0, noise, n)),
        channel("ambient_temperature", t, ambient),
    )


def test_effectiveness():
    """Supplier example: 485.93 K in, 313.71 K out, ambient 294.26 K gives 0.8986."""
    t = np.arange(20.0)
    run = log(
        channel("charge_in_temperature", t, np.full(20, 485.93)),
        channel("charge_out_temperature", t, np.full(20, 313.71)),
        channel("ambient_temperature", t, np.full(20, 294.26)),
    )
    figure = cooler_effectiveness(run)
    assert figure.value == pytest.approx(0.8986, abs=2e-4)
    assert "reference air: ambient_temperature" in figure.notes
    noisy = cooler_effectiveness(charge_log(0.72, noise=1.0))
    assert noisy.value == pytest.approx(0.72, abs=4 * noisy.sd)
    assert 0 < noisy.sd < 0.01


def test_effectiveness_says_when_it_means_nothing():
    t = np.arange(20.0)
    cold = log(*(channel(q, t, np.full(20, 300.0)) for q in
                 ("charge_in_temperature", "charge_out_temperature", "ambient_temperature")))  # fmt: skip
    assert cooler_effectiveness(cold).standing == "not valid"
    swapped = charge_log(-0.3)
    assert cooler_effectiveness(swapped).standing == "not valid"
    with pytest.raises(LogError, match="no channel of quantity charge_in_temperature"):
        cooler_effectiveness(log(channel("oil_temperature", t, t + 300)))


def coolant_log(level, slope_per_s=0.0):
    t = np.arange(0, 600.0)
    return log(
        channel("coolant_temperature", t, level + slope_per_s * (t - 600)),
        channel("ambient_temperature", t, np.full(t.size, 27 + C)),
    )


@pytest.mark.parametrize(
    ("level", "slope", "standing"),
    [(108, 0.0, "valid"), (97, 0.0, "lower bound"), (90, 0.0, "lower bound"), (108, 0.05, "not valid")],
)
def test_lat_conditions(level, slope, standing):
    figures = coolant_capability(
        coolant_log(level + C, slope), T_allowed=115 + C, T_boil=126 + C,
        thermostat=Thermostat(88 + C, 98 + C), span=(0, 600),
    )  # fmt: skip
    assert {f.standing for f in figures} == {standing}
    if not slope:
        assert figures[0].value - C == pytest.approx(27 + 115 - level)
        assert figures[1].value - C == pytest.approx(27 + 126 - level)


def flat(t, level):
    return channel("ambient_temperature", t, np.full(t.size, level))


def test_rise_and_radiator():
    t = np.arange(0, 300.0)
    run = log(
        channel("intake_temperature", t, 310 + np.where(t > 100, 8.0, 0.0)),
        channel("ambient_temperature", t, np.full(t.size, 300.0)),
        channel("radiator_in_temperature", t, 370 + np.sin(t)),
        channel("radiator_out_temperature", t, 362 + np.sin(t)),
    )
    mean, highest = rise_over_ambient(run, spans=((150, 300),))
    assert (mean.value, highest.value) == pytest.approx((18, 18))
    assert radiator_drop(run).value == pytest.approx(8)


# ---- fits ----


@pytest.mark.parametrize(("terms", "truth"), [(1, (363, [-60], [400])), (2, (300, [40, 30], [300, 6000]))])
def test_noiseless_fit_is_exact(terms, truth):
    end, amps, taus = truth
    t = np.arange(0, 9000 if terms == 2 else 1800, 5.0) + 100
    x = end + sum(a * np.exp(-(t - 100) / tau) for a, tau in zip(amps, taus, strict=True))
    fit = fit_exponential(t, x, terms=terms, T_end=(end, 0.1) if terms == 2 else None)
    assert fit.T_end.value == pytest.approx(end, abs=0.05)
    assert [tau.value for tau in fit.time_constants] == pytest.approx(taus, rel=0.01)
    assert fit.at(t) == pytest.approx(x, abs=0.01)


def test_against_scipy_curve_fit_on_white_noise():
    rng = np.random.default_rng(8)
    t = np.arange(0, 1500, 2.0)
    x = 363 - 60 * np.exp(-t / 400) + rng.normal(0, 0.5, t.size)
    p, cov = curve_fit(lambda s, e, a, tau: e + a * np.exp(-s / tau), t, x, p0=(360, -50, 300))
    fit = fit_exponential(t, x)
    ours = (fit.T_end.value, fit.amplitudes[0].value, fit.time_constants[0].value)
    assert ours == pytest.approx(tuple(p), rel=2e-3)
    assert fit.T_end.sd == pytest.approx(np.sqrt(cov[0, 0]), rel=0.35)


@pytest.mark.parametrize(("rho", "low"), [(0.0, 0.88), (0.9, 0.88), (0.98, 0.85)])
def test_intervals_cover_the_truth(rho, low):
    """95 % intervals hold the truth in about 95 of 100 repeats, whatever the autocorrelation."""
    rng = np.random.default_rng(3)
    t = np.arange(0, 1800.0, 2.0)
    hits = np.zeros(2)
    for _ in range(100):
        fit = fit_exponential(t, 363 - 60 * np.exp(-t / 400) + correlated(rng, t.size, rho=rho, sd=0.5))
        tau, end = fit.time_constants[0], fit.T_end
        hits += [tau.low < 400 < tau.high, end.low < 363 < end.high]
    assert np.all(hits >= 100 * low)


def test_unfinished_run_is_extrapolated_or_refused():
    """Three time constants seen: settled value within 1 K. A third of one seen: said to be undetermined."""
    rng = np.random.default_rng(4)
    t = np.arange(0, 540.0)
    x = 380 - 50 * np.exp(-t / 180) + correlated(rng, t.size, rho=0.8, sd=0.2)
    good = settle(t, x)
    assert good.determined
    assert good.T_end.value == pytest.approx(380, abs=1.0)
    short = settle(t[:60], x[:60])
    assert not short.determined
    assert short.notes


def test_two_masses_are_told_from_one():
    rng = np.random.default_rng(5)
    t = np.arange(0, 7200.0, 4.0)
    noise = correlated(rng, t.size, rho=0.5, sd=0.2)
    two = 300 + 40 * np.exp(-t / 400) + 30 * np.exp(-t / 5000)
    for truth, wanted in ((two, 2), (300 + 70 * np.exp(-t / 2500), 1)):
        run = log(channel("coolant_temperature", t, truth + noise), flat(t, 300.0))
        assert coolant_fit(run, 0, 7200, cooling=True, resolution_K=0.1).terms == wanted
    one = fit_exponential(t, truth + noise)
    assert better_terms(one, one, t.size) == 1


@pytest.mark.parametrize(("minutes", "standing"), [(90, "valid"), (8, "not valid")])
def test_time_constant_of_cooling_after_key_off(minutes, standing):
    """The coolant first rises for three minutes, then falls to ambient with a time constant of an hour and a half.
    Eight minutes of it are 2 K, which is what the end is known to."""
    rng = np.random.default_rng(12)
    t = np.arange(0, 600 + 60.0 * minutes, 2.0)
    after = np.clip(t - 600, 0, None)
    cooled = 363 + np.minimum(after, 180) / 30 - 300
    level = 300 + cooled * np.exp(-np.clip(after - 180, 0, None) / 5400)
    run = log(
        channel("coolant_temperature", t, level + correlated(rng, t.size, rho=0.5, sd=0.1)),
        channel("engine_speed", t, np.where(t < 600, 40.0, 0.0)),
        flat(t, 300.0),
    )
    soak = next(e for e in find_events(run) if e.kind == "soak")
    (figure,) = cooling_constant(run, soak)
    assert figure.standing == standing
    assert "down to ambient" in figure.notes
    if standing == "valid":
        assert figure.value == pytest.approx(5400, abs=3 * figure.sd)
        assert figure.sd < 500
        assert figure in reduced(run, find_events(run))


def test_fit_refuses_what_it_cannot_fit():
    with pytest.raises(LogError, match="too few samples"):
        fit_exponential(np.arange(5.0), np.arange(5.0))
    with pytest.raises(LogError, match="does not change"):
        fit_exponential(np.arange(50.0), np.full(50, 300.0))


def test_soak_pair_inverts_the_law():
    """Two readings of a first-order cool-down give its time constant back."""
    end = 20 + 70 * np.exp(-2.0 / 2.5)
    pair = soak_pair(90 + C, end + C, 20 + C, 2 * 3600)
    assert pair.time_constant_s == pytest.approx(2.5 * 3600, rel=1e-9)
    with pytest.raises(LogError, match="not a cool-down"):
        soak_pair(50 + C, 60 + C, 20 + C, 3600)


def test_pair_of_logs_needs_dates():
    from datetime import datetime

    t = np.arange(0, 100.0)
    runs = [
        log(channel("coolant_temperature", t, np.full(100, level)), flat(t, 293.0), start=start)
        for level, start in ((363.0, datetime(2026, 1, 1, 10)), (323.0, datetime(2026, 1, 1, 13)))
    ]  # fmt: skip
    pair = pair_of_logs(*runs)
    assert pair.gap_s == pytest.approx(3 * 3600 - 99)
    assert pair.time_constant_s == pytest.approx((3 * 3600 - 99) / np.log(70 / 30))
    with pytest.raises(LogError, match="dates"):
        pair_of_logs(runs[0], log(runs[1].channels[0]))


# ---- two days ----


def test_effective_size_of_an_ar1_series():
    """n (1 − ρ)/(1 + ρ): 4,000 samples at ρ 0.9 are worth about 210."""
    rng = np.random.default_rng(6)
    sizes = [effective_size(correlated(rng, 4000, rho=0.9, sd=1.0)) for _ in range(30)]
    assert np.mean(sizes) == pytest.approx(4000 * 0.1 / 1.9, rel=0.1)
    assert mean_of(np.full(50, 3.0)).value == 3.0


@pytest.mark.parametrize("rho", [0.0, 0.9, 0.98])
def test_confidence_of_no_difference_is_honest(rho):
    """Equal days: "different" at 95 % in about 5 of 100 repeats; the naive test is mostly wrong at ρ 0.98."""
    rng = np.random.default_rng(9)
    pairs = [tuple(correlated(rng, 900, rho=rho, sd=2.0) for _ in "ab") for _ in range(200)]
    wrong = np.mean([compare_series(a, b).verdict != "cannot tell" for a, b in pairs])
    assert wrong <= 0.10
    if rho == 0.98:
        naive = np.mean([abs(a.mean() - b.mean()) > 1.96 * np.hypot(a.std(), b.std()) / 30 for a, b in pairs])
        assert naive > 0.5


def test_a_real_difference_is_found():
    rng = np.random.default_rng(10)
    t = np.arange(0, 900.0)
    days = [
        log(channel("oil_temperature", t, level + correlated(rng, 900, rho=0.9, sd=1.5)),
            channel("ambient_temperature", t, np.full(900, ambient)))
        for level, ambient in ((390, 300), (388, 303))
    ]  # fmt: skip
    result = compare_days(*days, "oil_temperature")
    assert result.difference_K == pytest.approx(-5, abs=1.0)
    assert result.verdict == "B is lower"
    assert result.confidence_lower > 0.99
    assert result.low_K < -5 < result.high_K
    raw = compare_days(*days, "oil_temperature", over_ambient=False)
    assert raw.difference_K == pytest.approx(-2, abs=1.0)


# ---- sensors ----


def test_thermocouple_doubt():
    """IEC 60584-1 class 1: 1.5 K at 100 degC, 3.8 K at 950 degC; rectangular spread (JCGM 100:2008)."""
    cool = thermocouple_doubt(100 + C, cold_junction_K=0.0, resolution_K=0.0)
    assert cool.own_K == pytest.approx(1.5 / np.sqrt(3))
    hot = thermocouple_doubt(950 + C, cold_junction_K=1.0, resolution_K=0.0)
    assert hot.own_K == pytest.approx(3.8 / np.sqrt(3))
    assert hot.total_K == pytest.approx(np.hypot(3.8, 1.0) / np.sqrt(3))
    assert byte_sensor_doubt(tolerance_K=0.0).own_K == pytest.approx(1 / np.sqrt(12))
