"""What the sets run so far say: their margins, and the least and the most that each measure ever did to each.

Measures are taken from pairs of runs that differ in one alone; `set_search` has the rest of the reasoning.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from heatproof.study.measure_sets import Choice, Set
from heatproof.verdict.spread_runs import Key

CAP = 150.0  # K of slack beyond which more does not count; also where a part is not there
UNSOLVED = -400.0  # K, slack of a duty that could not be solved
TOLD = 6  # sets run before progress is told
Margins = Mapping[Key, float]
Evaluate = Callable[[list[tuple[Set, tuple[str, ...] | None]]], list[Margins | None]]
"""Sets with the duties to run (None: all) → margins (K); None where a duty was not solved."""


@dataclass
class Evidence:
    """half: spread (K) that must stay free per margin; `other_half` for margins not among them."""

    choice: Choice
    evaluate: Evaluate
    duties: tuple[str, ...]
    half: dict[Key, float] = field(default_factory=dict)
    other_half: float = 0.0
    trust: float = 1.2
    runs: dict[Set, Margins | None] = field(default_factory=dict)
    failed: dict[Set, dict[Key, float]] = field(default_factory=dict)
    """Sets refuted in part of the duties, with the margins of those."""
    duty_runs: int = 0
    tell: Callable[[str], None] = lambda what: None

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
        return min(margin - self.half.get(key, self.other_half), CAP)

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
