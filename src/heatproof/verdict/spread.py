"""How sure a margin is: first order, from what each uncertain value does to it.

Every value with a spread is moved by one standard deviation, the duties are solved again (`spread_runs` says
which, and with which steps), and the change of each margin is kept: the matrix `change` (margins × values), in kelvin per standard deviation. With values of
one group fully correlated and groups independent,

    variance of a margin = Σ_groups (Σ_values in group change)².

The margin counts as normally distributed: confidence that it is positive = Φ(margin / sd). What it covers is
the values that declare a spread, not the form of the model.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from statistics import NormalDist
from typing import Any

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.kit.fields import fields_of
from heatproof.kit.records.base import Record
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Spread, Variant, child
from heatproof.verdict.judged import Judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.solving import Tell
from heatproof.verdict.spread_runs import Key, Runs

VAGUE = ("", "invented", "estimate", "guess", "from memory", "common practice", "default")
"""Beginnings of sources that are no common source of error: values that share them are independent."""


@dataclass(frozen=True)
class Sensitivities:
    """change (margins, values): K per standard deviation. `unsolved`: values whose move could not be solved."""

    keys: tuple[Key, ...]
    paths: tuple[str, ...]
    sd: np.ndarray
    change: np.ndarray
    group: np.ndarray
    unsolved: tuple[str, ...] = ()

    def sds(self) -> np.ndarray:
        """Standard deviation (K) of every margin."""
        total = np.zeros(len(self.keys))
        for g in np.unique(self.group):
            total += self.change[:, self.group == g].sum(axis=1) ** 2
        return np.asarray(np.sqrt(total))

    def of(self, key: Key) -> list[tuple[str, float]]:
        """(path, K per standard deviation) of one margin, largest first."""
        row = self.change[self.keys.index(key)]
        order = np.argsort(-np.abs(row), kind="stable")
        return [(self.paths[i], float(row[i])) for i in order]

    def slope(self, key: Key, path: str) -> float:
        """d margin / d value, K per SI unit."""
        k = self.paths.index(path)
        return float(self.change[self.keys.index(key), k] / self.sd[k])


def groups(spreads: Mapping[str, Spread]) -> np.ndarray:
    """(values,) group number: values with the same named source share their error, all others stand alone."""
    found: dict[str, int] = {}
    numbers = []
    for path, spread in spreads.items():
        source = spread.source.strip().lower()
        vague = not source or any(source.startswith(word) for word in VAGUE if word)
        numbers.append(found.setdefault(f"path {path}" if vague else f"source {source}", len(found)))
    return np.array(numbers, dtype=int)


def declared_range(variant: Variant, path: str) -> tuple[float, float]:
    """Lowest and highest allowed value (SI) of a path."""
    *above, last = path.split(".")
    holder: Any = variant.assembly
    for key in above:
        holder = child(holder, key)
    field = fields_of(type(holder)).get(last) if isinstance(holder, Record) else None
    quantity = getattr(field, "declaration", None)
    return getattr(quantity, "low", -inf), getattr(quantity, "high", inf)


def moved(variant: Variant, path: str, spread: Spread, turn: float = 1.0) -> tuple[Variant, float]:
    """The variant with one value a standard deviation up (down with `turn` −1), or the other way where that is
    not allowed; and how many standard deviations that is (signed; less than one where neither side has the
    room)."""
    low, high = declared_range(variant, path)
    value = variant.value(path)
    step = turn * spread.sd
    if low <= value + step <= high:
        new = value + step
    elif low <= value - step <= high:
        new = value - step
    else:
        new = high if high - value >= value - low else low
    return variant.replace(path, new), (new - value) / spread.sd


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
    zero = [0.0] * len(keys)
    return Sensitivities(
        keys=keys,
        paths=paths,
        sd=np.array([s.sd for s in spreads.values()]),
        change=np.array([zero if c is None else c for c in columns]).reshape(len(paths), len(keys)).T,
        group=groups(spreads),
        unsolved=tuple(p for p, c in zip(paths, columns, strict=True) if c is None),
    )


def confidence(margin: float, sd: float) -> float:
    """Φ(margin / sd)."""
    if sd <= 0.0:
        return 1.0 if margin > 0.0 else 0.0
    return NormalDist().cdf(margin / sd)


def half_width(sd: float, required: float) -> float:
    """z sd with z the normal quantile of the required confidence: the band crosses 0 exactly where it fails."""
    return NormalDist().inv_cdf(required) * sd
