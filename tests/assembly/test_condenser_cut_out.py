"""A condenser no air cools: the pressure switch stops the compressor, and the heat is no more than gets away.

Temperatures of saturated R134a from CoolProp; the mean heat of a switching compressor against its closed form.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

import heatproof
from heatproof.assembly.cores import SWITCH_SPAN
from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.kit.fields import fields_of
from heatproof.kit.read import read_project
from heatproof.kit.records.air import Core
from heatproof.network import arrays as A
from heatproof.network import signals as S
from heatproof.network.builder import NetworkBuilder
from heatproof.network.paths import paths_at
from heatproof.network.solve import Duty, solve_duty, uniform_state
from heatproof.verdict.watch import condenser_cut_out

PICKUP = Path(heatproof.__file__).parent / "examples" / "pickup"
BAR = 1e5


def test_default_is_saturated_refrigerant_at_the_usual_switch():
    """30 bar, the middle of 28 to 32 bar, and 24 bar, where it comes back (common practice, no source)."""
    out, back = (PropsSI("T", "P", p * BAR, "Q", 1, "R134a") for p in (30.0, 24.0))
    assert fields_of(Core)["cut_out_temperature"].default == pytest.approx(out, abs=0.5)
    assert pytest.approx(out - back, abs=1.0) == SWITCH_SPAN


@pytest.mark.parametrize("G", [0.0, 5.0, 40.0, 400.0])
def test_heat_and_loss_meet_between_switching_off_and_on(G):
    """5 kW into metal that loses G (T − T_a): P (1 − (T − T_1)/ΔT) = G (T − T_a), or full heat below T_1."""
    b = NetworkBuilder()
    b.mass("condenser", 2000.0)
    b.conduction("condenser", "ambient", G)
    b.source("condenser", S.ONE, 5000.0, "air conditioning", fades=(350.0, 10.0))
    network = b.build()
    around = still(network)
    run = solve_duty(network, around, Duty(np.zeros((3600, 5)), 3600), uniform_state(network, around))
    full = 300.0 + (5000.0 / G if G else np.inf)
    between = (5000.0 * (1.0 + 35.0) + G * 300.0) / (500.0 + G)
    expected = full if full < 350.0 else between
    assert run.state[-1, 0] == pytest.approx(expected, abs=0.02)
    assert run.state[:, 0].max() < 360.01
    assert abs(run.closure) < 1e-6


def still(network):
    """A day of 300 K with no wind."""
    return A.Surroundings(
        pressure=101325.0,
        temperature=300.0,
        density=1.17,
        boundary=np.full(len(network.boundary_temperatures), 300.0),
        sun=0.0,
        saturation_p0=30e3,
        saturation_step=5e3,
        saturation_T=np.linspace(340.0, 430.0, 100)[None, :],
        tanks=A.records(
            A.TANK,
            [
                {
                    "fluid": A.COOLANT,
                    "mass": -1,
                    "z": 0.0,
                    "cap_pressure": 1e5,
                    "air": 1e-3,
                    "liquid": 8e-3,
                    "fill_temperature": 293.15,
                }
            ],
        ),
    )


@cache
def crawling(cut_out: float | None = None) -> Solved:
    """The pickup in town with the air conditioning on; cut_out: another temperature (K) of the switch."""
    project = read_project(PICKUP)
    variant = project.variant()
    if cut_out is not None:
        variant = variant.with_value("cores.condenser.cut_out_temperature", cut_out)
    return solve(variant, project.duties["town_crawl"], lay_network(variant))


def metal(solved: Solved) -> np.ndarray:
    """K while the air conditioning runs."""
    run = solved.run
    on = run.signal[:, S.AIR_CONDITIONING] > 0.5
    return run.state[on, run.network.mass("core.condenser")]


def test_the_pickup_never_meets_its_switch():
    assert metal(crawling()).max() < 273.15 + 86.0 - SWITCH_SPAN
    assert list(condenser_cut_out("town_crawl", crawling())) == []


def test_past_the_switch_the_metal_stays_below_it_and_the_verdict_says_so():
    held = crawling(273.15 + 65.0)
    assert 273.15 + 55.0 < metal(held).max() < 273.15 + 65.0
    (said,) = condenser_cut_out("town_crawl", held)
    assert "condenser" in said.what
    assert "pressure switch" in said.what
    assert "more air" in said.next_step
    assert abs(held.run.closure) < 1e-4


def test_ways_of_heat_count_what_is_given_off():
    """The path named air conditioning carries the reduced heat, not the rated one."""
    run = crawling(273.15 + 65.0).run
    on = run.signal[:, S.AIR_CONDITIONING] > 0.5
    row = int(np.where(on, run.state[:, run.network.mass("core.condenser")], 0.0).argmax())
    (heat,) = [path.heat for path in paths_at(run, row) if path.first == "air conditioning"]
    T = run.state[row, run.network.mass("core.condenser")]
    rated = float(run.network.model.source["factor"][np.isfinite(run.network.model.source["fades_from"])][0])
    assert heat == pytest.approx(rated * (1.0 - (T - 273.15 - 55.0) / SWITCH_SPAN), rel=1e-9)
    assert heat < rated
