"""Values that somebody gave without saying how far they may be off: each gets the doubt its declaration states for its kind."""

from collections.abc import Iterator

from heatproof.kit.convert import DEVIATIONS, Spread
from heatproof.kit.fields import Field, fields_of
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Assembly, Variant
from heatproof.units.parse import read_half_width


def numbers_in(holder: Record, path: str = "") -> Iterator[tuple[str, float, Field]]:
    """(dotted path, SI value, field) of every single number of a record and all below it; those left out are skipped."""
    for key, field in fields_of(type(holder)).items():
        value, here = getattr(holder, field.name), f"{path}.{key}" if path else key
        if value is None:
            continue
        if field.shape == "number":
            yield here, float(value), field
        elif isinstance(value, Record):
            yield from numbers_in(value, here)
        elif isinstance(value, dict):
            for name, below in value.items():
                if isinstance(below, Record):
                    yield from numbers_in(below, f"{here}.{name}")
        elif isinstance(value, tuple):
            for index, below in enumerate(value):
                if isinstance(below, Record):
                    yield from numbers_in(below, f"{here}.{index}")


def assumed_spreads(variant: Variant) -> dict[str, Spread]:
    """Dotted path → spread of every number of the car that has none of its own and does not count as exact.

    A relative doubt of a value that is zero is none: nothing can be said of it, and nothing is drawn.
    """
    known = variant.spreads.keys() | unfelt(variant.assembly)
    return {path: spread for path, spread in assumed_in(variant.assembly).items() if path not in known}


def assumed_in(assembly: Assembly) -> dict[str, Spread]:
    """As `assumed_spreads`, of every number."""
    spreads = {}
    for path, value, field in numbers_in(assembly):
        doubt = field.quantity.doubt
        if doubt is None or doubt.exact:
            continue
        width = read_half_width(doubt.width, field.quantity, value)
        if width > 0.0:
            spreads[path] = Spread(value, width / DEVIATIONS, f"assumed: {doubt.source}")
    return spreads


def unfelt(assembly: Assembly) -> frozenset[str]:
    """Paths of values that have no effect as the car is built.

    Losses of passages that a core or the fan takes the place of, shares of passages without a core, outside pressures of
    passages between two zones, sunshine on parts without an outside surface, the pressure switch of what is no condenser.
    """
    passages = assembly.air.passages
    filled = (f"air.passages.{n}.loss" for n, p in passages.items() if p.core is not None or p.kind == "fan")
    whole = (f"air.passages.{n}.share" for n, p in passages.items() if p.core is None)
    inner = (
        f"air.passages.{n}.pressure_coefficient"
        for n, p in passages.items()
        if "outside" not in (p.from_, p.to)
    )
    shaded = (f"parts.{n}.solar_absorptance" for n, p in assembly.parts.items() if p.outside_surface == 0.0)
    no_switch = (f"cores.{n}.cut_out_temperature" for n, c in assembly.cores.items() if c.kind != "condenser")
    return frozenset((*filled, *whole, *inner, *shaded, *no_switch))
