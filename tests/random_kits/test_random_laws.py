"""Any valid project: it solves or says why not, its energy closes, and heat runs from hot to cold.

Energy: heat in less out less stored, over heat put in, at most 1e-4 (conservation). Second law: see `second_law`; and
nothing is hotter than the hottest gas of the engine, walls than the gas temperature that drives their heat;
no mass is ever colder than the day's ambient air, from which every one starts, but for gas behind the turbine, which
may be as cold as an isentropic expansion leaves it. Both are held to what two steps of the integrator may be off.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from kits import large_projects, projects
from second_law import FINE, past_the_flame, too_cold, too_hot

from heatproof.assembly.model import lay_network, solve
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.network.paths import paths_at
from heatproof.network.solve import Run

ANY = settings(
    deadline=None, derandomize=True, database=None, print_blob=True, suppress_health_check=list(HealthCheck)
)
KEPT = Path(__file__).parent / "kept"
CLOSURE = 1e-4
BLOCKS = 20
BOTH_WAYS = ("conduction", "radiation", "convection", "wetted")


@dataclass(frozen=True)
class Solved:
    """A duty's run, and the same in fine steps when asked."""

    run: Run
    fine: Callable[[], Run]


def solved(project: Project) -> list[Solved]:
    """Every duty. What cannot be driven or solved says so, and fails the test."""
    variant = project.variant()
    network = lay_network(variant)
    return [
        Solved(
            solve(variant, duty, network).run,
            lambda duty=duty: solve(variant, duty, network, FINE).run,  # type: ignore[misc]
        )
        for duty in project.duties.values()
    ]


def uphill(run: Run) -> list[str]:
    """Links through which heat runs from cold to hot, half-way and at the end."""
    found, ambient = [], run.around.temperature
    for row in (run.time.size // 2, run.time.size - 1):
        T = dict(zip(run.network.masses, run.state[row], strict=False))
        for path in paths_at(run, row):
            if (
                path.kind in BOTH_WAYS
                and path.heat * (T.get(path.first, ambient) - T.get(path.second, ambient)) < 0.0
            ):
                found.append(f"{path.kind} {path.name}: {path.heat:.3g} W uphill")
    return found


def assert_laws_hold(project: Project) -> None:
    """All laws on all duties. Where air or water chatters round standstill, usual steps may be off by more than two
    steps' error; fine steps, with a tenth of it, then show whether the equations keep the law."""
    for one in solved(project):
        run = one.run
        assert np.isfinite(run.state).all()
        assert abs(run.closure) <= CLOSURE
        assert past_the_flame(run) == []
        assert too_cold(run) == []
        assert uphill(run) == []
        assert too_hot(run) == [] or too_hot(one.fine(), FINE) == []


@pytest.mark.parametrize("case", sorted(path.name for path in KEPT.iterdir()))
def test_kept_kits_keep_the_laws_of_heat(case):
    assert_laws_hold(read_project(KEPT / case))


@settings(ANY, max_examples=20)
@given(projects())
def test_any_kit_keeps_the_laws_of_heat(drawn):
    assert_laws_hold(drawn.read())


@settings(ANY, max_examples=5)
@given(projects(shapes=True))
def test_any_kit_with_shapes_keeps_the_laws_of_heat(drawn):
    assert_laws_hold(drawn.read())


@pytest.mark.slow
@pytest.mark.parametrize("block", range(BLOCKS))
@settings(ANY, max_examples=75)
@given(drawn=projects(duties=2))
def test_two_duties_of_many_kits_keep_the_laws_of_heat(block, drawn):
    assert_laws_hold(drawn.read())


@pytest.mark.slow
@pytest.mark.parametrize("block", range(4))
@settings(ANY, max_examples=50)
@given(drawn=projects(shapes=True))
def test_many_kits_with_shapes_keep_the_laws_of_heat(block, drawn):
    assert_laws_hold(drawn.read())


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
@settings(ANY, max_examples=30)
@given(drawn=large_projects())
def test_large_kits_keep_the_laws_of_heat(block, drawn):
    assert_laws_hold(drawn.read())


@pytest.mark.slow
@pytest.mark.parametrize("block", range(4))
@settings(ANY, max_examples=10)
@given(drawn=large_projects(duties=5))
def test_five_duties_of_large_kits_keep_the_laws_of_heat(block, drawn):
    assert_laws_hold(drawn.read())


@pytest.mark.slow
@settings(ANY, max_examples=15)
@given(drawn=large_projects(shapes=True))
def test_large_kits_with_shapes_keep_the_laws_of_heat(drawn):
    assert_laws_hold(drawn.read())
