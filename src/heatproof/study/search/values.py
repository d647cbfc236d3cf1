"""Ranges of values as people write them, and the values that measures set."""

from collections.abc import Iterator
from typing import Any

from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.kit.values import value_of
from heatproof.units.quantity import Quantity
from heatproof.units.show import display


def shown(value: float, quantity: Quantity) -> str:
    """`15 cm2`."""
    return display(value, quantity)


def ranged(variant: Variant, text: str) -> tuple[str, float, float, Quantity]:
    """(path, low, high, declaration) of `path=20 mm..60 mm`. Refused where it is not understood."""
    path, sign, span = text.partition("=")
    low, dots, high = span.partition("..")
    if not sign or not dots:
        raise Refused(
            [
                Finding(
                    "error",
                    "range not understood",
                    got=text,
                    allowed="PATH=LOW..HIGH, e.g. cores.radiator.depth=20 mm..40 mm",
                )
            ]
        )
    quantity = variant.quantity(path.strip())
    a, b = value_of(low, quantity, path), value_of(high, quantity, path)
    if not a < b:
        raise Refused(
            [Finding("error", f"{path}: the range is empty", got=span, next_step="lowest value first")]
        )
    return path.strip(), a, b, quantity


def measure_values(project: Project, variant: Variant) -> Iterator[str]:
    """Paths of the numbers that the fitted measures set or add, in the order of the file."""
    written = [one for name in variant.fitted for one in written_paths(project.measures[name])]
    for path in dict.fromkeys(written):
        try:
            variant.quantity(path)
        except Refused:
            continue
        yield path


def written_paths(measure: Any) -> Iterator[str]:
    """Paths a measure writes."""
    for path, value in measure.set.items():
        yield from nested(value, path)
    for section, value in measure.add.items():
        yield from nested(value, section)


def nested(value: Any, path: str) -> Iterator[str]:
    """Paths of the plain values below."""
    if isinstance(value, dict) and "value" not in value:
        for key, below in value.items():
            yield from nested(below, f"{path}.{key}")
    elif not isinstance(value, list | tuple):
        yield path
