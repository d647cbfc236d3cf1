"""Runs saved in the first-order spread: the same spreads as with every run, and nothing hides in a group."""

from collections.abc import Iterable

import numpy as np
import pytest

from heatproof.kit.project import Project
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import solve_all
from heatproof.verdict.spread import margin_values, sensitivities
from heatproof.verdict.spread_runs import (
    JOINT,
    MINOR,
    Margins,
    Runs,
    expectation,
    grouped_by_kind,
    split_duties,
)

QUICK, DEAR = ("part", "quick"), ("part", "dear")


class Straight(Runs):
    """Values that each do a fixed thing to one part in a quick and in a dear duty: no network."""

    def __init__(self, effects: dict[str, tuple[float, float]]) -> None:
        super().__init__(
            variant={},  # type: ignore[arg-type]
            duties={"quick": None, "dear": None},  # type: ignore[dict-item]
            start={QUICK: 10.0, DEAR: 20.0},
            move=lambda v, path, turn: ({**v, path: turn}, turn),  # type: ignore[dict-item]
            jobs=1,
            tell=lambda what: None,
        )
        self.effects, self.asked = effects, 0

    def margins(self, variant: object, duties: Iterable[str], coarse: object) -> Margins:
        found, moved = {}, dict(variant)  # type: ignore[call-overload]
        if "dear" in duties:
            self.asked += 1
            found[DEAR] = 20.0 + sum(z * self.effects[path][1] for path, z in moved.items())
        if "quick" in duties:
            found[QUICK] = 10.0 + sum(z * self.effects[path][0] for path, z in moved.items())
        return found


def columns(effects: dict[str, tuple[float, float]]) -> tuple[dict[str, Margins | None], int]:
    runs = Straight(effects)
    return runs.all_columns(list(effects), {"quick": 100, "dear": 900}), runs.asked


def test_minor_values_cost_two_runs_together() -> None:
    found, asked = columns({f"parts.p{k}.emissivity": (0.1, 0.1) for k in range(20)} | {"fan": (3.0, 1.0)})
    assert asked == 2 + 1
    assert found["fan"] == {QUICK: pytest.approx(3.0), DEAR: pytest.approx(1.0)}
    assert all(one == {QUICK: pytest.approx(0.1), DEAR: pytest.approx(0.1)} for one in found.values() if one != found["fan"])  # fmt: skip


@pytest.mark.parametrize("asleep", [{"parts.p3.emissivity": 4.0}, {"parts.p3.emissivity": 4.0, "parts.p6.emissivity": -4.0}])  # fmt: skip
def test_what_sleeps_in_the_quick_duty_is_found(asleep: dict[str, float]) -> None:
    """A value that does nothing in the quick duty and 4 K in the dear one; also beside one that undoes it."""
    plain = {f"parts.p{k}.emissivity": (0.0, 0.0) for k in range(16)}
    found, asked = columns(plain | {path: (0.0, c) for path, c in asleep.items()})
    for path in plain:
        assert (found[path] or {})[DEAR] == pytest.approx(asleep.get(path, 0.0), abs=1e-9)
    assert asked < 2 * len(plain)


def test_only_small_changes_are_expected_to_stay() -> None:
    keys = [QUICK, DEAR]
    assert expectation({QUICK: 0.9 * MINOR}, ["quick"], ["dear"], keys) == {DEAR: 0.9 * MINOR}
    assert expectation({QUICK: 1.1 * MINOR}, ["quick"], ["dear"], keys) is None
    assert JOINT <= 0.5


def test_a_core_better_than_its_flows_allow_is_moved_down(choice_project: Project) -> None:
    """608 W/K is what the rated air can carry; 590 W/K and a standard deviation of 8 % is past that."""
    variant, duties = choice_project.variant(("radiator",)), {"hill": choice_project.duties["hill"]}
    base = margin_values(solve_all(variant, duties), judged(variant))
    matrix = sensitivities(variant, duties, base, jobs=1)
    assert "cores.radiator.rated.heat_per_kelvin" in matrix.paths
    assert not matrix.unsolved


def test_duties_and_kinds() -> None:
    assert split_duties("abc", {"a": 100, "b": 140, "c": 600}) == (["a", "b"], ["c"])
    assert split_duties("abc", {}) == (["a", "b", "c"], [])
    paths = [f"parts.p{k}.emissivity" for k in range(3)] + ["parts.p1.mass", "air.x.loss"]
    assert grouped_by_kind(paths) == [paths[:3]]


def test_spreads_are_those_of_all_runs(choice_project: Project) -> None:
    """On the full model, a steady hill beside stop-and-go: within JOINT of the spread by every single run."""
    variant, duties = choice_project.variant(("wrap", "box_foil")), choice_project.duties
    solved = solve_all(variant, duties)
    base = margin_values(solved, judged(variant))
    rows = {"hill": 100, "crawl": 900}  # as if the stop-and-go duty were a long one
    assert split_duties(duties, rows) == (["hill"], ["crawl"])
    every = sensitivities(variant, duties, base)
    few = sensitivities(variant, duties, base, rows=rows)
    assert few.keys == every.keys
    assert np.abs(few.value_sds() - every.value_sds()).max() < JOINT
    assert np.abs(few.change - every.change).max() < JOINT
