"""What a number in a file means: its declaration, which everything else reads; an amount within a sentence; a text that
is no value.

Used as metadata of a record's field::

    thickness: Annotated[float, Quantity("mm", 0.1 * mm, 0.2, "Thickness of the cover")] = 10 * mm

Limits and defaults are SI; `unit` is the unit people are shown. A field without a Python default is required.
"""

from dataclasses import dataclass
from typing import Any, Literal


# --- an amount in a sentence ----------------------------------------------------------------------------------
@dataclass(frozen=True)
class Amount:
    """text: as it stands in the sentence, with its unit; value: SI (K of a temperature); unit: the text's."""

    text: str
    value: float
    unit: str

    def __str__(self) -> str:
        return self.text


# --- a text that is no value ----------------------------------------------------------------------------------
class UnitError(ValueError):
    """A value that cannot be read: what is wrong, what was got, what is allowed, nearest, next step.

    amounts: what `allowed` holds in the declared unit.
    """

    def __init__(
        self,
        what: str,
        *,
        got: str = "",
        allowed: str = "",
        nearest: str = "",
        next_step: str = "",
        amounts: tuple[Amount, ...] = (),
    ):
        super().__init__(what)
        self.what, self.got, self.allowed = what, got, allowed
        self.nearest, self.next_step, self.amounts = nearest, next_step, amounts

    def __str__(self) -> str:
        parts = [self.what]
        parts += [f"got {self.got!r}"] * bool(self.got) + [f"allowed: {self.allowed}"] * bool(self.allowed)
        parts += [f"nearest: {self.nearest}"] * bool(self.nearest) + [self.next_step] * bool(self.next_step)
        return "; ".join(parts)


# --- declarations ---------------------------------------------------------------------------------------------
Kind = Literal["plain", "temperature", "difference", "gauge", "absolute", "money"]


@dataclass(frozen=True)
class Doubt:
    """How far off a value may be that is given without a spread of its own.

    width: half width that holds about 95 % of cases (two standard deviations), written as in a file; empty where the value
    counts as exact, which `source` then explains.
    """

    width: str
    source: str

    @property
    def exact(self) -> bool:
        """True where the value is not drawn."""
        return not self.width


@dataclass(frozen=True)
class Quantity:
    """A number with a unit.

    `low`, `high`: SI range outside which a value is refused. `kind` tells apart what a unit would mix up:
    `temperature` (degC, degF) and `difference` (K); `gauge` (over the ambient pressure of the day) and
    `absolute` pressure, which both demand the word; `money` in the kit's currency. A pressure difference is
    `plain`. `spread` belongs to the default: the half width that holds about 95 % of cases (two standard
    deviations), written as in a file (`15 %` of the value, or in the unit), with its `source`. `doubt` is
    that of a value somebody gives without a spread.
    """

    unit: str
    low: float
    high: float
    meaning: str
    kind: Kind = "plain"
    spread: str = ""
    source: str = ""
    example: str = ""
    doubt: Doubt | None = None


@dataclass(frozen=True)
class Reference:
    """A field that names a record of a collection, e.g. `air.zones`; `also` lists fixed names."""

    to: str
    meaning: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Text:
    """A field of free text, a choice, a switch or a nested record, with what it means."""

    meaning: str


Declaration = Quantity | Reference | Text


def declaration_in(metadata: list[Any] | tuple[Any, ...]) -> Declaration | None:
    """The declaration among a field's metadata, or None."""
    return next((item for item in metadata if isinstance(item, Quantity | Reference | Text)), None)
