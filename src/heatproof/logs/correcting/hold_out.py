"""A run that took no part in a correction: does the corrected car predict it better?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.correction_fit import TestRun
from heatproof.logs.predicting.against import Against, compare_with_model


@dataclass(frozen=True, eq=False)
class HeldOut:
    """One run, before and after. channels: (column, place, rms before, rms after), K, worst after first."""

    name: str
    channels: tuple[tuple[str, str, float, float], ...]
    before: float
    after: float

    @property
    def better(self) -> bool:
        """Whether the root mean square over all channels fell."""
        return self.after < self.before


def hold_out(before: Variant, after: Variant, runs: Sequence[TestRun]) -> tuple[HeldOut, ...]:
    """Every held-out run through both cars. DutyNotSolved where one cannot be solved."""
    return tuple(one_run(before, after, run) for run in runs)


def one_run(before: Variant, after: Variant, run: TestRun) -> HeldOut:
    """One run."""
    first = compare_with_model(before, run.logged, run.readings, from_s=run.from_s)
    second = compare_with_model(after, run.logged, run.readings, from_s=run.from_s)
    old = {one.column: one.rms for one in first.channels}
    rows = [(one.column, one.place, old[one.column], one.rms) for one in second.channels]
    rows.sort(key=lambda row: -row[3])
    return HeldOut(run.name, tuple(rows), total(first), total(second))


def total(found: Against) -> float:
    """Root mean square over all channels, K, each counted alike."""
    return float(np.sqrt(np.mean([one.rms**2 for one in found.channels])))
