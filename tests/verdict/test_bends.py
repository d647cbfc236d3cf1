"""Where a value switches something, the spread comes from draws: against exact probabilities of a made-up jump."""

from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.verdict.bends import find_bends, sd_of_draws, straight_sds
from heatproof.verdict.spread import half_width
from heatproof.verdict.spread_runs import Margins, Runs
from heatproof.verdict.uncertain import groups, moved

SMALL = Path(__file__).parents[1] / "kit" / "small"
KEY = ("loom", "hill")


class MadeUp(Runs):
    """A margin (K) that is a plain function of two uncertain values, in their standard deviations."""

    nominal, jump, above, steep = 10.0, 0.0, 0.8, 0.5

    def margins(self, variant: Variant, duties: Iterable[str], pace: Mapping[str, object]) -> Margins:
        first, second = list(self.variant.spreads)[:2]
        z = [(variant.value(p) - self.variant.value(p)) / self.variant.spreads[p].sd for p in (first, second)]
        return {KEY: self.nominal + self.steep * z[1] + (self.jump if z[0] > self.above else 0.0)}


def runs(nominal: float, jump: float) -> MadeUp:
    """With the two values free to move either way."""
    variant = read_project(SMALL).variant()
    made = MadeUp(
        variant=variant,
        duties={},
        start={KEY: nominal},
        move=lambda v, path, turn: moved(v, path, variant.spreads[path], turn),
        jobs=1,
        tell=lambda what: None,
    )
    made.nominal, made.jump = nominal, jump
    return made


def first_order(made: MadeUp) -> tuple[tuple[str, ...], np.ndarray, np.ndarray]:
    """Paths, change and groups."""
    spreads = {p: s for p, s in made.variant.spreads.items() if s.sd > 0.0}
    columns = made.columns(list(spreads), ["hill"], last=True)
    change = np.array([[columns[p][KEY] for p in spreads]])  # type: ignore[index]
    return tuple(spreads), change, groups(spreads)


def test_a_jump_is_found_and_its_band_ends_where_the_draws_do() -> None:
    """A margin of 3 K that falls by 8 K in 21 % of cases (1 − Φ(0.8)) is not 95 % sure; one of 11 K is, and not by much."""
    for nominal, holds in ((3.0, False), (11.0, True)):
        made = runs(nominal, -8.0)
        paths, change, group = first_order(made)
        found = find_bends(made, [KEY], paths, change, straight_sds(change, group), group)
        assert found.bent[0].sum() == 1
        assert found.slope[0, 0] == pytest.approx(
            -4.0
        )  # half of the jump: one side has it, the other has not
        half = half_width(found.sd[KEY], made.variant.confidence)
        assert half == pytest.approx(
            8.0, abs=1.5
        )  # the 5 % quantile lies beyond the jump, with its 0.5 K around
        assert (nominal - half >= 0.0) is holds


def test_a_jump_for_the_better_does_not_count_against_a_margin() -> None:
    """A rise of 8 K leaves the lower end where the straight values put it: 1.645 × 0.5 K."""
    made = runs(3.0, 8.0)
    paths, change, group = first_order(made)
    assert straight_sds(change, group)[0] > 7.0
    found = find_bends(made, [KEY], paths, change, straight_sds(change, group), group)
    assert half_width(found.sd[KEY], 0.95) == pytest.approx(1.645 * 0.5, rel=0.3)


def test_straight_lines_stay() -> None:
    made = runs(0.1, 0.0)
    made.steep = 5.0
    paths, change, group = first_order(made)
    assert straight_sds(change, group)[0] == pytest.approx(5.0)
    found = find_bends(made, [KEY], paths, change, straight_sds(change, group), group)
    assert not found.sd
    assert not found.bent.any()
    assert np.array_equal(found.slope, change)


@pytest.mark.parametrize("required", [0.8, 0.9, 0.95])
def test_draws_of_a_normal_margin_give_its_standard_deviation(required: float) -> None:
    """Quantiles by SciPy's normal distribution, on either side of 0."""
    z = norm.ppf((np.arange(2000) + 0.5) / 2000)
    for margin in (5.0, -5.0):
        assert sd_of_draws(margin + 3.0 * z, margin, required, 0.0) == pytest.approx(3.0, rel=0.02)


def test_a_draw_that_cannot_be_solved_counts_as_lost() -> None:
    values = np.full(100, 4.0)
    values[:4] = -np.inf
    assert sd_of_draws(values, 4.0, 0.95, 0.3) == 0.3
    values[:7] = -np.inf
    assert sd_of_draws(values, 4.0, 0.95, 0.3) == np.inf
