"""What is left of margins once their spread is kept free."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from heatproof.study.runs.cases import Outcome
from heatproof.verdict.spread import half_width
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Verdict

UNSOLVED = -400.0  # K, of a duty that was not solved


@dataclass
class Slack:
    """half: K kept free per margin; `other` for those not among them. left_out: margins that are not asked about.

    most: K beyond which more does not count.
    """

    half: dict[Key, float] = field(default_factory=dict)
    other: float = 0.0
    left_out: frozenset[Key] = frozenset()
    most: float = np.inf

    def of(self, key: Key, margin: float) -> float:
        """K left of one margin."""
        return min(margin - self.half.get(key, self.other), self.most)

    def each(self, outcome: Outcome) -> dict[Key, float]:
        """K left by (part, duty); UNSOLVED by ("", duty) where a duty was not solved."""
        left = {key: self.of(key, m) for key, m in outcome.margins.items() if key not in self.left_out}
        return left | {("", duty): UNSOLVED for duty in outcome.unsolved}

    def least(self, outcome: Outcome) -> tuple[float, Key]:
        """The least K left and where; +∞ where nothing is judged."""
        left = self.each(outcome)
        key = min(left, key=left.__getitem__, default=("", ""))
        return left.get(key, np.inf), key


def half_widths(verdict: Verdict, confidence: float) -> dict[Key, float]:
    """Half width (K) of every margin at a confidence, by (part, duty); none where spreads were left out."""
    widths: Mapping[Key, float | None] = {(row.part, row.duty): row.sd for row in verdict.rows}
    return {key: half_width(sd, confidence) for key, sd in widths.items() if sd is not None}
