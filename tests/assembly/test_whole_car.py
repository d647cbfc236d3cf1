"""The whole car through whole duties: balance, ledger, and what the trade expects of a change.

The expected directions are common practice, no source; sizes are asserted only as far as physics gives a bound.
"""

import numpy as np
import pytest
from whole_car import (
    STANDING,
    at,
    at_altitude,
    cooler_in_a_duct,
    cooler_in_front,
    core_flow,
    fed_after_the_head,
    flow,
    highest,
    idled,
    intake_rise,
    peak,
    short_of_boost,
    solved,
    without_water,
)

from heatproof.network import signals as S
from heatproof.network.ledger import NUMERICAL, split_rise


@pytest.mark.parametrize("duty", ["flat_out", "long_hill", "ten_pulls", "town_crawl", "track_session"])
def test_energy_closes(duty):
    """Heat in less out less stored, integrated with the step: at most 1e-4 of heat in (conservation)."""
    assert abs(solved(duty).run.closure) < 1e-4


def test_ledger_sums_to_the_rise():
    """All rows sum to the rise; the numerical remainder stays under 0.1 % of it at the parts' own peaks."""
    run = solved("flat_out").run
    names = ("brake_line", "loom", "bearing_housing", "coolant.engine_out", "oil.sump", "bulkhead")
    for name in names:
        i = run.network.mass(name)
        row = int(np.argmax(run.state[:, i]))
        ledger = split_rise(run, np.array([row]))
        rise = ledger.total[0, i]
        assert ledger.rise[0, :, i].sum() == pytest.approx(rise, rel=1e-6)
        assert abs(ledger.rise[0, ledger.causes.index(NUMERICAL), i]) <= 1e-3 * rise


def test_sealing_the_gaps_raises_core_flow_at_speed():
    sealed = solved("flat_out")
    open_ = solved("flat_out", leave=("seal_strips",))
    assert core_flow(sealed, 500.0) > 1.01 * core_flow(open_, 500.0)


def test_sealing_the_gaps_stops_recirculation_at_standstill():
    sealed = solved("town_crawl")
    open_ = solved("town_crawl", leave=("seal_strips",))
    back = flow(open_, "air.gap_round_radiator", STANDING)
    assert back < -0.01  # hot air comes back through the gap
    assert abs(flow(sealed, "air.gap_round_radiator", STANDING)) < 0.3 * abs(back)


def test_an_open_filter_breathes_bay_air():
    open_ = intake_rise(solved("flat_out", fit=("open_filter",)))
    assert open_ > 15.0
    assert intake_rise(solved("flat_out")) < open_ - 5.0


def test_a_baffle_helps_little_while_gaps_remain_and_a_lid_much():
    """In the crawl: the cut-down box breathes tens of kelvin over ambient, with a lid a few."""
    cut = solved("town_crawl", leave=("airbox_lid",))
    baffle = solved("town_crawl", leave=("airbox_lid",), fit=("airbox_baffle",))
    lid = solved("town_crawl")
    rise = {name: intake_rise(s) for name, s in (("cut", cut), ("baffle", baffle), ("lid", lid))}
    assert rise["cut"] > 15.0
    assert 0.0 < rise["cut"] - rise["baffle"] < 0.3 * rise["cut"]
    assert rise["lid"] < 8.0


def test_turbo_water_lowers_the_bearing_housing():
    """By order 100 K after key-off, and by less while oil flows through it and carries heat off as well."""
    wet = solved("flat_out")
    dry = without_water("flat_out")
    soaking = peak(dry, "bearing_housing", after_key_off=True) - peak(
        wet, "bearing_housing", after_key_off=True
    )
    driving = at(dry, "bearing_housing", 550.0) - at(wet, "bearing_housing", 550.0)
    assert 60.0 < soaking < 300.0
    assert 20.0 < driving < soaking - 20.0


def test_water_returned_ahead_of_the_radiator_leaves_the_engine_inlet_cooler():
    """The turbo's heat meets the radiator before the engine: by about that heat over the coolant's m cp."""
    ahead = solved("long_hill")
    to_engine = solved("long_hill", leave=("rising_water_line",))
    gain = at(to_engine, "coolant.engine_in", 650.0) - at(ahead, "coolant.engine_in", 650.0)
    assert 0.1 < gain < 3.0


def test_water_fed_before_the_head_is_cooler_than_after_it():
    before, after = solved("long_hill"), fed_after_the_head()
    for mass in ("coolant.turbo_in", "bearing_housing"):
        assert at(before, mass, 650.0) < at(after, mass, 650.0) - 1.0


def test_a_charge_cooler_in_front_costs_the_radiator_some_kelvin():
    """Against the same core in a duct of its own, where it neither warms nor blocks the radiator's air.

    The fan is held at its low speed in both.
    """
    in_front, apart = cooler_in_front(), cooler_in_a_duct()
    cost = at(in_front, "coolant.engine_out", 650.0) - at(apart, "coolant.engine_out", 650.0)
    assert 0.3 < cost < 20.0


def test_altitude_takes_from_cooling_air_what_density_takes():
    """Ram pressure and losses both follow density, so core flow does too (ideal gas, Bernoulli)."""
    low, high = at_altitude("flat_out", 0.0), at_altitude("flat_out", 2500.0)
    thinner = high.run.around.density / low.run.around.density
    assert 0.7 < thinner < 0.8  # ISO 2533: 0.781 at the standard's own temperatures
    assert core_flow(high, 500.0) / core_flow(low, 500.0) == pytest.approx(thinner, rel=0.05)
    rise = at(high, "coolant.engine_out", 550.0) - at(low, "coolant.engine_out", 550.0)
    assert rise > 1.0


def test_altitude_takes_from_the_compressor_what_pressure_takes():
    """The same boost over ambient asks for (p_a + b)/p_a: at 2,500 m a higher ratio, and the turbine falls short."""
    low, high = at_altitude("ten_pulls", 0.0), at_altitude("ten_pulls", 2500.0)
    ratio_low, ratio_high = highest(low, S.PRESSURE_RATIO), highest(high, S.PRESSURE_RATIO)
    p_low, p_high = low.run.around.pressure, high.run.around.pressure
    b_low = highest(low, S.MANIFOLD_PRESSURE) - p_low
    b_high = highest(high, S.MANIFOLD_PRESSURE) - p_high
    expected = (1.0 + b_high / p_high) / (1.0 + b_low / p_low)
    assert ratio_high / ratio_low == pytest.approx(expected, rel=0.03)
    assert ratio_high > 1.1 * ratio_low
    assert short_of_boost(high) > short_of_boost(low)


def test_a_blanket_cools_the_neighbours_and_heats_the_housing():
    on = solved("flat_out")
    off = solved("flat_out", leave=("turbine_blanket",))
    assert peak(on, "turbine_housing") > peak(off, "turbine_housing") + 10.0
    assert peak(on, "clutch_line") < peak(off, "clutch_line") - 2.0


def test_idling_before_key_off_lowers_the_soak_peak():
    """Common practice, no source: 30 s to 3 min of idling before key-off.

    The turbo's water is not asked: it reaches saturation either way in this car.
    """
    at_once, idled_down = idled(0.0), idled(180.0)
    for mass in ("loom", "turbine_housing", "bulkhead"):
        assert peak(idled_down, mass, after_key_off=True) < peak(at_once, mass, after_key_off=True)
