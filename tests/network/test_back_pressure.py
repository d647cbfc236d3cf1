"""An exhaust too narrow for the power: the engine settles at the most it can reach, found by bracket, and says so.

The highest brake power is checked against a plain scan over air; that narrower pipes never give more power, and that the
power past the fold is no more than that before it, follow from the balance itself.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import heatproof
from heatproof.assembly.duties.samples import duty_samples
from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.read import read_project
from heatproof.network import back_pressure, engine
from heatproof.network import signals as S
from heatproof.network.engine import DEMAND, SPEED
from heatproof.network.solve import make_work, uniform_state
from heatproof.numerics.compiled import compiled
from heatproof.verdict.watch import held_by_exhaust, short_of_power

EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"
NARROW = (0.018, 0.016, 0.014)  # m, tail pipe; the example has 48 mm for 165 kW


# Ways in from Python to kernels that the product calls from kernels only.
@compiled
def breathing(model, around, N, T_m, p_intake):
    return back_pressure.breathing(model, around, N, T_m, p_intake)


@compiled
def with_air(model, around, sample, T, p_intake, air, mixture, sig):
    return back_pressure.with_air(model, around, sample, T, p_intake, air, mixture, sig)


@compiled
def air_of_most_power(model, around, sample, T, p_intake, air_full, sig):
    return back_pressure.air_of_most_power(model, around, sample, T, p_intake, air_full, sig)


@compiled
def engine_signals(model, around, sample, T, p_intake, sig):
    engine.engine_signals(model, around, sample, T, p_intake, sig)


@cache
def project():
    return read_project(EXAMPLE)


@cache
def with_tail(bore: float, duty: str = "flat_out") -> Solved:
    """The example with another tail pipe; the door that refuses such pipes is passed by."""
    variant = project().variant().with_value("exhaust.tailpipe.bore", bore)
    return solve(variant, project().duties[duty], lay_network(variant))


def instant(bore: float):
    """Network, surroundings, a sample that asks for all the engine has at rated speed, and temperatures."""
    run = with_tail(bore).run
    sample = run.duty.samples[run.duty.key_off // 2].copy()
    sample[SPEED], sample[DEMAND] = project().variant().engine.rated_speed, 165e3
    work = make_work(run.network, run.around)
    work.T[:] = np.concatenate(
        [run.state[run.time.size // 2, : len(run.network.masses)], run.around.boundary]
    )
    return run.network.model, run.around, sample, work


@pytest.mark.parametrize("bore", NARROW)
def test_the_highest_power_is_that_of_a_scan(bore):
    model, around, sample, work = instant(bore)
    T, rich = work.T, model.engine[0]["mixture_full"]
    *_, full = breathing(model, around, sample[SPEED], T[model.engine[0]["plenum"]], 0.0)
    scan = np.linspace(0.021, 1.0, 2000) * full
    power = np.array([with_air(model, around, sample, T, 0.0, air, rich, work.sig) for air in scan])
    air, most = air_of_most_power(model, around, sample, T, 0.0, full, work.sig)
    assert power.max() - 10.0 < most < power.max() + 50.0  # W
    assert air == pytest.approx(scan[power.argmax()], rel=0.03)
    assert air < 0.9 * full


@pytest.mark.parametrize("duty", ["flat_out", "ten_pulls"])
def test_a_narrower_tail_never_gives_more_power(duty):
    """Was: not solved, pumping work and gas temperature running away together."""
    runs = [with_tail(bore, duty).run for bore in NARROW]
    most = [run.signal[:, S.BRAKE_POWER].max() for run in runs]
    assert (np.diff(most) < 1.0).all()  # W
    for run in runs:
        assert (run.signal[:, S.HELD_BY_EXHAUST] > 0.5).any()
        assert abs(run.closure) < 1e-4
        assert (
            run.signal[:, S.EXHAUST_TEMPERATURE].max() < 1900.0
        )  # K; hotter than engines' gas, as so much is spent on pushing it out, but no running away


def test_a_demand_below_the_highest_power_is_met_on_the_near_side():
    """Half the most: met, with less air than the most takes, and nothing said."""
    model, around, sample, work = instant(0.026)
    T = work.T
    *_, full = breathing(model, around, sample[SPEED], T[model.engine[0]["plenum"]], 0.0)
    air, most = air_of_most_power(model, around, sample, T, 0.0, full, work.sig)
    sample[DEMAND] = 0.5 * most
    engine_signals(model, around, sample, T, 0.0, work.sig)
    assert work.sig[S.BRAKE_POWER] == pytest.approx(0.5 * most, rel=1e-3)
    assert work.sig[S.AIR] < air


def test_the_verdict_says_what_holds_the_engine():
    solved = with_tail(0.018)
    (said,) = held_by_exhaust("flat_out", solved)
    reached = solved.run.signal[:-1][solved.run.signal[:-1, S.HELD_BY_EXHAUST] > 0.5, S.BRAKE_POWER].max()
    assert "the exhaust holds the engine at" in said.what
    assert f"{reached / 1e3:.1f} kW" in said.what
    assert "back pressure" in said.what
    assert "wider pipes" in said.next_step
    assert not any("not delivered" in other.what for other in short_of_power("flat_out", solved))


def test_the_example_is_not_held():
    for bore in (0.05, 0.045):
        assert list(held_by_exhaust("flat_out", with_tail(bore))) == []
    one = project().duties["flat_out"]
    variant = project().variant()
    network = lay_network(variant)
    around, work = surroundings(variant, network, one), None
    work = make_work(network, around)
    work.T[:] = np.concatenate([uniform_state(network, around)[: len(network.masses)], around.boundary])
    for sample in duty_samples(one, variant).samples[:50]:
        engine_signals(network.model, around, sample, work.T, 0.0, work.sig)
        assert work.sig[S.HELD_BY_EXHAUST] == 0.0
