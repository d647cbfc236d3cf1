"""SI → text in a unit. `show` is a true round trip: reading the text gives the same float again. Long numbers are scaled
exactly, both ways: every float has a text that reads back to it."""

from decimal import Decimal, localcontext
from fractions import Fraction
from math import isfinite

from heatproof.units.grammar import unit
from heatproof.units.quantity import Quantity
from heatproof.units.table import SCALES

SHORT = 16  # characters up to which plain float arithmetic serves


class Number(float):
    """A number that remembers the text it was read from."""

    text: str

    def __new__(cls, text: str) -> "Number":
        number = super().__new__(cls, text)
        number.text = text
        return number


def scaled(number: Number, scale: float, offset: float = 0.0) -> float:
    """`scale * (number + offset)`, correctly rounded where the text is longer than a float can hold."""
    if len(number.text) <= SHORT or not 1e-300 < abs(number) < 1e300:
        return scale * (float(number) + offset)
    return float(Fraction(scale) * (Fraction(number.text) + Fraction(offset)))


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
    """Fewest digits whose SI value is `value` again; past a float's digits, those of the exact quotient."""
    number = value / scale - offset
    if not isfinite(number):
        raise ValueError("not a finite number")
    for digits in range(1, 17):
        text = _plain(f"{number:.{digits}g}")
        if scaled(Number(text), scale, offset) == value:
            return text
    exact = Fraction(value) / Fraction(scale) - Fraction(offset)
    for digits in range(17, 40):
        text = _digits(exact, digits)
        if scaled(Number(text), scale, offset) == value:
            return text
    return repr(number)


def _digits(exact: Fraction, digits: int) -> str:
    with localcontext() as context:
        context.prec = digits
        return str(Decimal(exact.numerator) / Decimal(exact.denominator))


def _plain(text: str) -> str:
    """`1e+03` as `1000`; very large and small numbers keep their exponent."""
    if "e" not in text:
        return text
    number = float(text)
    return f"{number:.0f}" if 1 <= abs(number) < 1e7 and number.is_integer() else repr(number)
