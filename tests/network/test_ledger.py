"""The ledger: rises split by cause, against hand solutions, on random networks, on the demo."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_networks import DUTIES, T_AMBIENT, hold, liquid

from heatproof.network import signals as S
from heatproof.network.arrays import COOLANT
from heatproof.network.builder import NetworkBuilder
from heatproof.network.engine import COLUMNS, SPEED
from heatproof.network.laid import Network
from heatproof.network.ledger import NUMERICAL, START, Ledger, split_rise


def share(ledger, row: int, cause: str, mass: str) -> float:
    return float(ledger.rise[row, ledger.causes.index(cause), ledger.masses.index(mass)])


def two_lumps() -> Ledger:
    """a (P = 100 W) – 2 W/K – b (Q = 60 W) – 5 W/K – ambient, at rest."""
    b = NetworkBuilder()
    b.mass("a", 50.0)
    b.mass("b", 80.0)
    b.conduction("a", "b", 2.0)
    b.conduction("b", "ambient", 5.0)
    b.source("a", S.ONE, 100.0, "P")
    b.source("b", S.ONE, 60.0, "Q")
    run = hold(b.build(), 1500)
    return split_rise(run, np.array([run.time.size - 1]))


def test_two_sources_against_the_hand_solution():
    """Linear: a - b - ambient with sources P and Q. At rest T_b = (P + Q)/G2, T_a = T_b + P/G1 over ambient."""
    ledger = two_lumps()
    assert share(ledger, 0, "P", "a") == pytest.approx(100.0 / 2.0 + 100.0 / 5.0, abs=1e-3)
    assert share(ledger, 0, "P", "b") == pytest.approx(100.0 / 5.0, abs=1e-3)
    assert share(ledger, 0, "Q", "a") == pytest.approx(60.0 / 5.0, abs=1e-3)
    assert share(ledger, 0, "Q", "b") == pytest.approx(60.0 / 5.0, abs=1e-3)
    assert share(ledger, 0, START, "a") == pytest.approx(0.0, abs=1e-6)


def test_start_state_decays_as_it_must():
    """One lump: the start's share is its excess times exp(-t/tau), the source's share the rest."""
    b = NetworkBuilder()
    b.mass("a", 100.0)
    b.conduction("a", "ambient", 1.0)
    b.source("a", S.ONE, 50.0, "P")
    run = hold(b.build(), 100, T={"a": T_AMBIENT + 200.0}, tolerance=1e-3)
    ledger = split_rise(run, np.array([0, run.time.size - 1]))
    left = np.exp(-1.0)
    assert share(ledger, 0, START, "a") == pytest.approx(200.0)
    assert share(ledger, 1, START, "a") == pytest.approx(200.0 * left, abs=0.02)
    assert share(ledger, 1, "P", "a") == pytest.approx(50.0 * (1.0 - left), abs=0.02)


def random_network(seed: int) -> Network:
    """Lumps with conduction, radiation, a liquid loop and two causes."""
    rng = np.random.default_rng(seed)
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(cp=3600.0))
    b.network("loop", COOLANT, buoyant=False)
    names = [b.mass(f"m{k}", float(10.0 ** rng.uniform(0.5, 3.5))) for k in range(int(rng.integers(2, 9)))]
    b.conduction(names[0], "ambient", float(rng.uniform(0.5, 20.0)))
    for k in range(1, len(names)):
        i = names[int(rng.integers(0, k))]
        b.conduction(i, names[k], float(10.0 ** rng.uniform(-1, 1.5)))
        b.radiation(names[k], rng.choice([i, "ambient"]), float(10.0 ** rng.uniform(-3, -1)))
    b.mass("cell", 500.0, kind="coolant")
    b.mass("tank", 3000.0, kind="coolant")
    b.junction("loop", "tank", "tank", 0.0, fixed=True)
    b.junction("loop", "head", "cell", 0.0)
    law = {"a": 1e3, "b": 1e5, "rho_ref": 1e3, "nu_ref": 1e-6, "cp": 3600.0}
    b.branch("loop", "pump", "tank", "head", head=2e4, head_signal=S.ENGINE_SPEED, head_reference=50.0, **law)
    b.branch("loop", "back", "head", "tank", **law)
    b.wetted(names[-1], "cell", "back", G_ref=20.0, m_ref=0.1, G_still=0.5)
    b.conduction("tank", "ambient", 3.0)
    b.source(names[-1], S.ENGINE_SPEED, float(rng.uniform(1.0, 20.0)), "engine")
    b.source(names[0], S.ONE, float(rng.uniform(-20.0, 200.0)), "lamp")
    return b.build()


@given(seed=st.integers(0, 10**6))
@settings(max_examples=40, deadline=None)
def test_rows_sum_to_the_rise(seed):
    rng = np.random.default_rng(seed + 1)
    network = random_network(seed)
    rows = np.zeros((120, COLUMNS))
    rows[:80, SPEED] = np.repeat(rng.uniform(0.0, 100.0, 16), 5)
    start = {m: T_AMBIENT + float(rng.uniform(0.0, 150.0)) for m in network.masses}
    run = hold(network, 120, T=start, rows=rows)
    wanted = np.unique(np.linspace(0, run.time.size - 1, 7).astype(int))
    ledger = split_rise(run, wanted)
    largest = np.abs(ledger.total).max()
    np.testing.assert_allclose(ledger.rise.sum(axis=1), ledger.total, atol=1e-6 * largest)
    remainder = np.abs(ledger.rise[:, ledger.causes.index(NUMERICAL)])
    assert remainder.max() < 0.02 * largest  # the Jacobian of the run is up to three steps old


def ledger_at_peaks(run):
    """Ledger at the own peak of every part, of coolant and oil, and {mass: row of the ledger}."""
    kinds, names = run.network.kinds, run.network.masses
    at = {
        i: int(run.state[:, i].argmax())
        for i, m in enumerate(names)
        if kinds[m] in ("solid", "coolant", "oil")
    }
    wanted = np.unique(list(at.values()))
    return split_rise(run, wanted), {i: int(np.searchsorted(wanted, k)) for i, k in at.items()}


@pytest.mark.parametrize("name", DUTIES)
def test_demo_rows_sum_to_the_rise(runs, name):
    ledger, _ = ledger_at_peaks(runs(name))
    np.testing.assert_allclose(ledger.rise.sum(axis=1), ledger.total, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("name", DUTIES)
def test_demo_leaves_little_unexplained(runs, name):
    """The numerical remainder at every part's own peak is at most 0.1 % of its rise."""
    ledger, rows = ledger_at_peaks(runs(name))
    left = np.abs(ledger.rise[:, ledger.causes.index(NUMERICAL)])
    for i, row in rows.items():
        assert left[row, i] <= 1e-3 * abs(ledger.total[row, i]) + 1e-6, ledger.masses[i]
