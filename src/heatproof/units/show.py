"""SI → text in a unit. `show` is a true round trip: reading the text gives the same float again."""

from math import isnan, nextafter

from heatproof.units.grammar import unit
from heatproof.units.quantity import Quantity
from heatproof.units.table import SCALES


def show(value: float, quantity: Quantity, unit_text: str = "", currency: str = "EUR") -> str:
    """Shortest text that reads back to `value`, in `unit_text` or the declared unit, e.g. `75 mm`."""
    shown, label = _unit_for(quantity, unit_text, currency)
    return _joined(_shortest(value, *shown), label)


def display(value: float, quantity: Quantity, digits: int = 3, unit_text: str = "") -> str:
    """Text for people: rounded to `digits` significant digits, true minus. Not meant to be read back."""
    (scale, offset), label = _unit_for(quantity, unit_text, "EUR")
    return _joined(_plain(f"{value / scale - offset:.{digits}g}").replace("-", "−"), label)


def in_unit(value: float, quantity: Quantity, unit_text: str = "") -> float:
    """The number in `unit_text` or the declared unit."""
    (scale, offset), _ = _unit_for(quantity, unit_text, "EUR")
    return value / scale - offset


def _unit_for(quantity: Quantity, unit_text: str, currency: str) -> tuple[tuple[float, float], str]:
    """`((factor, offset), label)`: SI = factor * (number + offset)."""
    label = unit_text or quantity.unit
    if quantity.kind == "money":
        return (1.0, 0.0), unit_text or currency
    if quantity.kind == "temperature":
        return SCALES[label], label
    bare = label.removesuffix(" gauge").removesuffix(" absolute")
    if quantity.kind in ("gauge", "absolute") and bare == label:
        label = f"{label} {quantity.kind}"
    return (unit(bare)[0], 0.0), "" if label == "1" else label


def _joined(number: str, label: str) -> str:
    return f"{number} {label}" if label else number


def _shortest(value: float, scale: float, offset: float) -> str:
    """Fewest digits whose SI value is `value` again; neighbours are tried where rounding gets in the way."""
    number = value / scale - offset
    if isnan(number):
        raise ValueError("not a number")
    for digits in range(1, 18):
        text = f"{number:.{digits}g}"
        if scale * (float(text) + offset) == value:
            return _plain(text)
    near = number
    for _ in range(4):
        near = nextafter(near, float("inf"))
        if scale * (near + offset) == value:
            return repr(near)
    near = number
    for _ in range(4):
        near = nextafter(near, float("-inf"))
        if scale * (near + offset) == value:
            return repr(near)
    return repr(number)


def _plain(text: str) -> str:
    """`1e+03` as `1000`; very large and small numbers keep their exponent."""
    if "e" not in text:
        return text
    number = float(text)
    return f"{number:.0f}" if 1 <= abs(number) < 1e7 and number.is_integer() else repr(number)
