"""Number text times factor. Long numbers are scaled exactly: every float has a text that reads back to it."""

from fractions import Fraction

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
