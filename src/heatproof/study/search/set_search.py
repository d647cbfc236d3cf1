"""The cheapest set of measures that holds, with few runs of the full model.

The full model decides about every set; a linear integer program only proposes which to run next. For every
measure i and margin k the runs made so far give the least and the most that the measure ever did, from pairs of
runs that differ in it alone: e_min ≤ e ≤ e_max, widened by `trust`. If no measure ever does more than that in any
company, then for a run set R with slack s and any set X

    slack_k(X) ≤ s_k(R) + Σ_{i ∈ X∖R} e_max,ki − Σ_{i ∈ R∖X} e_min,ki .

Asking the right side to be ≥ 0 for the first run and for every margin that failed in a run gives cuts that are
linear in X. The cheapest X that meets them is run; if it holds it is the answer, else it adds its cuts. The
bound rests on what was seen, so an answer counts as proved only when every cheaper admissible set has failed in
the full model itself; for that one duty in which it fails is enough.

Three steps, one after the other: `SetRuns` runs sets, `Evidence` keeps what the runs say and what each measure ever did,
`Search` proposes the next. Runs are coarse where that decides: long duties are integrated with coarser steps, and where the
least that is left lies within NEAR of the line between holding and failing, the duty is run again with the usual steps, so that
no answer depends on them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Tell, at_once
from heatproof.study.runs.cases import Laid, Outcome, joined, lay, run_laid
from heatproof.study.runs.slack import UNSOLVED, Slack
from heatproof.study.search.measure_sets import MOST_ENUMERATED, Choice, Set
from heatproof.verdict.spread_runs import COARSE, LONG, Key

CAP = 150.0  # K of slack beyond which more does not count; also where a part is not there
TOLD = 6  # sets run before progress is told
Margins = Mapping[Key, float]
Evaluate = Callable[[list[tuple[Set, tuple[str, ...] | None]]], list[Margins | None]]
"""Sets with the duties to run (None: all) → margins (K); None where a duty was not solved."""
NEAR = 4.0  # K; coarse runs are off by up to 4 K at the exhaust, 1.4 K elsewhere (measured on the example)
Task = tuple[Set, str]
"""Set, duty."""
AT_ONCE = 2  # duties of one proposal
MOST_FOR_SLACK = 8  # runs to come nearer where nothing holds
MOST_ROUND = 3  # closest sets that are looked at with each measure more or less


# --- running sets -------------------------------------------------------------------------------------------
@dataclass
class SetRuns:
    """slack: what a margin leaves free (K) once its spread is kept. rows: of the first run of every duty."""

    project: Project
    choice: Choice
    duties: Mapping[str, Duty]
    slack: Callable[[Key, float], float]
    jobs: int
    variants: dict[Set, Variant] = field(default_factory=dict)
    broken: dict[Set, Refused] = field(default_factory=dict)
    unsolved: list[str] = field(default_factory=list)
    rows: dict[str, int] = field(default_factory=dict)
    fine: int = 0
    """Runs made again with fine steps."""

    def variant(self, chosen: Set) -> Variant | None:
        """Built once; None where it cannot be built."""
        if chosen not in self.variants and chosen not in self.broken:
            try:
                self.variants[chosen] = self.project.variant(self.choice.titles(chosen))
            except Refused as error:
                self.broken[chosen] = error
        return self.variants.get(chosen)

    def evaluate(self, asked: list[tuple[Set, tuple[str, ...] | None]]) -> list[Margins | None]:
        """Margins of sets in all or some duties; None where one is not solved or the set cannot be built."""
        tasks = [(one, key) for one, only in asked for key in only or self.duties]
        outcomes = {}
        if not self.rows and asked:
            # The first set by itself: which duties are long must not hang on which thread was first.
            outcomes = self.run([task for task in tasks if task[0] == asked[0][0]])
            tasks = [task for task in tasks if task not in outcomes]
        outcomes |= self.run(self.longest_first(tasks))
        found: list[Margins | None] = []
        for one, only in asked:
            whole = joined(outcomes[one, key] for key in only or self.duties)
            self.unsolved += whole.unsolved.values()
            found.append(None if whole.unsolved or one in self.broken else whole.margins)
        return found

    def longest_first(self, tasks: list[Task]) -> list[Task]:
        """So that no thread is left with a long duty at the end; tasks of one set stay near each other."""
        return sorted(tasks, key=lambda task: -self.rows.get(task[1], 0)) if self.rows else tasks

    def run(self, tasks: list[Task]) -> dict[Task, Outcome]:
        """Over threads; every set's network is laid once."""
        sets = [one for one in dict.fromkeys(one for one, _ in tasks) if self.variant(one) is not None]
        networks = at_once(lay, [self.variants[one] for one in sets], self.jobs)
        laid = dict(zip(sets, networks, strict=True))
        real = [task for task in tasks if task[0] in laid]
        outcomes = at_once(lambda task: self.run_duty(laid[task[0]], task[1]), real, self.jobs)
        return {task: Outcome() for task in tasks} | dict(zip(real, outcomes, strict=True))

    def run_duty(self, laid: Laid, key: str) -> Outcome:
        """Margins of one duty of one set, fine where they lie near the line."""
        coarse = self.rows.get(key, 0) >= LONG
        found = run_laid(laid, {key: self.duties[key]}, COARSE if coarse else None)
        least = min((self.slack(k, m) for k, m in found.margins.items()), default=NEAR)
        if coarse and (found.unsolved or abs(least) < NEAR):
            self.fine += 1
            found = run_laid(laid, {key: self.duties[key]})
        self.rows.setdefault(key, found.rows)
        return found


# --- what runs say ------------------------------------------------------------------------------------------
@dataclass
class Evidence:
    """What runs of sets say. kept_free: the spread that must stay free of every margin."""

    choice: Choice
    evaluate: Evaluate
    duties: tuple[str, ...]
    kept_free: Slack = field(default_factory=lambda: Slack(most=CAP))
    trust: float = 1.2
    runs: dict[Set, Margins | None] = field(default_factory=dict)
    failed: dict[Set, dict[Key, float]] = field(default_factory=dict)
    """Sets refuted in part of the duties, with the margins of those."""
    duty_runs: int = 0
    tell: Tell = lambda what: None

    @property
    def full_runs(self) -> float:
        """Work done, in runs of all duties."""
        return self.duty_runs / max(len(self.duties), 1)

    # --- running -----------------------------------------------------------------------------------------
    def run(self, sets: list[Set]) -> None:
        """All duties of every set not run yet."""
        new = [s for s in dict.fromkeys(sets) if s not in self.runs]
        for k in range(0, len(new), TOLD):
            some = new[k : k + TOLD]
            for one, margins in zip(some, self.evaluate([(s, None) for s in some]), strict=True):
                self.runs[one] = margins
                self.duty_runs += len(self.duties)
                self.tell(", ".join(self.choice.titles(one)) or "no measure")

    def slack(self, key: Key, margin: float) -> float:
        """K left after the spread, at most CAP."""
        return self.kept_free.of(key, margin)

    def smallest(self, chosen: Set) -> float:
        """Smallest slack of a set that was run (K)."""
        margins = self.runs[chosen]
        if margins is None:
            return UNSOLVED
        return min((self.slack(key, m) for key, m in margins.items()), default=CAP)

    def holds(self, chosen: Set) -> bool:
        """Whether every limit of a run set holds."""
        return self.smallest(chosen) >= 0.0

    def best(self) -> Set | None:
        """Cheapest of those run that hold."""
        holding = [s for s in self.runs if self.holds(s)]
        return min(holding, key=self.choice.order, default=None)

    def reconsider(self) -> None:
        """Sets refuted in part of the duties with spreads that no longer count are open again."""
        for one, part in list(self.failed.items()):
            if all(self.slack(key, m) >= 0.0 for key, m in part.items()):
                del self.failed[one]

    # --- what measures do --------------------------------------------------------------------------------
    def table(self) -> tuple[list[Set], np.ndarray, list[Key]]:
        """Solved sets, slack (sets, keys), keys. NaN in duties that were not run; CAP where a part is not there."""
        solved = [s for s, margins in self.runs.items() if margins is not None]
        keys = list(dict.fromkeys(key for s in solved for key in self.runs[s] or {}))
        rows = [
            [self.slack(key, m[key]) if key in m else CAP for key in keys] for m in map(self.margins, solved)
        ]
        for one, part in self.failed.items():
            run = {duty for _, duty in part}
            if run:
                solved.append(one)
                there = [CAP if key[1] in run else np.nan for key in keys]
                rows.append(
                    [self.slack(k, part[k]) if k in part else t for k, t in zip(keys, there, strict=True)]
                )
        return solved, np.array(rows).reshape(len(solved), len(keys)), keys

    def margins(self, chosen: Set) -> Margins:
        """Margins of a run set; none where it was not solved."""
        return self.runs[chosen] or {}

    def effects(self, solved: list[Set], slack: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """e_min, e_max (measures, keys), widened by `trust`."""
        n, m = self.choice.size, slack.shape[1]
        low, high = np.full((n, m), np.inf), np.full((n, m), -np.inf)
        place = {s: r for r, s in enumerate(solved)}
        for with_, r in place.items():
            for i in with_:
                without = with_ - {i}
                if without in place:
                    change = slack[r] - slack[place[without]]
                    low[i], high[i] = np.fmin(low[i], change), np.fmax(high[i], change)
        self.guess_unseen(place, slack, low, high)
        return low - (self.trust - 1.0) * np.abs(low), high + (self.trust - 1.0) * np.abs(high)

    def guess_unseen(
        self, place: dict[Set, int], slack: np.ndarray, low: np.ndarray, high: np.ndarray
    ) -> None:
        """A measure never seen by itself (it comes only with others) gets what it did in their company."""
        for i in np.flatnonzero(np.isinf(low).any(axis=1)):
            whole = [s for s in place if s in self.runs]
            pairs = [(s, t) for s in whole for t in whole if i in s and i not in t]
            nearest = min(pairs, key=lambda p: len(p[0] ^ p[1]), default=None)
            change = (
                slack[place[nearest[0]]] - slack[place[nearest[1]]] if nearest else np.zeros(low.shape[1])
            )
            unseen = np.isinf(low[i])
            low[i, unseen], high[i, unseen] = np.minimum(change, 0.0)[unseen], np.maximum(change, 0.0)[unseen]


# --- searching ----------------------------------------------------------------------------------------------
@dataclass
class Search(Evidence):
    """Proposes sets from what is known, runs them, and narrows down to the cheapest that holds."""

    # --- proposing ---------------------------------------------------------------------------------------
    def cuts(self, *, failing_below: float) -> tuple[np.ndarray, np.ndarray]:
        """A (rows, n), b (rows,): A x + b bounds the slack from above."""
        solved, slack, _ = self.table()
        low, high = self.effects(solved, slack)
        first = self.choice.base()
        A, b = [], []
        for r, one in enumerate(solved):
            wanted = (
                np.flatnonzero(np.isfinite(slack[r]))
                if one == first
                else np.flatnonzero(slack[r] < failing_below)
            )
            inside = np.array([i in one for i in range(self.choice.size)])
            slope = np.where(inside[:, None], low, high)[:, wanted]
            A.append(slope.T)
            b.append(slack[r, wanted] - slope[inside].sum(axis=0))
        return np.vstack(A), np.concatenate(b)

    def propose(
        self, *, target: float = 0.0, drop: list[Set] | None = None, most_slack: bool = False
    ) -> Set | None:
        """Cheapest set that may reach `target` (K) and was not run; with `most_slack` that which may reach most.

        drop: answers of which no superset is wanted. None where there is none.
        """
        n = self.choice.size
        A, b = self.cuts(failing_below=CAP if most_slack else target)
        worth = np.any(np.abs(A) > 1e-9, axis=1) | (b < target)
        A, b = A[worth], b[worth]
        t = -np.ones((A.shape[0], 1)) if most_slack else np.zeros((A.shape[0], 1))
        rows = [LinearConstraint(np.hstack([A, t]), lb=-b + (0.0 if most_slack else target))]
        rows += [LinearConstraint(row, ub=ub) for row, ub in self.rules(drop or [])]
        found = milp(
            np.append(np.zeros(n), -1.0) if most_slack else np.append(self.objective(), 0.0),
            constraints=rows,
            integrality=np.append(np.ones(n), 0),
            bounds=Bounds(
                np.append([float(i in self.choice.inside) for i in range(n)], -1e4),
                np.append([float(i not in self.choice.outside) for i in range(n)], CAP),
            ),
        )
        return frozenset(np.flatnonzero(found.x[:n] > 0.5).tolist()) if found.x is not None else None

    def objective(self) -> np.ndarray:
        """Price, with so little per measure that it only decides between equals."""
        return self.choice.price + 1e-4 * max(float(np.abs(self.choice.price).max(initial=0.0)), 1e-3) / 100.0

    def rules(self, drop: list[Set]) -> list[tuple[np.ndarray, float]]:
        """Exclusions, prerequisites, sets already run, supersets of `drop`, as row · (x, t) ≤ ub."""
        n = self.choice.size
        found = []
        for a, b in self.choice.excludes:
            found.append((unit_row(n, {a: 1.0, b: 1.0}), 1.0))
        for a, b in self.choice.needs:
            found.append((unit_row(n, {a: 1.0, b: -1.0}), 0.0))
        for one in {*self.runs, *self.failed}:
            found.append((unit_row(n, {i: 1.0 if i in one else -1.0 for i in range(n)}), len(one) - 1.0))
        for one in drop:
            found.append((unit_row(n, dict.fromkeys(one, 1.0)), len(one) - 1.0))
        return found

    # --- the search --------------------------------------------------------------------------------------
    def look_round(self) -> None:
        """The first runs: each measure by itself, and each taken from the fullest set."""
        choice = self.choice
        first, fullest = choice.base(), choice.fullest()
        open_ = [i for i in range(choice.size) if i not in choice.inside | choice.outside]
        alone = [choice.brought_in(first, i) for i in open_]
        needed = [choice.without(s, i) for s, i in zip(alone, open_, strict=True)]
        last = [choice.without(fullest, i) if i in fullest else choice.brought_in(fullest, i) for i in open_]
        self.run([s for s in (first, *needed, *alone, fullest, *last) if choice.admissible(s)])

    def find(self, *, most: int, target: float = 0.0, drop: list[Set] | None = None) -> Set | None:
        """Runs proposals until none can be cheaper than the best that reaches the target, or `most` were run."""
        for _ in range(most):
            best = self.cheapest_run(target, drop or [])
            proposed = self.propose(target=target, drop=drop)
            if proposed is None or (
                best is not None and self.choice.order(proposed) > self.choice.order(best)
            ):
                return best
            self.run_while_it_holds(proposed)
        return self.cheapest_run(target, drop or [])

    def run_while_it_holds(self, chosen: Set) -> None:
        """The duties with least slack expected first, AT_ONCE at a time, up to one in which the set fails."""
        order, seen = self.expected_order([chosen])[chosen], dict[Key, float]()
        for k in range(0, len(order), AT_ONCE):
            (margins,) = self.evaluate([(chosen, tuple(order[k : k + AT_ONCE]))])
            self.duty_runs += len(order[k : k + AT_ONCE])
            if margins is None:
                self.runs[chosen] = None
                break
            seen |= dict(margins)
            if min((self.slack(key, m) for key, m in margins.items()), default=CAP) < 0.0:
                break
        if chosen not in self.runs:
            complete = {key[1] for key in seen} >= set(self.duties) or k + AT_ONCE >= len(order)
            (self.runs if complete else self.failed)[chosen] = seen
        self.tell(", ".join(self.choice.titles(chosen)) or "no measure")

    def cheapest_run(self, target: float, drop: list[Set]) -> Set | None:
        """The cheapest of the sets run that reaches the target (K), supersets of `drop` left out."""
        enough = [s for s in self.runs if self.smallest(s) >= target and not any(d <= s for d in drop)]
        return min(enough, key=self.choice.order, default=None)

    def improve_slack(self, *, most: int) -> Set:
        """Runs the sets that may reach most; returns the one that does. For when nothing holds."""
        for _ in range(most):
            best = max(self.runs, key=self.smallest)
            proposed = self.propose(most_slack=True)
            if proposed is None or self.holds(best):
                break
            self.run([proposed])
        return max(self.runs, key=self.smallest)

    def search(self, *, most: int) -> Set | None:
        """Looks round, then narrows down: the cheapest set found that holds, None where none does."""
        self.look_round()
        return self.go_on(most=most)

    def go_on(self, *, most: int) -> Set | None:
        """`find`; where the bound rules everything out, it is tested on sets that may reach most and round the closest.

        What a measure does hangs on its company (a fan that runs on cools water only where a pump moves it), so
        its effect is looked for where it counts.
        """
        found = self.find(most=most)
        if found is None:
            self.improve_slack(most=MOST_FOR_SLACK)
            found = self.find(most=most)
        for _ in range(MOST_ROUND):
            if found is not None:
                break
            closest = max(self.runs, key=self.smallest)
            self.look_near(closest)
            found = self.find(most=most)
            if found is None and max(self.runs, key=self.smallest) == closest:
                break
        return found

    def look_near(self, one: Set) -> None:
        """Runs the set with each measure more or less."""
        choice = self.choice
        open_ = [i for i in range(choice.size) if i not in choice.inside | choice.outside]
        near = [choice.without(one, i) if i in one else choice.brought_in(one, i) for i in open_]
        self.run([s for s in near if choice.admissible(s)])

    # --- proof -------------------------------------------------------------------------------------------
    def cheaper_unknown(self, best: Set | None, most: int = 10_000) -> list[Set] | int | None:
        """Admissible sets cheaper than the best (all, where there is none) that no run has decided.

        Their number where there are more than `most`; None where there are too many to count.
        """
        if self.choice.size - len(self.choice.inside | self.choice.outside) > MOST_ENUMERATED:
            return None
        known = {*self.runs, *self.failed}
        limit = None if best is None else self.choice.order(best)
        bits, price = self.choice.counted()
        if limit is not None:
            bits = bits[price <= limit[0] + 1e-9]
        if bits.size > most + len(known):
            return int(bits.size) - len(known)
        sets = (s for s in map(self.choice.set_of, bits.tolist()) if s not in known)
        return [s for s in sets if limit is None or self.choice.order(s) < limit]

    def refute(self, sets: list[Set]) -> bool:
        """Runs each set in the duty where it most likely fails, then the others; True where all of them fail."""
        left = self.expected_order(sets)
        seen: dict[Set, dict[Key, float]] = {s: {} for s in sets}
        for step in range(len(self.duties)):
            now = [s for s in left if s not in self.failed]
            found = self.evaluate([(s, (left[s][step],)) for s in now])
            self.duty_runs += len(now)
            for one, margins in zip(now, found, strict=True):
                seen[one] |= dict(margins or {})
                if margins is None or min((self.slack(k, m) for k, m in margins.items()), default=CAP) < 0.0:
                    self.failed[one] = seen[one]
            self.tell(f"{len(self.failed)} cheaper sets refuted")
        for one in sets:
            if one not in self.failed:
                self.runs[one] = seen[one]
        return all(s in self.failed for s in sets)

    def expected_order(self, sets: list[Set]) -> dict[Set, list[str]]:
        """The duties of every set, those with least slack expected first."""
        solved, slack, keys = self.table()
        low, high = self.effects(solved, slack)
        first = solved.index(self.choice.base()) if self.choice.base() in solved else 0
        return {s: self.duty_order(s, slack[first], 0.5 * (low + high), keys) for s in sets}

    def duty_order(self, chosen: Set, start: np.ndarray, effect: np.ndarray, keys: list[Key]) -> list[str]:
        """Duties, the one with least slack expected first."""
        expected = start + effect[sorted(chosen)].sum(axis=0) if chosen else start
        least = {
            d: min((float(e) for e, k in zip(expected, keys, strict=True) if k[1] == d), default=CAP)
            for d in self.duties
        }
        return sorted(self.duties, key=least.__getitem__)


def unit_row(n: int, entries: Mapping[int, float]) -> np.ndarray:
    """A row of a constraint over (x, t), zero but for `entries`."""
    row = np.zeros(n + 1)
    for i, value in entries.items():
        row[i] = value
    return row


def front(search: Search) -> list[Set]:
    """Of the sets run, those that no cheaper one beats in smallest slack; cheapest first."""
    found: list[Set] = []
    for one in sorted(search.runs, key=lambda s: (search.choice.order(s)[0], -search.smallest(s))):
        if not found or search.smallest(one) > search.smallest(found[-1]) + 1e-9:
            found.append(one)
    return found
