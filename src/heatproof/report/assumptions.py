"""What the figures rest on: values with a spread and where they come from, limits and where they come from."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from heatproof.kit.findings import Refused
from heatproof.kit.records.variant import Variant
from heatproof.media.names import UnknownName
from heatproof.media.solids import limit as limit_row
from heatproof.units.quantity import Quantity
from heatproof.units.show import display
from heatproof.verdict.judged import judged
from heatproof.verdict.verdict import Verdict

WEAK = ("invented", "estimate", "guess", "from memory", "common practice", "default", "none given", "")
"""Beginnings of sources that prove nothing."""


@dataclass(frozen=True)
class Assumption:
    """One value with a spread: texts in the unit of its declaration. worth K: what one standard deviation of it does
    to the margin it moves most."""

    path: str
    meaning: str
    value: str
    spread: str
    source: str
    worth: float
    part: str

    @property
    def weak(self) -> bool:
        return is_weak(self.source)


def is_weak(source: str) -> bool:
    """Whether a source proves nothing by itself."""
    text = source.strip().lower()
    return not text or any(text.startswith(word) for word in WEAK if word) or "from memory" in text


def assumptions(variant: Variant, verdict: Verdict) -> tuple[Assumption, ...]:
    """Values with a spread, those that move a margin most first."""
    matrix = verdict.sensitivities
    found = []
    for path, spread in variant.spreads.items():
        if spread.sd <= 0.0:
            continue
        quantity = declared(variant, path)
        worth, part = 0.0, ""
        if matrix is not None and path in matrix.paths:
            column = matrix.change[:, matrix.paths.index(path)]
            k = int(abs(column).argmax())
            worth, part = float(column[k]), matrix.keys[k][0]
        value = display(spread.value, quantity) if quantity is not None else f"{spread.value:.3g}"
        source = spread.source or (quantity.source if quantity is not None else "")
        meaning = quantity.meaning if quantity is not None else ""
        found.append(Assumption(path, meaning, value, band(spread.sd, quantity), source, worth, part))
    return tuple(sorted(found, key=lambda one: -abs(one.worth)))


def declared(variant: Variant, path: str) -> Quantity | None:
    """What the value is declared as; None for values of a curve."""
    try:
        return variant.quantity(path)
    except Refused:
        return None


def band(sd: float, quantity: Quantity | None) -> str:
    """`± 15 %`-like half width that holds about 95 % of cases, in the value's own unit."""
    if quantity is None:
        return f"± {200.0 * sd:.2g} %"
    if quantity.kind == "temperature":
        return f"± {2.0 * sd:.3g} K"
    text = display(2.0 * sd, quantity, 2).removesuffix(" gauge").removesuffix(" absolute")
    return f"± {text}"


def limit_sources(variant: Variant) -> Iterator[tuple[str, str, str]]:
    """(title, source as written, what it stands for) of every limit; ids of the limits table are resolved."""
    for part in judged(variant):
        yield part.title, part.limit.source or "none given", resolved(part.limit.source)


def resolved(source: str) -> str:
    """`L040`, wherever it stands in a source, to item, source and confidence of its row; else empty."""
    found = []
    for word in re.findall(r"\bL\d{3}[a-z]?\b", source):
        try:
            row = limit_row(word)
        except UnknownName:
            continue
        names = ", ".join(text for text in (row.item, row.grade, row.kind) if text)
        found.append(f"{word}: {names}; {row.source}; confidence {row.confidence}")
    return " / ".join(found)
