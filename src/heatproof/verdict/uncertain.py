"""The uncertain values of a variant: which share an error, how far one may move, all of them drawn at once."""

from collections.abc import Mapping
from math import inf
from typing import Any

import numpy as np
from scipy.special import ndtri

from heatproof.kit.convert import Spread
from heatproof.kit.fields import fields_of
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Variant
from heatproof.kit.values import child

VAGUE = ("", "invented", "estimate", "guess", "from memory", "common practice", "default")
"""Beginnings of sources that are no common source of error: values that share them are independent."""


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
    return variant.with_value(path, new), (new - value) / spread.sd


def draws(variant: Variant, count: int, seed: int = 0) -> tuple[tuple[str, ...], np.ndarray]:
    """Paths and (count, values) draws in standard deviations. Values of one group share theirs."""
    spreads = {path: s for path, s in variant.spreads.items() if s.sd > 0.0}
    if not spreads:
        return (), np.zeros((count, 0))
    group = groups(spreads)
    from scipy.stats import qmc  # a second to load; most checks need no draws

    unit = qmc.LatinHypercube(d=int(group.max()) + 1, rng=np.random.default_rng(seed)).random(count)
    return tuple(spreads), np.asarray(ndtri(unit)[:, group])


def drawn(variant: Variant, paths: tuple[str, ...], row: np.ndarray) -> Variant:
    """The variant with every uncertain value moved."""
    out = variant
    for path, z in zip(paths, row, strict=True):
        spread = variant.spreads[path]
        low, high = declared_range(variant, path)
        out = out.with_value(path, float(np.clip(variant.value(path) + z * spread.sd, low, high)))
    return out
