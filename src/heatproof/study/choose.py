"""The cheapest set of measures for which every limit holds with the confidence asked for.

Spreads: while searching, every margin must keep its half width free, taken from the standard deviations of the
kit as it stands; a part that this kit has not gets the median of all. The answer's own spreads are then computed,
and where it does not hold with them the larger ones replace those assumed and the search goes on.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from heatproof.kit.findings import Finding, Findings, Refused, listed, nearest
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.study.check import Progress, check
from heatproof.study.measure_sets import Choice, Set, choice_of
from heatproof.study.runs import Case, Outcome, case, run_cases, run_split
from heatproof.study.set_search import Margins, Search, front
from heatproof.verdict.spread import Key, half_width
from heatproof.verdict.verdict import Verdict, judge

MOST_PROPOSALS, MOST_CONFIRMED = 60, 3
RUNNERS_UP, FRONT_STEPS = 3, 6
BY: dict[str, dict[str, float]] = {
    "cost": {"cost": 1.0},
    "mass": {"cost": 0.0, "mass": 1.0},
    "labour": {"cost": 0.0, "labour": 1.0},
}
"""What is minimised → price per unit of currency, kg, minute."""


@dataclass(frozen=True)
class Answer:
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

    best: Answer | None
    closest: Answer
    runners_up: tuple[Answer, ...]
    front: tuple[Answer, ...]
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
            found.append(
                Finding(
                    "error",
                    f"unknown measure {name!r}",
                    allowed=listed(project.measures),
                    nearest=nearest(name, project.measures),
                    next_step="correct the name",
                )
            )
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
        self.progress, self.done = progress, 0
        self.variants: dict[Set, Variant] = {}
        self.broken: dict[Set, Refused] = {}
        self.unsolved: list[str] = []
        self.search = Search(choice, self.evaluate, tuple(duties), trust=trust, tell=self.tell)

    def tell(self, what: str) -> None:
        """One step more."""
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, 2 * self.choice.size + 20, what)

    # --- runs ---------------------------------------------------------------------------------------------
    def variant(self, chosen: Set) -> Variant | None:
        """Built once; None where it cannot be built."""
        if chosen not in self.variants and chosen not in self.broken:
            try:
                self.variants[chosen] = self.project.variant(self.choice.titles(chosen))
            except Refused as error:
                self.broken[chosen] = error
        return self.variants.get(chosen)

    def evaluate(self, asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        """Margins of sets in all or some duties."""
        cases = [self.case(chosen, only) for chosen, only in asked]
        real = [one for one in cases if one is not None]
        if len(real) == 1:
            outcomes = iter([run_split(real[0], jobs=self.jobs)])
        else:
            outcomes = iter(run_cases(real, jobs=self.jobs))
        return [None if one is None else self.margins(next(outcomes)) for one in cases]

    def case(self, chosen: Set, only: tuple[str, ...] | None) -> Case | None:
        """What is to be run."""
        variant = self.variant(chosen)
        return None if variant is None else case(variant, {k: self.duties[k] for k in only or self.duties})

    def margins(self, outcome: Outcome) -> Margins | None:
        """None where a duty was not solved."""
        self.unsolved += outcome.unsolved.values()
        return None if outcome.unsolved else outcome.margins

    # --- spreads ------------------------------------------------------------------------------------------
    def assume_spreads(self) -> None:
        """Half widths of the kit as it stands; the median where it has no such part."""
        verdict = check(self.project, None, spreads=True, jobs=self.jobs)
        self.search.half = halves(verdict, self.confidence)
        self.search.other_half = (
            float(np.median(list(self.search.half.values()))) if self.search.half else 0.0
        )

    def confirmed(self, chosen: Set) -> tuple[Verdict, bool]:
        """Verdict with the set's own spreads, and whether it holds with them."""
        variant = self.variants[chosen]
        verdict = judge(variant, self.duties, spreads=self.spreads, jobs=self.jobs)
        own = halves(verdict, self.confidence)
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
        best, verdict, confirmed = self.with_own_spreads(best)
        if not confirmed:
            best, proved, undecided = self.proved(best)
        closest = best if best is not None else max(search.runs, key=search.smallest)
        if verdict is None:
            verdict = self.confirmed(closest)[0]
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
        if not self.variants and self.broken:
            raise next(iter(self.broken.values()))

    def proved(self, best: Set | None) -> tuple[Set | None, bool, int | None]:
        """Best, whether it is proved, cheaper sets left undecided."""
        while True:
            waiting = self.search.cheaper_unknown(best)
            if waiting is None or len(waiting) > self.prove:
                return best, False, None if waiting is None else len(waiting)
            if self.search.refute(waiting):
                return best, True, 0
            best = self.search.best()

    def with_own_spreads(self, best: Set | None) -> tuple[Set | None, Verdict | None, bool]:
        """Confirms the best; where it fails, its larger spreads count and the search goes on."""
        first = True
        for _ in range(MOST_CONFIRMED):
            if best is None:
                return None, None, first
            verdict, holds = self.confirmed(best)
            if holds or not self.spreads:
                return best, verdict, first
            first = False
            for key, half in halves(verdict, self.confidence).items():
                self.search.half[key] = max(half, self.search.half.get(key, 0.0))
            best = self.search.find(most=MOST_PROPOSALS)
        return best, None, False

    def runners_up(self, best: Set) -> tuple[Set, ...]:
        """The next cheapest sets that hold and are not just the best with more in it."""
        found: list[Set] = []
        for _ in range(RUNNERS_UP):
            one = self.search.find(most=10, drop=[best, *found])
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
            one = self.search.find(most=3, target=target + 1.0)
            if one is None:
                return
            target = self.search.smallest(one)

    def answer(self, chosen: Set) -> Answer:
        """A run set with its figures."""
        variant = self.variants[chosen]
        margins = self.search.margins(chosen)
        slack = {k: m - self.search.half.get(k, self.search.other_half) for k, m in margins.items()}
        worst: Key = min(slack, key=slack.__getitem__, default=("", ""))
        return Answer(
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
            return sum(1 for _ in self.choice.all_sets())
        except ValueError:
            return None

    def findings(self) -> list[Finding]:
        """Sets that could not be built or solved."""
        found = [*self.project.findings]
        by_duty: dict[str, list[str]] = {}
        for what in self.unsolved:
            by_duty.setdefault(what.partition(":")[0], []).append(what)
        for texts in by_duty.values():
            count = f"{len(texts)} runs count as failing because a duty was not solved"
            found.append(Finding("warning", f"{count}; the first: {texts[0]}"))
        for chosen in self.broken:
            names = ", ".join(self.choice.titles(chosen)) or "no measure"
            found.append(
                Finding(
                    "warning",
                    f"left out, as it cannot be built: {names}",
                    next_step="declare what excludes or needs what in kit.yaml",
                )
            )
        return found


def halves(verdict: Verdict, confidence: float) -> dict[Key, float]:
    """Half width (K) of every margin at a confidence; none where spreads were left out."""
    return {
        (row.part, row.duty): half_width(row.sd, confidence) for row in verdict.rows if row.sd is not None
    }
