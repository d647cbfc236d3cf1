"""How sure a margin is: what every value in doubt does to it, the laws, and the model itself.

Every value with a spread is moved by one standard deviation, the duties are solved again (`spread_runs` says which, and with
which steps), and the change of each margin is kept: the matrix `change` (margins × values), in kelvin per standard deviation.
With values of one group fully correlated and groups independent,

    variance of a margin = Σ_groups (Σ_values in group change)² + variance by draws of the rest + variance of the model itself.

Where a value switches something and the straight line fails, its part comes from draws as well (`bends`). The rest are values
that somebody gave without a spread and the families of laws as they are laid (`draws`); the model's own doubt is what no value
can mimic (`own_doubt`). The margin counts as normally distributed: confidence that it is positive = Φ(margin / sd).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Tell
from heatproof.verdict.bends import find_bends, straight_sds
from heatproof.verdict.draws import draw_margins
from heatproof.verdict.judged import Judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.spread_runs import Key, Runs
from heatproof.verdict.uncertain import groups, moved


@dataclass(frozen=True)
class Sensitivities:
    """change (margins, values): K per standard deviation, by both sides where they differ. `unsolved`: values whose
    move could not be solved. `drawn`: standard deviation (K) of the margins for which straight lines do not do."""

    keys: tuple[Key, ...]
    paths: tuple[str, ...]
    sd: np.ndarray
    change: np.ndarray
    group: np.ndarray
    unsolved: tuple[str, ...] = ()
    drawn: tuple[tuple[Key, float], ...] = ()
    rest: np.ndarray | None = None
    """(margins,) standard deviation (K) by joint draws of values without a spread of their own and of the laws; None: not drawn."""
    own: np.ndarray | None = None
    """(margins,) standard deviation (K) of the model itself; None: left out."""
    assumed: int = 0
    """Values without a spread of their own that were drawn."""
    laws: int = 0
    """Families of laws that were drawn."""
    lost_draws: int = 0
    """Draws that could not be solved."""

    def first_order_sds(self) -> np.ndarray:
        """Standard deviation (K) of every margin, by straight lines."""
        return straight_sds(self.change, self.group)

    def sds(self) -> np.ndarray:
        """Standard deviation (K) of every margin: spreads, values without one, laws and the model itself together."""
        others = [part for part in (self.rest, self.own) if part is not None]
        return np.sqrt(sum((np.nan_to_num(part) ** 2 for part in others), self.value_sds() ** 2))

    def value_sds(self) -> np.ndarray:
        """Standard deviation (K) of every margin by the values that declare a spread alone."""
        found, of_draws = self.first_order_sds(), dict(self.drawn)
        return np.array([of_draws.get(key, sd) for key, sd in zip(self.keys, found, strict=True)])

    def of(self, key: Key) -> list[tuple[str, float]]:
        """(path, K per standard deviation) of one margin, largest first."""
        row = self.change[self.keys.index(key)]
        order = np.argsort(-np.abs(row), kind="stable")
        return [(self.paths[i], float(row[i])) for i in order]

    def slope(self, key: Key, path: str) -> float:
        """d margin / d value, K per SI unit."""
        k = self.paths.index(path)
        return float(self.change[self.keys.index(key), k] / self.sd[k])


def margin_values(solved: Mapping[str, Solved], parts: tuple[Judged, ...]) -> dict[Key, float]:
    """(part, duty) to margin in K."""
    return {
        (part, key): margin.margin
        for key, one in solved.items()
        for part, margin in margins_in(one.run, parts).items()
    }


def sensitivities(
    variant: Variant,
    duties: Mapping[str, Duty],
    base: Mapping[Key, float],
    *,
    rows: Mapping[str, int] | None = None,
    jobs: int = 2,
    tell: Tell | None = None,
) -> Sensitivities:
    """Re-solves the duties for every value with a spread. `base`: margins as they stand (K).

    rows: of the nominal run of every duty; where given, long duties are run as rarely and with steps as coarse
    as `spread_runs` allows, else every duty once for every value with the usual steps. Values whose move does
    not solve are left out and named.
    """
    spreads = {path: spread for path, spread in variant.spreads.items() if spread.sd > 0.0}
    keys, paths = tuple(base), tuple(spreads)
    runs = Runs(
        variant=variant,
        duties=duties,
        start=dict(base),
        move=lambda v, path, turn: moved(v, path, spreads[path], turn),
        jobs=jobs,
        tell=tell or (lambda what: None),
    )
    runs.coarsen(rows or {})
    found = runs.all_columns(paths, rows or {})
    columns = [one if one is None else [one[key] for key in keys] for one in (found[p] for p in paths)]
    zero, group = [0.0] * len(keys), groups(spreads)
    change = np.array([zero if c is None else c for c in columns]).reshape(len(paths), len(keys)).T
    bends = find_bends(runs, keys, paths, change, straight_sds(change, group), group)
    drawn = draw_margins(variant, duties, keys=keys, whose=("assumed", "laws"), jobs=jobs, tell=tell)
    return Sensitivities(
        keys=keys,
        paths=paths,
        sd=np.array([s.sd for s in spreads.values()]),
        change=bends.slope,
        group=group,
        unsolved=tuple(p for p, c in zip(paths, columns, strict=True) if c is None),
        drawn=tuple(bends.sd.items()),
        rest=drawn.sds(),
        own=drawn.own,
        assumed=drawn.counts["assumed"],
        laws=drawn.counts["laws"],
        lost_draws=drawn.unsolved,
    )


def confidence(margin: float, sd: float) -> float:
    """Φ(margin / sd)."""
    if sd <= 0.0:
        return 1.0 if margin > 0.0 else 0.0
    return NormalDist().cdf(margin / sd)


def half_width(sd: float, required: float) -> float:
    """z sd with z the normal quantile of the required confidence: the band crosses 0 exactly where it fails."""
    return NormalDist().inv_cdf(required) * sd
