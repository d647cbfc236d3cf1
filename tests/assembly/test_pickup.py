"""The pickup with a water-cooled charge cooler through its duties: balance, bands, and what a change does.

Bands and directions are common practice, no source.
"""

from functools import lru_cache

import numpy as np
import pytest

from heatproof.assembly.model import lay_network, solve
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.media.coolants import saturation_temperature_coolant
from heatproof.network import signals as S
from heatproof.network.paths import paths_at
from heatproof.network.solve import Run
from heatproof.network.transient import Stepping
from heatproof.verdict.judged import judged
from heatproof.verdict.margins import margins_in, saturation_of

ZERO = 273.15
LOW = "circuits.low_temperature"
SENSIBLE = (
    "downpipe_wrap",
    "rail_shield",
    "wing_shield",
    "seal_strips",
    "strong_fans",
    "deep_radiator",
    "oil_cooler",
    "deep_low_temperature_radiator",
    "fuel_line_sleeve",
    "fan_run_on",
    "turbo_water_pump",
)
"""Measures fitted beside those of the kit as it stands."""


@pytest.fixture(scope="module")
def run(pickup: Project):
    """`run(duty, *measures)`: as fitted with further measures, each once."""

    @lru_cache
    def solved(duty: str, *fit: str) -> Run:
        return of(pickup.variant({*pickup.fitted, *fit}), pickup, duty)

    return solved


def of(variant: Variant, project: Project, duty: str, **changes: object) -> Run:
    record = project.duties[duty].model_copy(update=changes)
    return solve(variant, record, lay_network(variant), Stepping(tolerance=0.5)).run


def peak(run: Run, mass: str) -> float:
    """Highest while the engine runs, degC."""
    rows = run.time < run.duty.key_off
    return float(run.state[rows, run.network.mass(mass)].max() - ZERO)


def test_it_is_large_enough_to_be_an_example(pickup: Project):
    variant = pickup.variant()
    assert len({j.part.removesuffix(".boiling") for j in judged(variant)}) >= 25
    assert len(lay_network(variant).masses) >= 120
    assert len(pickup.duties) >= 4
    assert len(pickup.measures) >= 10


DUTIES = ("mountain_tow", "motorway", "town_crawl", "eight_pulls", "sand_track")


@pytest.mark.parametrize("duty", DUTIES)
def test_energy_closes(duty: str, run):
    assert abs(run(duty).closure) <= 1e-6


def test_temperatures_are_those_of_the_trade(run):
    tow = run("mountain_tow")
    ambient = tow.around.temperature - ZERO
    assert 10.0 < peak(tow, "charge.plenum") - ambient < 25.0
    assert 10.0 < peak(tow, "charge.inlet") - ambient < 30.0
    assert ambient + 5.0 < peak(tow, f"{LOW}.cooler_in") < peak(tow, f"{LOW}.cooler_out") < 75.0
    assert peak(tow, f"{LOW}.cooler_out") < peak(tow, "charge.cooler_out") + 2.0
    assert 100.0 < peak(tow, "coolant.engine_out") < 130.0
    assert 100.0 < peak(tow, "oil.sump") < 140.0
    assert 850.0 < peak(tow, "exhaust.ports") < 1000.0
    assert 550.0 < peak(tow, "turbine_housing") < 850.0
    for part in ("brake_line", "fuel_line", "loom", "body_mount", "engine_mount", "cam_cover"):
        assert 70.0 < tow.state[:, tow.network.mass(part)].max() - ZERO < 180.0, part


def test_charge_and_water_exchange_the_same_heat(run):
    """Heat out of the charge equals heat into the water, after eighteen minutes of the same grade."""
    tow = run("mountain_tow")
    row = int(np.searchsorted(tow.time, 18 * 60.0)) - 1
    given = [p.heat for p in paths_at(tow, row) if p.kind == "exchanger" and p.name == "charge_cooler"]
    assert given[0] == pytest.approx(-given[1], rel=0.02)
    assert 3e3 < given[0] < 12e3
    off = [p.heat for p in paths_at(tow, row) if p.name.startswith("low_temperature_radiator in")]
    assert sum(q for q in off if q > 0) == pytest.approx(given[0], rel=0.1)


def test_each_circuit_has_its_own_pressure(run):
    """By hand at one row: ambient + its own tank + flow + static head, through its own saturation curve."""
    tow = run("mountain_tow")
    row = int(np.searchsorted(tow.time, 900.0))
    main, low = tow.signal[row, S.SYSTEM_PRESSURE], tow.signal[row, S.SYSTEM_PRESSURE + 1]
    assert low <= 0.5e5 + 1.0
    assert main > low + 0.3e5
    junction = tow.network.junctions.index(f"{LOW}.cooler_out")
    rho = 1040.0
    p = tow.around.pressure + low + tow.pressure[row, junction] + rho * 9.81 * (1.14 - 1.04)
    assert saturation_of(tow, f"{LOW}.cooler_out")[row] == pytest.approx(
        saturation_temperature_coolant(float(p), 0.4), abs=0.1
    )
    assert np.isclose(tow.pressure[row, tow.network.junctions.index(f"{LOW}.tank")], 0.0)


def test_failed_pump_raises_charge_temperature(pickup: Project, run):
    stopped = pickup.variant().replace(f"{LOW}.lines.pump.while_driving", False)
    failed = of(stopped, pickup, "mountain_tow")
    assert peak(failed, "charge.plenum") > peak(run("mountain_tow"), "charge.plenum") + 15.0


def test_larger_low_temperature_radiator_and_stronger_pump_lower_it(run):
    usual = peak(run("mountain_tow"), "charge.plenum")
    deep = peak(run("mountain_tow", "deep_low_temperature_radiator"), "charge.plenum")
    pump = peak(run("mountain_tow", "strong_water_pump"), "charge.plenum")
    assert usual - 10.0 < deep < usual - 0.5
    assert pump < usual - 0.2


def test_air_conditioning_raises_coolant(pickup: Project, run):
    off = of(pickup.variant(), pickup, "mountain_tow", air_conditioning=False)
    assert peak(run("mountain_tow"), "coolant.engine_out") > peak(off, "coolant.engine_out") + 1.0
    assert peak(run("mountain_tow"), "air.between") > peak(off, "air.between") + 1.0


def test_run_on_of_the_low_temperature_pump_carries_heat_away_after_key_off(run):
    def flow(r: Run, after: float) -> float:
        k = r.network.branches.index(f"{LOW}.radiator")
        return float(np.interp(r.duty.key_off + after, r.time, r.flow[:, k]))

    usual, on = run("mountain_tow"), run("mountain_tow", "water_pump_run_on")
    assert flow(on, 120.0) > 0.2 > 0.05 > abs(flow(usual, 120.0))
    assert abs(flow(on, 600.0)) < 0.05


def test_as_fitted_some_parts_fail_and_a_sensible_set_holds(pickup: Project, run):
    fitted = margins_in(run("mountain_tow"), judged(pickup.variant()))
    over = {part for part, m in fitted.items() if m.margin <= 0.0}
    assert len(over) >= 3
    better = pickup.variant({*pickup.fitted, *SENSIBLE})
    for duty in DUTIES:
        margins = margins_in(run(duty, *SENSIBLE), judged(better))
        worst = min(margins, key=lambda part: margins[part].margin)
        assert margins[worst].margin > 2.0, (duty, worst)
