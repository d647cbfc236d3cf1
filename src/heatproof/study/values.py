"""Single values of a variant by dotted path: what they are declared as, text in and out, ranges."""

from collections.abc import Iterator
from typing import Any

from heatproof.kit.fields import fields_of
from heatproof.kit.findings import Finding, Refused, listed, nearest
from heatproof.kit.project import Project
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Variant, child
from heatproof.units.parse import read
from heatproof.units.quantity import Quantity, UnitError
from heatproof.units.show import display


def quantity_at(variant: Variant, path: str) -> Quantity:
    """Declaration of the number at a path. Refused where there is no such number, with the nearest key."""
    holder: Any = variant.assembly
    keys = path.split(".")
    for k, key in enumerate(keys):
        try:
            value = child(holder, key)
        except KeyError:
            raise no_such(path, holder, key) from None
        declared = declaration(holder, key) or (
            declaration_of_list(variant, keys[:k]) if key.isdigit() else None
        )
        if k == len(keys) - 1:
            if (
                isinstance(declared, Quantity)
                and isinstance(value, float | int)
                and not isinstance(value, bool)
            ):
                return declared
            raise no_such(path, holder, key, "no number stands there")
        holder = value
    raise no_such(path, holder, "")


def declaration(holder: Any, key: str) -> Any:
    """What a record says of a key; None for a mapping."""
    field = fields_of(type(holder)).get(key) if isinstance(holder, Record) else None
    return getattr(field, "declaration", None)


def declaration_of_list(variant: Variant, above: list[str]) -> Any:
    """Declaration of the list an index counts in."""
    holder: Any = variant.assembly
    for key in above[:-1]:
        holder = child(holder, key)
    return declaration(holder, above[-1]) if above else None


def no_such(path: str, holder: Any, key: str, what: str = "no such value") -> Refused:
    """A refusal that names what is there."""
    known = list(holder) if isinstance(holder, dict) else []
    if isinstance(holder, Record):
        known = list(fields_of(type(holder)))
    return Refused(
        [
            Finding(
                "error",
                f"{what}: {path}",
                got=key,
                allowed=listed(known) or "a path as in car.yaml",
                nearest=nearest(key, known),
                next_step="name a value that this variant has, e.g. air.passages.gap.area",
            )
        ]
    )


def value_of(text: str, quantity: Quantity, path: str, currency: str = "EUR") -> float:
    """SI value of a text for a path. Refused where it cannot be read."""
    try:
        return read(text.strip(), quantity, currency)
    except UnitError as error:
        raise Refused(
            [Finding("error", f"{path}: {error}", got=text, next_step="write a number with its unit")]
        ) from error


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
    quantity = quantity_at(variant, path.strip())
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
            quantity_at(variant, path)
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
