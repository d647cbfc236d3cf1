"""How sure a margin is: first order, from what each uncertain value does to it.

Every value with a spread is moved by one standard deviation, all duties are solved again, and the change of
each margin is kept: the matrix `change` (margins × values), in kelvin per standard deviation. With values of
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
from joblib import Parallel, delayed

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.fields import fields_of
from heatproof.kit.records.base import Record
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Spread, Variant, child
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.solving import DutyNotSolved, Tell, solve_all

Key = tuple[str, str]
"""Part, duty."""

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


def moved(variant: Variant, path: str, spread: Spread) -> tuple[Variant, float]:
    """The variant with one value a standard deviation up, or down where up is not allowed; and how many
    standard deviations that is (signed; less than one where neither side has the room)."""
    low, high = declared_range(variant, path)
    value = variant.value(path)
    if value + spread.sd <= high:
        new = value + spread.sd
    elif value - spread.sd >= low:
        new = value - spread.sd
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
    jobs: int = 2,
    tell: Tell | None = None,
) -> Sensitivities:
    """Re-solves every duty once for every value with a spread. `base`: margins as they stand (K).

    Threads, not processes: kernels run without the interpreter's lock, and nothing has to be sent or loaded.
    Values whose move does not solve are left out and named.
    """
    spreads = {path: spread for path, spread in variant.spreads.items() if spread.sd > 0.0}
    keys, paths, parts = tuple(base), tuple(spreads), judged(variant)
    start = np.array([base[key] for key in keys])

    def column(path: str) -> np.ndarray | None:
        other, steps = moved(variant, path, spreads[path])
        if steps == 0.0:
            return np.zeros(len(keys))
        try:
            found = margin_values(solve_all(other, duties, lay_network(other)), parts)
        except DutyNotSolved:
            return None
        return (np.array([found[key] for key in keys]) - start) / steps

    work = Parallel(n_jobs=jobs, prefer="threads", return_as="generator")(delayed(column)(p) for p in paths)
    columns = []
    for path, one in zip(paths, work, strict=True):
        columns.append(one)
        if tell is not None:
            tell(path)
    zero = np.zeros(len(keys))
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
