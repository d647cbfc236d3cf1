"""A check by sampling beside the first-order one: where they disagree, and what switches there."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress
from heatproof.study.questions.check import variant_of
from heatproof.study.runs.sampling import Agreement, Sampled, agreement, sample
from heatproof.study.runs.switches import Reason, facts_of, reasons
from heatproof.verdict.spread import Sensitivities
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Verdict

FEWEST = 20


@dataclass(frozen=True)
class SampledRow:
    """One margin both ways. low, high: 5 % and 95 % of the draws (K). why: empty where both agree, or where
    nothing that switches goes with the difference."""

    found: Agreement
    title: str
    duty_name: str
    low: float
    high: float
    why: tuple[Reason, ...]


@dataclass(frozen=True)
class SampledCheck:
    """rows: those that disagree most first. all_holding: share of draws in which every limit holds; unsolved:
    draws in which a duty was not solved (they count as not holding)."""

    count: int
    seed: int
    rows: tuple[SampledRow, ...]
    all_holding: float
    unsolved: int

    @property
    def disagreeing(self) -> tuple[SampledRow, ...]:
        """Rows in which the two ways differ by more than so many draws can leave open."""
        return tuple(row for row in self.rows if not row.found.agrees)


def check_by_sampling(
    project: Project,
    verdict: Verdict,
    variant: Iterable[str] | Variant | None = None,
    *,
    count: int = 100,
    seed: int = 0,
    jobs: int = 2,
    progress: Progress | None = None,
) -> SampledCheck:
    """`count` draws of all uncertain values through all duties, beside a verdict with spreads.

    Raises Refused where the verdict has none, or where fewer than FEWEST draws are asked for.
    """
    matrix = verdict.sensitivities
    if matrix is None:
        raise Refused(
            [
                Finding(
                    "error",
                    "sampling stands beside the first-order spread",
                    next_step="leave --no-spread out",
                )
            ]
        )
    if count < FEWEST:
        raise Refused(
            [Finding("error", "too few draws", got=str(count), allowed=f"{FEWEST} or more, better 100")]
        )
    built = variant if isinstance(variant, Variant) else variant_of(project, variant)[0]
    found = sample(built, project.duties, count=count, seed=seed, jobs=jobs, progress=progress)
    base = {(row.part, row.duty): row.margin for row in verdict.rows}
    rows = [sampled_row(one, found, matrix, verdict) for one in agreement(found, matrix, base)]
    rows.sort(key=lambda row: row.found.agrees)
    return SampledCheck(count, seed, tuple(rows), found.all_holding(), found.unsolved)


def sampled_row(one: Agreement, found: Sampled, matrix: Sensitivities, verdict: Verdict) -> SampledRow:
    """With percentiles, and reasons where the two ways disagree."""
    row = verdict.row(*one.key)
    low, high = np.quantile(found.of(one.key), [0.05, 0.95])
    why: tuple[Reason, ...] = ()
    if not one.agrees:
        missed = missed_by_first_order(one.key, one.nominal, found, matrix)
        solved = np.isfinite(missed)
        facts = [f for f, s in zip(facts_of(found.facts, one.key[1]), solved, strict=True) if s]
        why = reasons(missed[solved], facts)
    return SampledRow(one, row.title, row.duty_name, float(low), float(high), why)


def missed_by_first_order(key: Key, nominal: float, found: Sampled, matrix: Sensitivities) -> np.ndarray:
    """(draws,) K: margin of every draw less that by straight lines; NaN where it was not solved."""
    change = matrix.change[matrix.keys.index(key)]
    order = [matrix.paths.index(path) for path in found.paths]
    straight = nominal + found.draws @ change[order]
    return np.asarray(found.margins[:, found.keys.index(key)] - straight)
