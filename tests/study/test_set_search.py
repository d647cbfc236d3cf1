"""The search against full enumeration, on invented margins that are not additive."""

import numpy as np
import pytest

from heatproof.study.runs.slack import Slack
from heatproof.study.search.measure_sets import Choice, Set
from heatproof.study.search.set_search import CAP, Margins, Search, front

DUTIES = ("a", "b", "c")


class Invented:
    """Margins that saturate (diminishing returns), with pairs that help or hinder each other."""

    def __init__(self, seed: int, n: int) -> None:
        rng = np.random.default_rng(seed)
        self.start = -rng.uniform(2.0, 25.0, size=(len(DUTIES), 4))
        self.effect = rng.uniform(-1.0, 14.0, size=(n, len(DUTIES), 4)) * (
            rng.random((n, len(DUTIES), 4)) < 0.5
        )
        self.pair = {tuple(rng.choice(n, 2, replace=False)): rng.uniform(-4.0, 3.0) for _ in range(n)}
        self.price = rng.integers(1, 60, size=n).astype(float)
        self.calls = 0

    def margins(self, chosen: Set) -> dict[tuple[str, str], float]:
        gain = self.effect[sorted(chosen)].sum(axis=0) if chosen else np.zeros(self.start.shape)
        gain = gain - 0.004 * gain**2
        extra = sum(v for (i, j), v in self.pair.items() if i in chosen and j in chosen)
        total = self.start + gain + extra
        return {(f"part{p}", d): float(total[k, p]) for k, d in enumerate(DUTIES) for p in range(4)}

    def __call__(self, asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        self.calls += sum(len(duties or DUTIES) for _, duties in asked)
        return [
            {key: m for key, m in self.margins(s).items() if duties is None or key[1] in duties}
            for s, duties in asked
        ]


def instance(seed: int, n: int = 10) -> tuple[Invented, Choice]:
    model = Invented(seed, n)
    return model, Choice(tuple(f"m{i}" for i in range(n)), model.price, needs=((3, 2),), excludes=((0, 1),))


def enumerated(model: Invented, choice: Choice) -> Set | None:
    """The cheapest by counting through all sets: the truth."""
    holding = [s for s in choice.all_sets() if min(model.margins(s).values()) >= 0.0]
    return min(holding, key=choice.order, default=None)


@pytest.mark.parametrize(
    "seed", [*range(6), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(6, 25))]
)
def test_equals_enumeration_with_five_times_fewer_runs(seed: int) -> None:
    model, choice = instance(seed)
    truth, sets = enumerated(model, choice), sum(1 for _ in choice.all_sets())
    search = Search(choice, model, DUTIES)
    found = search.search(most=100)
    assert (found is None) == (truth is None)
    if found is not None and truth is not None:
        assert choice.order(found) == choice.order(truth), (choice.titles(found), choice.titles(truth))
    assert model.calls / len(DUTIES) == search.full_runs
    assert search.full_runs * 5 <= sets


def test_greedy_is_wrong_here() -> None:
    """Best kelvin per price first takes m0 (8 K for 8), which then needs m1 (10 for 4 K): 18. m1 + m2 cost 16."""
    effect, price = {0: 8.0, 1: 6.0, 2: 6.0}, np.array([8.0, 8.0, 8.0])
    price = np.array([7.0, 8.0, 8.0])
    need = 11.9

    def evaluate(asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        return [
            {("part", "a"): sum(effect[i] for i in s) - (3.0 if {0} < s else 0.0) - need} for s, _ in asked
        ]

    choice = Choice(("m0", "m1", "m2"), price, (), ())
    greedy: set[int] = set()
    while evaluate([(frozenset(greedy), None)])[0][("part", "a")] < 0.0:  # type: ignore[index]
        greedy.add(max(set(range(3)) - greedy, key=lambda i: effect[i] / price[i]))
    search = Search(choice, evaluate, ("a",))
    search.look_round()
    found = search.find(most=20)
    assert found == frozenset({1, 2})
    assert greedy != found
    assert sum(price[list(greedy)]) > sum(price[list(found)])


def test_a_measure_that_works_only_with_another_is_found() -> None:
    """Alone neither does anything; from the fullest set each is seen to matter."""

    def evaluate(asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        return [
            {("part", "a"): -5.0 + (6.0 if {0, 1} <= s else 0.0) + (6.0 if 2 in s else 0.0)} for s, _ in asked
        ]

    choice = Choice(("inlet", "outlet", "dear"), np.array([1.0, 1.0, 50.0]), (), ())
    search = Search(choice, evaluate, ("a",))
    search.look_round()
    assert search.find(most=20) == frozenset({0, 1})


def test_a_measure_is_tried_in_the_company_where_it_counts() -> None:
    """The fan matters only with the pump; the pump shuts out what the fullest set has, and that set is spoilt."""
    decoys = 12
    names = ("line", "pump", "fan", "spoils", *(f"decoy{i}" for i in range(decoys)))

    def evaluate(asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        return [
            {("part", "a"): -10.0 + 6.0 * (1 in s) + 6.0 * ({1, 2} <= s) + 1.0 * (0 in s) - 20.0 * (3 in s)}
            for s, _ in asked
        ]

    price = np.array([1.0, 9.0, 4.0, 1.0, *[1.0] * decoys])
    search = Search(Choice(names, price, needs=(), excludes=((0, 1),)), evaluate, ("a",))
    assert search.search(most=20) == frozenset({1, 2})


def test_spreads_that_shrink_open_refuted_sets_again() -> None:
    choice = Choice(("m0", "m1"), np.array([1.0, 2.0]), (), ())
    search = Search(
        choice,
        lambda asked: [None for _ in asked],
        ("a", "b"),
        kept_free=Slack({("part", "a"): 5.0}, most=CAP),
    )
    refuted, over = frozenset({0}), frozenset({1})
    search.failed = {refuted: {("part", "a"): 3.0}, over: {("part", "a"): -1.0}}
    search.reconsider()
    assert set(search.failed) == {refuted, over}
    search.kept_free.half[("part", "a")] = 2.0
    search.reconsider()
    assert set(search.failed) == {over}


@pytest.mark.parametrize("seed", range(3))
def test_proof_runs_every_cheaper_set(seed: int) -> None:
    model, choice = instance(seed, n=7)
    truth = enumerated(model, choice)
    search = Search(choice, model, DUTIES, trust=1.0)
    search.look_round()
    found = search.find(most=50)
    waiting = search.cheaper_unknown(found)
    assert waiting is not None
    if search.refute(waiting):
        assert found == truth
    else:
        assert search.best() == truth
    for one in waiting:
        assert (one in search.failed) == (min(model.margins(one).values()) < 0.0)


def test_spread_is_kept_free() -> None:
    def evaluate(asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        return [{("part", "a"): 2.0 + 4.0 * len(s)} for s, _ in asked]

    choice = Choice(("m0", "m1", "m2"), np.array([1.0, 2.0, 3.0]), (), ())
    for half, answer in ((0.0, set()), (5.0, {0}), (9.0, {0, 1})):
        search = Search(choice, evaluate, ("a",), kept_free=Slack({("part", "a"): half}, most=CAP))
        search.look_round()
        assert search.find(most=20) == answer


def test_what_is_not_solved_does_not_hold() -> None:
    def evaluate(asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        return [None if 0 in s else {("part", "a"): 5.0 * len(s) - 4.0} for s, _ in asked]

    choice = Choice(("broken", "m1"), np.array([1.0, 2.0]), (), ())
    search = Search(choice, evaluate, ("a",))
    search.look_round()
    assert search.find(most=10) == frozenset({1})


def test_front_has_no_dominated_set() -> None:
    model, choice = instance(3)
    search = Search(choice, model, DUTIES)
    search.look_round()
    search.find(most=50)
    found = front(search)
    prices = [choice.order(s)[0] for s in found]
    slacks = [search.smallest(s) for s in found]
    assert prices == sorted(prices)
    assert slacks == sorted(slacks)
    for one in search.runs:
        assert not any(
            choice.order(one)[0] <= p and search.smallest(one) > s + 1e-9
            for p, s in zip(prices, slacks, strict=True)
        )


def test_rules_between_measures() -> None:
    choice = Choice(("a", "b", "c", "d"), np.ones(4), needs=((1, 0), (2, 1)), excludes=((0, 3),))
    assert choice.with_needs({2}) == {0, 1, 2}
    assert choice.without(frozenset({0, 1, 2}), 0) == frozenset()
    assert choice.brought_in(frozenset({3}), 2) == {0, 1, 2}
    assert choice.brought_in(frozenset({0, 1, 2}), 3) == {3}
    assert sorted(sorted(s) for s in choice.all_sets()) == [[], [0], [0, 1], [0, 1, 2], [3]]
    assert choice.fullest() == {0, 1, 2}
