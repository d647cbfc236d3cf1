"""Amounts as a person writes them, drawn at random; every draw shrinks towards the small and the plain."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from hypothesis import strategies as st

T = TypeVar("T")
STEPS = 60
WIDE = 5.0  # times; a wider range is drawn in equal ratios


class Pen:
    """Draws numbers, amounts, choices. `doubtful`: some amounts come with a spread and a source."""

    def __init__(self, draw: Callable[..., Any], *, doubtful: bool = False) -> None:
        self.draw, self.doubtful = draw, doubtful

    def flip(self) -> bool:
        """True or false; shrinks to false."""
        return bool(self.draw(st.booleans()))

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return int(self.draw(st.integers(low, high)))

    def pick(self, choices: Sequence[T]) -> T:
        """One of several; shrinks to the first."""
        return self.draw(st.sampled_from(choices))  # type: ignore[no-any-return]

    def number(self, low: float, high: float) -> float:
        """One of equally spaced numbers, four digits; spaced by ratio over a wide range."""
        share = self.whole(0, STEPS) / STEPS
        wide = low > 0.0 and high / low > WIDE
        value = low * (high / low) ** share if wide else low + (high - low) * share
        return float(f"{value:.4g}")

    def amount(self, low: float, high: float, unit: str) -> str:
        """`34.5 mm`."""
        return text(self.number(low, high), unit)

    def felt(self, low: float, high: float, unit: str) -> Any:
        """An amount that may come with its doubt: `{value: 34.5 mm, spread: 8 %, source: invented}`."""
        value = self.amount(low, high, unit)
        if not self.doubtful or not self.flip():
            return value
        wide = self.whole(1, 20)
        spread = f"{wide} points" if unit == "%" else f"{wide} %"
        return {"value": value, "spread": spread, "source": "invented"}


def text(value: float, unit: str = "") -> str:
    """A number with its unit, as written in a file."""
    return f"{value:.4g} {unit}".strip()


def word(value: bool) -> str:
    """`true` or `false`, as written in a file."""
    return "true" if value else "false"
