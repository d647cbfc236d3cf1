"""Changes with a known sign move peaks that way, or not at all, on any kit (`trends` says which and why)."""

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st
from kits import Drawn, projects
from trends import Pair, Trend, trends, without_relays

from heatproof.assembly.model import lay_network, solve
from heatproof.network import signals as S
from heatproof.network.solve import Run
from heatproof.network.transient import Stepping

ANY = settings(
    deadline=None, derandomize=True, database=None, print_blob=True, suppress_health_check=list(HealthCheck)
)
FINE = Stepping(tolerance=0.03)
ALLOWED = 2.0 * FINE.tolerance  # K, what a step may be off in either run


def run_of(pair: Pair) -> Run:
    """One duty of one variant in fine steps."""
    variant, duty = pair
    return solve(variant, duty, lay_network(variant), FINE).run


def mixture(run: Run) -> float:
    """Richest relative air/fuel ratio of a run."""
    return float(run.signal[:, S.MIXTURE].min())


def assert_moves_as_it_must(drawn: Drawn, data: st.DataObject) -> None:
    """One of the changes this kit allows."""
    project = drawn.read()
    variant, duty = without_relays(project.variant()), next(iter(project.duties.values()))
    trend: Trend = data.draw(st.sampled_from(list(trends(variant, duty))), label="trend")
    before, after = run_of((variant, duty)), run_of(trend.changed)
    assume(not trend.same_mixture or mixture(before) == mixture(after) == 1.0)
    event(trend.name)
    for name in trend.judged:
        peaks = [run.state[:, run.network.mass(name)].max() for run in (before, after)]
        assert trend.sign * (peaks[1] - peaks[0]) > -ALLOWED, f"{trend.name} ({trend.why}): {name} {peaks}"


@settings(ANY, max_examples=15)
@given(projects(), st.data())
def test_changes_move_peaks_as_they_must(drawn, data):
    assert_moves_as_it_must(drawn, data)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(5))
@settings(ANY, max_examples=80)
@given(drawn=projects(), data=st.data())
def test_changes_move_peaks_as_they_must_in_many_kits(block, drawn, data):
    assert_moves_as_it_must(drawn, data)
