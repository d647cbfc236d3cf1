"""Joint draws: every uncertain value and every family of laws moved at once, and the margins of each draw.

The cost of a draw is one run of the duties, however many values are in doubt, and a draw sees what a straight line cannot: a
thermostat that opens, a circulation that turns round, a fan that switches. Draws are a scrambled low-discrepancy sequence in
the standard normal of every group of values with a common error, so that variants of one car drawn with one seed share
theirs (propagation of distributions by draws: JCGM 101:2008, from memory).

Shapes and places stay where they are in a draw: tracing view factors anew costs more than the run, and what they contribute
stands in the family `view_factors` of the laws.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from scipy.special import ndtri

from heatproof.assembly.law_doubt import LawDoubt, law_doubts, with_factors
from heatproof.assembly.model import lay_network
from heatproof.kit.assumed import assumed_spreads
from heatproof.kit.convert import Spread
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.network.laid import Network
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.own_doubt import own_sd
from heatproof.verdict.solving import DutyNotSolved, solve_duty_of
from heatproof.verdict.spread_runs import COARSE, Key
from heatproof.verdict.uncertain import declared_range, groups

Whose = Literal["yours", "assumed", "laws"]
WHOSE: tuple[Whose, ...] = ("yours", "assumed", "laws")
DRAWS = 64
"""Draws of a check: the standard deviation of a margin is within 6 % of that of 1,024 for half of the margins in doubt and
within 23 % for all (measured on an example)."""

GAP, GAP_SHARE, GROUP = 4.0, 0.3, 0.1
"""K, share of the range, share of the draws: what makes two outcomes of one margin."""


@dataclass(frozen=True)
class Uncertain:
    """One value or family of laws. spread: of a value, None of a law."""

    path: str
    whose: Whose
    spread: Spread | None = None
    law: LawDoubt | None = None


@dataclass(frozen=True)
class Drawn:
    """Margins (draws, keys) K, NaN where a draw was not solved; z (draws, values): standard deviations.

    centre (keys,): margins (K) without any move, by the same steps as the draws. own (keys,): standard deviation (K) of the model
    itself at each margin.
    """

    keys: tuple[Key, ...]
    uncertain: tuple[Uncertain, ...]
    z: np.ndarray
    margins: np.ndarray
    centre: np.ndarray
    own: np.ndarray

    @property
    def counts(self) -> dict[str, int]:
        """How many values are whose."""
        count = Counter(one.whose for one in self.uncertain)
        return {"yours": count["yours"], "assumed": count["assumed"], "laws": count["laws"]}

    @property
    def unsolved(self) -> int:
        """Draws in which a duty was not solved."""
        return int((~np.isfinite(self.margins).all(axis=1)).sum())

    def moves(self, key: Key) -> np.ndarray:
        """Change (K) of one margin in every solved draw, against no move at all."""
        k = self.keys.index(key)
        moved = self.margins[:, k] - self.centre[k]
        return np.asarray(moved[np.isfinite(moved)])

    def two_outcomes(self, key: Key) -> tuple[tuple[float, float], tuple[float, float]] | None:
        """((share, mean margin K) of the lower, of the higher group) where the draws of one margin part into two; else None.

        They part where the widest gap between neighbours is over GAP_SHARE of their whole range and over GAP kelvin, and
        neither group holds fewer than GROUP of them.
        """
        if key not in self.keys:
            return None
        values = np.sort(self.centre[self.keys.index(key)] + self.moves(key))
        edge = int(np.ceil(GROUP * values.size))
        gaps = np.diff(values)[edge - 1 : values.size - edge]
        if gaps.size == 0 or gaps.max() < max(GAP, GAP_SHARE * (values[-1] - values[0])):
            return None
        cut = int(np.argmax(gaps)) + edge
        low, high = values[:cut], values[cut:]
        return (low.size / values.size, float(low.mean())), (high.size / values.size, float(high.mean()))

    def sds(self) -> np.ndarray:
        """(keys,) standard deviation (K) about the margin without any move; NaN where fewer than three draws are solved.

        About the nominal and not about the mean: a verdict is given for the nominal car, and where all draws lie below it
        that is part of its doubt.
        """
        moved = self.margins - self.centre
        solved = np.isfinite(moved)
        square = np.where(solved, moved, 0.0) ** 2
        count = solved.sum(axis=0)
        return np.where(count >= 3, np.sqrt(square.sum(axis=0) / np.maximum(count, 1)), np.nan)


def uncertain_of(variant: Variant, network: Network) -> tuple[Uncertain, ...]:
    """All values in doubt: yours, those that nobody gave a spread, and the laws as they are laid."""
    yours = (Uncertain(p, "yours", s) for p, s in variant.spreads.items() if s.sd > 0.0)
    assumed = (Uncertain(p, "assumed", s) for p, s in assumed_spreads(variant).items())
    laws = (Uncertain(law.path, "laws", law=law) for law in law_doubts(network))
    return (*yours, *assumed, *laws)


def standard_draws(uncertain: tuple[Uncertain, ...], count: int, seed: int) -> np.ndarray:
    """(count, values) standard normal draws; values with the same named source share theirs."""
    if not uncertain:
        return np.zeros((count, 0))
    named = {one.path: one.spread or Spread(1.0, 1.0) for one in uncertain}
    sourced = {
        p: s if not s.source.startswith("assumed") else Spread(s.value, s.sd) for p, s in named.items()
    }
    group = groups(sourced)
    from scipy.stats import qmc  # a second to load; a check without doubt needs no draws

    power = int(np.ceil(np.log2(max(count, 2))))
    sequence = qmc.Sobol(d=int(group.max()) + 1, scramble=True, rng=np.random.default_rng(seed))
    unit = sequence.random_base2(power)[:count]
    return np.asarray(ndtri(np.clip(unit, 1e-9, 1.0 - 1e-9))[:, group])


class Judgement(NamedTuple):
    """One margin and the model's own standard deviation there, K."""

    margin: float
    own: float


@dataclass(frozen=True)
class Sampler:
    """What a draw needs, prepared once: values, their allowed ranges, the judged parts."""

    variant: Variant
    duties: Mapping[str, Duty]
    uncertain: tuple[Uncertain, ...]
    ranges: dict[str, tuple[float, float]]
    values: dict[str, float]
    parts: tuple[Judged, ...]

    @property
    def by_key(self) -> dict[str, Judged]:
        """Judged parts by their keys."""
        return {part.part: part for part in self.parts}

    def margins(self, z: np.ndarray) -> dict[Key, Judgement]:
        """Margin and the model's own standard deviation (K) of one draw; empty where it could not be laid or solved."""
        moved = {
            one.path: float(np.clip(self.values[one.path] + z[k] * one.spread.sd, *self.ranges[one.path]))
            for k, one in enumerate(self.uncertain)
            if one.spread is not None and z[k] != 0.0
        }
        turned = {one.path: float(z[k]) for k, one in enumerate(self.uncertain) if one.law is not None}
        try:
            variant = self.variant.with_values(moved)
            network = with_factors(lay_network(variant), turned)
            found: dict[Key, Judgement] = {}
            for key, duty in self.duties.items():
                run = solve_duty_of(variant, key, duty, network, COARSE).run
                key_off, ambient = float(run.duty.key_off), run.around.temperature
                for part, margin in margins_in(run, self.parts).items():
                    own = own_sd(self.variant, self.by_key[part], duty, margin, key_off, ambient)
                    found[part, key] = Judgement(margin.margin, own)
            return found
        except (DutyNotSolved, ValueError):
            return {}


def draw_margins(
    variant: Variant,
    duties: Mapping[str, Duty],
    *,
    keys: Iterable[Key] | None = None,
    whose: Iterable[Whose] = WHOSE,
    count: int = DRAWS,
    seed: int = 0,
    jobs: int = 2,
    tell: Callable[[str], None] | None = None,
) -> Drawn:
    """`count` joint draws through all duties, with coarse steps; threads: kernels run without the interpreter's lock.

    keys: margins wanted, all where left out; one that the car as it stands does not have stays without draws. whose: kinds of
    values that move, the others stay as they are.
    """
    network, moving = lay_network(variant), frozenset(whose)
    uncertain = tuple(value for value in uncertain_of(variant, network) if value.whose in moving)
    valued = [one for one in uncertain if one.spread is not None]
    sampler = Sampler(
        variant,
        duties,
        uncertain,
        {one.path: declared_range(variant, one.path) for one in valued},
        {one.path: variant.value(one.path) for one in valued},
        judged(variant),
    )
    z = standard_draws(uncertain, count, seed)
    centre = sampler.margins(np.zeros(len(uncertain)))
    wanted = tuple(centre) if keys is None else tuple(keys)
    unknown = Judgement(np.nan, np.nan)
    margins = np.full((count, len(wanted)), np.nan)
    with ThreadPoolExecutor(jobs) as pool:
        for k, drawn in enumerate(pool.map(sampler.margins, z)):
            margins[k] = [drawn.get(key, unknown).margin for key in wanted]
            if tell is not None:
                tell(f"draw {k + 1}")
    at_centre = [centre.get(key, unknown) for key in wanted]
    middle, own = (
        (np.array(column) for column in zip(*at_centre, strict=True))
        if wanted
        else (np.zeros(0), np.zeros(0))
    )
    return Drawn(wanted, uncertain, z, margins, middle, own)
