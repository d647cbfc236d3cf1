"""Any valid project: it solves or says why not, its energy closes, and heat runs from hot to cold.

Energy: heat in less out less stored, over heat put in, at most 1e-4 (conservation). Second law: see `second_law`; and
nothing is hotter than the hottest gas of the engine, walls than the gas temperature that drives their heat;
no mass is ever colder than the day's ambient air, from which every one starts, but for gas behind the turbine, which
may be as cold as an isentropic expansion leaves it. Both are held to what two steps of the integrator may be off.
"""

import numpy as np
import pytest
from hypothesis import HealthCheck, event, given, settings
from kits import Drawn, projects
from second_law import past_the_flame, too_cold, too_hot

from heatproof.assembly.duties.drives import CannotDrive
from heatproof.assembly.model import lay_network, solve
from heatproof.network.paths import paths_at
from heatproof.network.solve import NotSolved, Run

ANY = settings(
    deadline=None, derandomize=True, database=None, print_blob=True, suppress_health_check=list(HealthCheck)
)
CLOSURE = 1e-4
BLOCKS = 20
BOTH_WAYS = ("conduction", "radiation", "convection", "wetted")


def runs(drawn: Drawn) -> list[Run]:
    """Every duty that could be driven and solved; what could not says so (counted as an event)."""
    project = drawn.read()
    variant = project.variant()
    network, found = lay_network(variant), []
    for duty in project.duties.values():
        try:
            found.append(solve(variant, duty, network).run)
        except (NotSolved, CannotDrive) as refused:
            event(f"{type(refused).__name__}: {str(refused)[:60]}")
            raise
    return found


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


def holds(drawn: Drawn) -> None:
    """All laws on all duties of one project."""
    for run in runs(drawn):
        event(f"masses: {10 * (len(run.network.masses) // 10)}")
        assert np.isfinite(run.state).all()
        assert abs(run.closure) <= CLOSURE
        assert too_hot(run) == []
        assert too_cold(run) == []
        assert past_the_flame(run) == []
        assert uphill(run) == []


@settings(ANY, max_examples=20)
@given(projects())
def test_any_kit_keeps_the_laws_of_heat(drawn):
    holds(drawn)


@settings(ANY, max_examples=5)
@given(projects(shapes=True))
def test_any_kit_with_shapes_keeps_the_laws_of_heat(drawn):
    holds(drawn)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(BLOCKS))
@settings(ANY, max_examples=75)
@given(drawn=projects(duties=2))
def test_two_duties_of_many_kits_keep_the_laws_of_heat(block, drawn):
    holds(drawn)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(4))
@settings(ANY, max_examples=50)
@given(drawn=projects(shapes=True))
def test_many_kits_with_shapes_keep_the_laws_of_heat(block, drawn):
    holds(drawn)
