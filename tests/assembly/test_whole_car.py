"""The whole car through whole duties: balance, ledger, and what the trade expects of a change.

The expected directions are common practice, no source; sizes are asserted only as far as physics gives a bound.
"""

import numpy as np
import pytest

from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.network.ledger import NUMERICAL, split_rise


def solved(project, duty: str, *, fit: tuple[str, ...] = (), leave: tuple[str, ...] = ()) -> Solved:
    variant = project.variant((set(project.fitted) | set(fit)) - set(leave))
    return solve(variant, project.duties[duty], lay_network(variant))


def peak(s: Solved, mass: str, *, after_key_off: bool = False) -> float:
    """Highest temperature of a mass, degC."""
    run = s.run
    rows = run.time >= run.duty.key_off if after_key_off else run.time >= 0.0
    return float(run.state[rows, run.network.mass(mass)].max() - 273.15)


def flow(s: Solved, branch: str, at: float) -> float:
    """Flow of a branch (kg/s) at a time (s)."""
    return float(np.interp(at, s.run.time, s.run.flow[:, s.run.network.branches.index(branch)]))


def core_flow(s: Solved, at: float) -> float:
    return flow(s, "air.radiator_open", at) + flow(s, "air.radiator_covered", at)


@pytest.mark.parametrize("duty", ["flat_out", "long_hill", "ten_pulls", "town_crawl", "track_session"])
def test_energy_closes(project, duty):
    """Heat in less out less stored, integrated with the step: at most 1e-4 of heat in (conservation)."""
    assert abs(solved(project, duty).run.closure) < 1e-4


def test_ledger_sums_to_the_rise(project):
    """All rows sum to the rise; the numerical remainder stays under 0.1 % of it at the parts' own peaks."""
    run = solved(project, "flat_out").run
    names = ("brake_line", "loom", "bearing_housing", "coolant.engine_out", "oil.sump", "bulkhead")
    for name in names:
        i = run.network.mass(name)
        row = int(np.argmax(run.state[:, i]))
        ledger = split_rise(run, np.array([row]))
        rise = ledger.total[0, i]
        assert ledger.rise[0, :, i].sum() == pytest.approx(rise, rel=1e-6)
        assert abs(ledger.rise[0, ledger.causes.index(NUMERICAL), i]) <= 1e-3 * rise


def test_sealing_the_gaps_raises_core_flow_at_speed(project):
    sealed = solved(project, "flat_out")
    open_ = solved(project, "flat_out", leave=("seal_strips",))
    assert core_flow(sealed, 500.0) > 1.01 * core_flow(open_, 500.0)


def test_sealing_the_gaps_stops_recirculation_at_standstill(project):
    at = 24.0 + 20 * 45.0  # standing, fan on for the air conditioning
    sealed = solved(project, "town_crawl")
    open_ = solved(project, "town_crawl", leave=("seal_strips",))
    back = flow(open_, "air.gap_round_radiator", at)
    assert back < -0.01  # hot air comes back through the gap
    assert abs(flow(sealed, "air.gap_round_radiator", at)) < 0.3 * abs(back)


def test_an_open_filter_breathes_bay_air(project):
    lid = solved(project, "flat_out")
    open_ = solved(project, "flat_out", fit=("open_filter",))
    rows = lid.run.time < lid.run.duty.key_off
    i = lid.run.network.mass("charge.filter")
    ambient = lid.run.around.temperature
    rows_open = open_.run.time < open_.run.duty.key_off
    assert open_.run.state[rows_open, i].max() - ambient > 15.0
    assert lid.run.state[rows, i].max() < open_.run.state[rows_open, i].max() - 5.0


def test_turbo_water_lowers_the_bearing_housing(project):
    wet = solved(project, "flat_out")
    dry = solved(project, "flat_out", fit=("no_turbo_water",), leave=("rising_water_line",))
    gain = peak(dry, "bearing_housing", after_key_off=True) - peak(wet, "bearing_housing", after_key_off=True)
    assert gain > 30.0


def test_a_blanket_cools_the_neighbours_and_heats_the_housing(project):
    on = solved(project, "flat_out")
    off = solved(project, "flat_out", leave=("turbine_blanket",))
    assert peak(on, "turbine_housing") > peak(off, "turbine_housing") + 10.0
    assert peak(on, "clutch_line") < peak(off, "clutch_line") - 2.0


def test_idling_before_key_off_lowers_the_soak_peak(project):
    """Common practice, no source: 30 s to 3 min of idling before key-off.

    The turbo's water is not asked: it reaches saturation either way in this car.
    """
    duty = project.duties["flat_out"]
    variant = project.variant()
    network = lay_network(variant)
    at_once = solve(variant, duty.model_copy(update={"idle_before_key_off": 0.0}), network)
    idled = solve(variant, duty.model_copy(update={"idle_before_key_off": 180.0}), network)
    for mass in ("loom", "turbine_housing", "bulkhead"):
        assert peak(idled, mass, after_key_off=True) < peak(at_once, mass, after_key_off=True)
