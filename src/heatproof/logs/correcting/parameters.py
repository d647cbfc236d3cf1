"""What a correction may move: uncertain values of a variant, each counted in its own standard deviations.

x = ln(v/v₀)/(s/v₀) for a value that is positive by nature, x = (v − v₀)/s for the others; s: standard deviation
that the project declares. So the prior of every x is the standard normal distribution. Values that share a
named source share one x, as they share their error in a verdict.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, inf, log

from heatproof.kit.convert import Spread
from heatproof.kit.findings import Finding, Refused, unknown
from heatproof.kit.records.variant import Variant
from heatproof.units.quantity import Quantity
from heatproof.verdict.uncertain import declared_range, groups

WIDEST = 5.0
"""Standard deviations that a value may move."""


@dataclass(frozen=True)
class Member:
    """One value. v0, sd, low, high in SI; `ratio`: counted by its logarithm."""

    path: str
    quantity: Quantity
    v0: float
    sd: float
    low: float
    high: float
    ratio: bool
    source: str = ""

    def at(self, x: float) -> float:
        """Value (SI) at x standard deviations, inside the declared range."""
        v = self.v0 * exp(x * self.sd / self.v0) if self.ratio else self.v0 + x * self.sd
        return min(max(v, self.low), self.high)

    def x_of(self, v: float) -> float:
        """Standard deviations of a value; ±inf at an end that has no logarithm."""
        if not self.ratio:
            return (v - self.v0) / self.sd
        return log(v / self.v0) * self.v0 / self.sd if v > 0.0 else -inf


@dataclass(frozen=True)
class Parameter:
    """One or several values that move together."""

    members: tuple[Member, ...]

    @property
    def path(self) -> str:
        """Of the first value: the parameter's name."""
        return self.members[0].path

    @property
    def paths(self) -> tuple[str, ...]:
        """Of all values."""
        return tuple(m.path for m in self.members)

    @property
    def bounds(self) -> tuple[float, float]:
        """x that keeps every value in its declared range, five deviations at most."""
        low = max((m.x_of(m.low) for m in self.members if m.low > -inf), default=-WIDEST)
        high = min((m.x_of(m.high) for m in self.members if m.high < inf), default=WIDEST)
        return max(low, -WIDEST), min(high, WIDEST)

    def apply(self, variant: Variant, x: float) -> Variant:
        """The variant with these values at x."""
        for m in self.members:
            variant = variant.with_value(m.path, m.at(x))
        return variant


def parameters_of(variant: Variant) -> tuple[Parameter, ...]:
    """Every uncertain value that may move, values of one source together."""
    spreads = {path: spread for path, spread in variant.spreads.items() if spread.sd > 0.0}
    together: dict[int, list[Member]] = {}
    for (path, spread), group in zip(spreads.items(), groups(spreads), strict=True):
        together.setdefault(int(group), []).append(member_of(variant, path, spread))
    found = (Parameter(tuple(members)) for members in together.values())
    return tuple(p for p in found if p.bounds[1] - p.bounds[0] > 0.5)


def member_of(variant: Variant, path: str, spread: Spread) -> Member:
    """One value with its declaration."""
    low, high = declared_range(variant, path)
    v0 = float(variant.value(path))
    ratio = v0 > 0.0 and low >= 0.0
    return Member(path, variant.quantity(path), v0, spread.sd, low, high, ratio, spread.source)


def chosen_parameters(variant: Variant, paths: Iterable[str]) -> tuple[Parameter, ...]:
    """The parameters that hold these paths, in this order. Refused where a path has no spread."""
    every = parameters_of(variant)
    by_path = {path: p for p in every for path in p.paths}
    out: dict[str, Parameter] = {}
    for path in paths:
        if path not in by_path:
            variant.quantity(path)  # names what is there instead, where the path itself is wrong
            raise Refused([no_spread(variant, path, list(by_path))])
        out[by_path[path].path] = by_path[path]
    return tuple(out.values())


def no_spread(variant: Variant, path: str, known: list[str]) -> Finding:
    """The value is there, but nobody said how far it may be off."""
    return unknown(
        f"{path} has no spread, so a log cannot be weighed against it",
        path,
        known,
        variant.where(path),
        next_step="write {value: …, spread: …, source: …}",
    )


def applied(variant: Variant, parameters: Iterable[Parameter], x: Iterable[float]) -> Variant:
    """The variant with every parameter at its x."""
    for parameter, one in zip(parameters, x, strict=True):
        if one != 0.0:
            variant = parameter.apply(variant, float(one))
    return variant
