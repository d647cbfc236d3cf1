"""Runs of sets of measures for a search: coarse where that decides, fine near the line.

Long duties are integrated with coarser steps. Where the least that is left in such a run lies within NEAR of the
line between holding and failing, the duty is run again with the usual steps, so that no answer hangs on them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from joblib import Parallel, delayed

from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.study.measure_sets import Choice, Set
from heatproof.study.runs import Laid, Outcome, joined, lay, run_laid
from heatproof.study.set_evidence import Margins
from heatproof.verdict.spread_runs import COARSE, LONG, Key

NEAR = 4.0  # K; coarse runs are off by up to 4 K at the exhaust, 1.4 K elsewhere (measured on the example)
Task = tuple[Set, str]
"""Set, duty."""


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
        threads = Parallel(n_jobs=self.jobs, prefer="threads")
        laid = dict(zip(sets, threads(delayed(lay)(self.variants[one]) for one in sets), strict=True))
        real = [task for task in tasks if task[0] in laid]
        outcomes = threads(delayed(self.one)(laid[one], key) for one, key in real)
        return {task: Outcome() for task in tasks} | dict(zip(real, outcomes, strict=True))

    def one(self, laid: Laid, key: str) -> Outcome:
        """One duty of one set."""
        coarse = self.rows.get(key, 0) >= LONG
        found = run_laid(laid, {key: self.duties[key]}, COARSE if coarse else None)
        least = min((self.slack(k, m) for k, m in found.margins.items()), default=NEAR)
        if coarse and (found.unsolved or abs(least) < NEAR):
            self.fine += 1
            found = run_laid(laid, {key: self.duties[key]})
        self.rows.setdefault(key, found.rows)
        return found
