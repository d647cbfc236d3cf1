"""The order in which a file lists its parts, links, lines, passages, cores and measures decides nothing.

Flow order is meant where the exhaust is listed, so that stays. Answers agree to what a step of the integrator may be
off, because rounding may make it take another step; with one step sequence they agree to 1e-6 K.
"""

import copy
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from kits import Drawn, large_projects, projects
from second_law import step_error

from heatproof.assembly.model import lay_network, solve
from heatproof.network.solve import Run

ANY = settings(
    deadline=None, derandomize=True, database=None, print_blob=True, suppress_health_check=list(HealthCheck)
)
NAMED = (
    ("parts",),
    ("links",),
    ("cores",),
    ("air", "zones"),
    ("air", "passages"),
    ("coolant", "junctions"),
    ("coolant", "lines"),
    ("oil", "junctions"),
    ("oil", "lines"),
)
SAME_STEPS = 1e-6  # K


def shuffled(data: st.DataObject, tree: dict[str, Any], *keys: str) -> None:
    """Puts the names below a path of keys in another order, in place; nothing where there are none."""
    for key in keys[:-1]:
        tree = tree.get(key, {})
    entries = tree.get(keys[-1])
    if entries:
        order = data.draw(st.permutations(list(entries)), label=".".join(keys))
        tree[keys[-1]] = {name: entries[name] for name in order}


def in_another_order(data: st.DataObject, drawn: Drawn) -> Drawn:
    """The same project, listed otherwise."""
    car, kit = copy.deepcopy(drawn.car), copy.deepcopy(drawn.kit)
    for keys in NAMED:
        shuffled(data, car, *keys)
        shuffled(data, kit, "changes", *keys)
    shuffled(data, kit, "measures")
    return replace(drawn, car=car, kit=kit)


def run_of(drawn: Drawn) -> Run:
    """The first duty of a project."""
    project = drawn.read()
    variant = project.variant()
    return solve(variant, next(iter(project.duties.values())), lay_network(variant)).run


def assert_order_decides_nothing(drawn: Drawn, data: st.DataObject) -> None:
    """Peaks and last temperatures by name, in both orders."""
    one, two = run_of(drawn), run_of(in_another_order(data, drawn))
    assert set(one.network.masses) == set(two.network.masses)
    here = [two.network.mass(name) for name in one.network.masses]
    n = len(here)
    T1, T2 = one.state[:, :n], two.state[:, here]
    if one.time.size == two.time.size and np.allclose(one.time, two.time, atol=1e-9):
        assert np.abs(T1 - T2).max() < SAME_STEPS
    off = np.abs(T1.max(axis=0) - T2.max(axis=0)) - step_error(one)
    assert off.max() < 0.0, one.network.masses[int(off.argmax())]
    assert one.closure == pytest.approx(two.closure, abs=1e-4)


@settings(ANY, max_examples=12)
@given(projects(), st.data())
def test_order_decides_nothing(drawn, data):
    assert_order_decides_nothing(drawn, data)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(5))
@settings(ANY, max_examples=60)
@given(drawn=projects(), data=st.data())
def test_order_decides_nothing_in_many_kits(block, drawn, data):
    assert_order_decides_nothing(drawn, data)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
@settings(ANY, max_examples=30)
@given(drawn=large_projects(), data=st.data())
def test_order_decides_nothing_in_large_kits(block, drawn, data):
    assert_order_decides_nothing(drawn, data)
