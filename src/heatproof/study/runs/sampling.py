"""Confidence by sampling: all uncertain values drawn at once, to test the first-order spread.

Latin hypercube in the standard normal of every group of values with a common error (`verdict.spread.groups`); a
value is its nominal plus its standard deviation times the group's draw, kept inside its declared range. Margins of
every draw come from the full model. First order assumes straight lines and normal margins; both fail where a
thermostat opens or closes, coolant boils, or a fan switches within the spread, and `Compared.agrees` says where.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heatproof._program_hash import answers_hash
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress
from heatproof.study.runs.cases import Outcome, case, from_plain, run_cases, run_plain
from heatproof.study.runs.spread_out import spread_out
from heatproof.study.runs.switches import Facts
from heatproof.verdict.spread import Sensitivities, confidence
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.uncertain import drawn, draws

LEAST_DISAGREEMENT = 0.5  # K of mean or sd that is worth saying
AT_SIGMAS = 2.0


@dataclass(frozen=True)
class Sampled:
    """Margins (draws, keys) K; NaN where a duty was not solved. draws (draws, values): standard deviations."""

    keys: tuple[Key, ...]
    paths: tuple[str, ...]
    margins: np.ndarray
    draws: np.ndarray
    unsolved: int
    facts: tuple[Mapping[str, Facts], ...] = ()
    """Of every draw: duty to what switched in it."""

    def of(self, key: Key) -> np.ndarray:
        """Margins of one part in one duty, solved draws only (K)."""
        column = self.margins[:, self.keys.index(key)]
        return np.asarray(column[np.isfinite(column)])

    def share_holding(self, key: Key) -> float:
        """Share of all draws in which the limit holds; an unsolved draw counts as lost."""
        return float((self.of(key) > 0.0).sum() / self.margins.shape[0])

    def all_holding(self) -> float:
        """Share of draws in which every limit holds."""
        return float(np.mean(np.all(self.margins > 0.0, axis=1)))


@dataclass(frozen=True)
class Agreement:
    """One margin by both ways: mean and sd in K. agrees: within what this many draws can tell."""

    key: Key
    nominal: float
    sd_first_order: float
    mean_sampled: float
    sd_sampled: float
    confidence_first_order: float
    confidence_sampled: float
    agrees: bool


def sample(
    variant: Variant,
    duties: Mapping[str, Duty],
    *,
    count: int = 100,
    seed: int = 0,
    jobs: int = 2,
    cluster: str | None = None,
    resume: str | None = None,
    progress: Progress | None = None,
) -> Sampled:
    """Runs `count` draws. With a cluster or a resume folder over `spread_out`, else over threads."""
    paths, z = draws(variant, count, seed)
    cases = [case(drawn(variant, paths, row), duties) for row in z]
    if cluster is not None or resume is not None:
        plain = spread_out(
            run_plain,
            cases,
            workers=jobs,
            cluster=cluster,
            resume=resume,
            progress=progress,
            label=answers_hash(),
        )
        outcomes = [from_plain(one) for one in plain]
    else:
        outcomes = run_cases(cases, jobs=jobs, progress=progress)
    return sampled(paths, z, outcomes)


def sampled(paths: tuple[str, ...], z: np.ndarray, outcomes: list[Outcome]) -> Sampled:
    """Margins as one array."""
    keys = tuple(dict.fromkeys(key for one in outcomes for key in one.margins))
    margins = np.array([[one.margins.get(key, np.nan) for key in keys] for one in outcomes])
    unsolved = sum(1 for one in outcomes if one.unsolved)
    return Sampled(keys, paths, margins, z, unsolved, tuple(one.facts for one in outcomes))


def agreement(found: Sampled, first_order: Sensitivities, base: Mapping[Key, float]) -> list[Agreement]:
    """Every margin both ways, those that disagree most first.

    They agree where mean and standard deviation differ by less than AT_SIGMAS sampling errors of either (and
    LEAST_DISAGREEMENT), a fifth of the standard deviation left for curvature.
    """
    sds = dict(zip(first_order.keys, first_order.first_order_sds(), strict=True))
    rows = []
    for key in found.keys:
        values = found.of(key)
        if key not in sds or values.size < 3:
            continue
        sd, n = float(sds[key]), values.size
        mean, spread = float(values.mean()), float(values.std(ddof=1))
        room = LEAST_DISAGREEMENT + 0.2 * sd
        off_mean = abs(mean - base[key]) - AT_SIGMAS * spread / np.sqrt(n)
        off_sd = abs(spread - sd) - AT_SIGMAS * spread / np.sqrt(2.0 * (n - 1))
        rows.append(
            Agreement(
                key=key,
                nominal=base[key],
                sd_first_order=sd,
                mean_sampled=mean,
                sd_sampled=spread,
                confidence_first_order=confidence(base[key], sd),
                confidence_sampled=found.share_holding(key),
                agrees=bool(off_mean <= room and off_sd <= room),
            )
        )
    return sorted(
        rows, key=lambda row: -abs(row.sd_sampled - row.sd_first_order) - abs(row.mean_sampled - row.nominal)
    )
