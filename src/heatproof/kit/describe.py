"""What a field is, in words: shared by schema and reference."""

from heatproof.kit.fields import Field
from heatproof.units.quantity import Quantity, Reference
from heatproof.units.show import display, show


def unit_words(quantity: Quantity) -> str:
    """Unit as people are told: `number` where there is none."""
    return {"1": "number", "EUR": "money"}.get(quantity.unit, quantity.unit)


def range_words(quantity: Quantity) -> str:
    """`0.1 mm to 200 mm`, with rounded ends."""
    return f"{display(quantity.low, quantity, 4)} to {display(quantity.high, quantity, 4)}"


def default_words(field: Field) -> str:
    """Default as it would be written, `required`, or nothing."""
    if field.required:
        return "required"
    if field.default is None or field.default in ("", (), {}):
        return ""
    if field.shape == "number":
        return show(field.default, field.quantity)
    if field.shape == "switch":
        return "true" if field.default else "false"
    return str(field.default) if field.shape in ("text", "choice", "whole") else "as below"


def type_words(field: Field) -> str:
    """Unit of a number, or what else belongs there."""
    if isinstance(field.declaration, Quantity):
        many = {"numbers": "list of ", "points": "list of points in "}.get(field.shape, "")
        return many + unit_words(field.declaration)
    if isinstance(field.declaration, Reference):
        one = "names in " if field.shape == "names" else "name in "
        also = "".join(f", or {word}" for word in field.declaration.also)
        return one + field.declaration.to + also
    words = {
        "text": "text",
        "names": "list of texts",
        "whole": "whole number",
        "switch": "true or false",
        "choice": " / ".join(field.choices),
        "record": "see " + ", ".join(c.__name__ for c in field.classes),
        "records": "named: " + ", ".join(c.__name__ for c in field.classes),
        "list": "list of " + ", ".join(c.__name__ for c in field.classes),
        "free": "free form",
    }
    return words[field.shape]


def example(quantity: Quantity, default: float | None) -> str:
    """A way to write a value."""
    low, high = quantity.low, quantity.high
    if default is None:
        linear = low < 0 < high or quantity.kind == "temperature"
        default = (low + high) / 2 if linear else (max(low, high * 1e-6) * high) ** 0.5
    return display(default, quantity, 2).replace("−", "-")
