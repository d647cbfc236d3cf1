"""The cheapest set of measures for which every limit holds with the confidence asked for.

Spreads: while searching, every margin must keep its half width free, taken from the standard deviations of the
kit as it stands; a part that this kit has not gets the median of all. The answer's own spreads are then computed,
and where it does not hold with them the larger ones replace those assumed and the search goes on. Where no set holds
with those assumed, they may be too large (a kit that boils is less sure than one that does not): the set that comes
closest has its own computed, they replace those assumed, and the search goes on. Runs of the search may be coarse away from the line (`set_runs`) and stop at the first duty that fails; the answer's own verdict
is by the usual steps and all duties.
"""

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from heatproof.kit.findings import Finding, Findings, listed, unknown
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.numerics.at_once import Progress, counted
from heatproof.study.questions.check import check
from heatproof.study.runs.slack import half_widths
from heatproof.study.search.measure_sets import Choice, Set, choice_of
from heatproof.study.search.set_search import Search, SetRuns, front
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Verdict, judge

MOST_PROPOSALS, MOST_CONFIRMED = 60, 4
RUNNERS_UP, RUNNER_UP_RUNS, FRONT_STEPS = 3, 6, 5

BY: dict[str, dict[str, float]] = {
    "cost": {"cost": 1.0},
    "mass": {"cost": 0.0, "mass": 1.0},
    "labour": {"cost": 0.0, "labour": 1.0},
}
"""What is minimised → price per unit of currency, kg, minute."""


@dataclass(frozen=True)
class PricedSet:
    """One set: cost in the kit's currency, mass kg, labour s, all with the kit's base. slack: K left after the
    spread at the margin that has least; part, duty: which that is."""

    measures: tuple[str, ...]
    cost: float
    mass: float
    labour: float
    price: float
    slack: float
    part: str
    duty: str
    holds: bool


@dataclass(frozen=True)
class Chosen:
    """best: None where no set holds; closest: the set that comes nearest then. verdict: of the best or closest.

    proved: every cheaper admissible set has failed in the full model. undecided: cheaper sets only the bound
    rules out (None: too many to count). full_runs: work done in runs of all duties; sets: admissible ones (None:
    too many to count).
    """

    best: PricedSet | None
    closest: PricedSet
    runners_up: tuple[PricedSet, ...]
    front: tuple[PricedSet, ...]
    verdict: Verdict
    proved: bool
    undecided: int | None
    full_runs: float
    sets: int | None
    trust: float
    by: str
    confidence: float
    currency: str
    spreads: bool
    findings: tuple[Finding, ...]


def choose(
    project: Project,
    *,
    by: str = "cost",
    prices: Mapping[str, float] | None = None,
    confidence: float | None = None,
    keep: Iterable[str] = (),
    leave: Iterable[str] = (),
    duties: Mapping[str, Duty] | None = None,
    spreads: bool = True,
    prove: int = 64,
    trust: float = 1.2,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Chosen:
    """Searches; see `set_search` for how.

    by: cost, mass or labour; prices: in its place, weights per unit of `cost`, kg of `mass` and minute of
    `labour`. confidence: 0.5 to 1, the kit's where left out. keep, leave: measures that must be in or out.
    prove: how many cheaper sets may be run to prove the answer. Raises Refused and DutyNotSolved.
    """
    refuse_wrong(project, by, [*keep, *leave], confidence, prices)
    weights = dict(prices) if prices is not None else BY[by]
    choice = choice_of(project.measures, **weights, keep=keep, leave=leave)
    if not choice.admissible(choice.base()):
        # Say what clashes in the words of the project's own check.
        project.variant(choice.titles(choice.base()))
    return Choosing(
        project, choice, dict(duties or project.duties), spreads, prove, trust, jobs, progress, confidence, by
    ).chosen()


class Choosing:
    """One search: what it needs and what it has found so far."""

    def __init__(
        self,
        project: Project,
        choice: Choice,
        duties: dict[str, Duty],
        spreads: bool,
        prove: int,
        trust: float,
        jobs: int,
        progress: Progress | None,
        confidence: float | None,
        by: str,
    ) -> None:
        self.project, self.choice, self.duties = project, choice, duties
        self.spreads, self.prove, self.jobs, self.by = spreads, prove, jobs, by
        self.confidence = confidence if confidence is not None else project.head.confidence
        self.tell = counted(progress, 2 * choice.size + 20)
        self.runs = SetRuns(project, choice, duties, self.slack, jobs)
        self.search = Search(choice, self.runs.evaluate, tuple(duties), trust=trust, tell=self.tell)

    def slack(self, key: Key, margin: float) -> float:
        """K left of a margin once its spread is kept free."""
        return self.search.slack(key, margin)

    # --- spreads ------------------------------------------------------------------------------------------
    def assume_spreads(self) -> None:
        """Half widths of the kit as it stands; the median where it has no such part."""
        verdict = check(self.project, None, spreads=True, jobs=self.jobs)
        kept_free = self.search.kept_free
        kept_free.half = half_widths(verdict, self.confidence)
        kept_free.other = float(np.median(list(kept_free.half.values()))) if kept_free.half else 0.0

    def confirmed(self, chosen: Set, *, spreads: bool) -> tuple[Verdict, bool]:
        """Verdict with fine steps and the set's own spreads, and whether it holds with them."""
        variant = self.runs.variants[chosen]
        verdict = judge(variant, self.duties, spreads=spreads, jobs=self.jobs)
        own = half_widths(verdict, self.confidence)
        holds = all(row.margin - own.get((row.part, row.duty), 0.0) >= 0.0 for row in verdict.rows)
        return verdict, holds and all(row.margin > 0.0 for row in verdict.rows)

    # --- the whole ----------------------------------------------------------------------------------------
    def chosen(self) -> Chosen:
        """Search, confirm, prove, runners-up, front."""
        search = self.search
        if self.spreads:
            self.assume_spreads()
        best = search.search(most=MOST_PROPOSALS)
        self.refuse_if_nothing_can_be_built()
        best, proved, undecided = self.proved(best)
        best, verdict, at_once = self.with_own_spreads(best)
        if not at_once and best is not None:
            best, verdict, proved, undecided = self.proved_again(best, verdict)
        closest = best if best is not None else max(search.runs, key=search.smallest)
        if verdict is None:
            # Over the limit even without its spread: nothing depends on how sure that is.
            verdict = self.confirmed(closest, spreads=self.spreads and best is not None)[0]
        runners = self.runners_up(best) if best is not None else ()
        self.widen_front(best)
        return Chosen(
            best=None if best is None else self.answer(best),
            closest=self.answer(closest),
            runners_up=tuple(self.answer(one) for one in runners),
            front=tuple(self.answer(one) for one in front(search)),
            verdict=verdict,
            proved=proved,
            undecided=undecided,
            full_runs=search.full_runs,
            sets=self.count(),
            trust=search.trust,
            by=self.by,
            confidence=self.confidence,
            currency=self.project.head.currency,
            spreads=self.spreads,
            findings=tuple(self.findings()),
        )

    def refuse_if_nothing_can_be_built(self) -> None:
        """What is wrong with the kit itself, rather than with a set."""
        if not self.runs.variants and self.runs.broken:
            raise next(iter(self.runs.broken.values()))

    def proved(self, best: Set | None) -> tuple[Set | None, bool, int | None]:
        """Best, whether it is proved, cheaper sets left undecided."""
        while True:
            waiting = self.search.cheaper_unknown(best, self.prove)
            if waiting is None or isinstance(waiting, int):
                return best, False, waiting
            if len(waiting) > self.prove:
                return best, False, len(waiting)
            if self.search.refute(waiting):
                return best, True, 0
            best = self.search.best()

    def proved_again(
        self, best: Set, verdict: Verdict | None
    ) -> tuple[Set, Verdict | None, bool, int | None]:
        """Proof with the spreads learnt meanwhile; a cheaper set that turns up counts only once confirmed."""
        cheaper, proved, undecided = self.proved(best)
        if cheaper is None or cheaper == best:
            return best, verdict, proved, undecided
        own, holds = self.confirmed(cheaper, spreads=self.spreads)
        return (cheaper, own, proved, undecided) if holds else (best, verdict, False, undecided)

    def with_own_spreads(self, best: Set | None) -> tuple[Set | None, Verdict | None, bool]:
        """The cheapest set found that holds with its own spreads, its verdict, and whether the first tried did."""
        sure: tuple[Set, Verdict] | None = None
        looked: set[Set] = set()
        while len(looked) < MOST_CONFIRMED:
            tried = best if best is not None else self.worth_a_closer_look(looked)
            if tried is None or tried in looked:
                break
            looked.add(tried)
            verdict, holds = self.confirmed(tried, spreads=self.spreads)
            self.search.runs[tried] = {(row.part, row.duty): row.margin for row in verdict.rows}
            if holds and best is not None:
                return tried, verdict, len(looked) == 1
            if holds:
                sure = tried, verdict
            self.learn(half_widths(verdict, self.confidence), larger_only=best is not None)
            best = self.search.go_on(most=MOST_PROPOSALS)
        return (*sure, False) if sure is not None else (None, None, False)

    def worth_a_closer_look(self, looked: set[Set]) -> Set | None:
        """Where nothing holds with the spreads assumed: the closest set not looked at, if it holds without any."""
        left = [one for one in self.search.runs if one not in looked]
        closest = max(left, key=self.search.smallest, default=None)
        margins = self.search.margins(closest) if closest is not None else {}
        return closest if self.spreads and margins and min(margins.values()) > 0.0 else None

    def learn(self, own: Mapping[Key, float], *, larger_only: bool) -> None:
        """Half widths of a set that was looked at replace those assumed."""
        for key, half in own.items():
            known = self.search.kept_free.half
            known[key] = max(half, known.get(key, 0.0)) if larger_only else half
        self.search.reconsider()

    def runners_up(self, best: Set) -> tuple[Set, ...]:
        """The next cheapest sets that hold and are not just the best with more in it."""
        found: list[Set] = []
        for _ in range(RUNNERS_UP):
            one = self.search.find(most=RUNNER_UP_RUNS, drop=[best, *found])
            if one is None:
                break
            found.append(one)
        return tuple(found)

    def widen_front(self, best: Set | None) -> None:
        """Runs what may give more slack than the best for more money, step by step."""
        if best is None:
            return
        target = self.search.smallest(best)
        for _ in range(FRONT_STEPS):
            one = self.search.find(most=2, target=target + 1.0)
            if one is None:
                return
            target = self.search.smallest(one)

    def answer(self, chosen: Set) -> PricedSet:
        """A run set with its figures."""
        variant = self.runs.variants[chosen]
        margins = self.search.margins(chosen)
        uncapped = dataclasses.replace(self.search.kept_free, most=np.inf)
        slack = {key: uncapped.of(key, margin) for key, margin in margins.items()}
        worst: Key = min(slack, key=slack.__getitem__, default=("", ""))
        return PricedSet(
            measures=self.choice.titles(chosen),
            cost=variant.cost,
            mass=variant.mass,
            labour=variant.labour,
            price=self.choice.order(chosen)[0],
            slack=slack.get(worst, float("inf")),
            part=worst[0],
            duty=worst[1],
            holds=self.search.holds(chosen),
        )

    def count(self) -> int | None:
        """Admissible sets."""
        try:
            return int(self.choice.counted()[0].size)
        except ValueError:
            return None

    def findings(self) -> list[Finding]:
        """Sets that could not be built or solved."""
        found = [*self.project.findings]
        by_duty: dict[str, list[str]] = {}
        for what in self.runs.unsolved:
            by_duty.setdefault(what.partition(":")[0], []).append(what)
        for texts in by_duty.values():
            count = f"{len(texts)} runs count as failing because a duty was not solved"
            found.append(Finding("warning", f"{count}; the first: {texts[0]}"))
        for chosen in self.runs.broken:
            names = ", ".join(self.choice.titles(chosen)) or "no measure"
            found.append(
                Finding(
                    "warning",
                    f"left out, as it cannot be built: {names}",
                    next_step="declare what excludes or needs what in kit.yaml",
                )
            )
        return found


def refuse_wrong(
    project: Project,
    by: str,
    names: Iterable[str],
    confidence: float | None,
    prices: Mapping[str, float] | None,
) -> None:
    """Refused where an option cannot be used."""
    found = Findings()
    for name in names:
        if name not in project.measures:
            found.append(unknown(f"unknown measure {name!r}", name, project.measures))
    if prices is None and by not in BY:
        found.append(Finding("error", "nothing of that name to minimise", got=by, allowed=listed(BY)))
    if confidence is not None and not 0.5 <= confidence < 1.0:
        found.append(
            Finding(
                "error",
                "confidence out of range",
                got=f"{100 * confidence:g} %",
                allowed="50 % to below 100 %",
            )
        )
    if not project.measures:
        found.append(Finding("error", "the kit has no measures", next_step="add `measures` to kit.yaml"))
    found.refuse_errors()
