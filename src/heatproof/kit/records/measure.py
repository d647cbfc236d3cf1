"""Measures and the head of the kit."""

from typing import Annotated, Any

from pydantic import Field

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Note, Record, Title
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import hour, percent

COST = Quantity("EUR", -1e6, 1e6, "Cost in the kit's currency", "money", doubt=doubts.EXACT)
MASS = Quantity("kg", -500.0, 500.0, "Mass added", doubt=doubts.EXACT)
LABOUR = Quantity("min", -100 * hour, 1000 * hour, "Time to fit", doubt=doubts.EXACT)


class Measure(Record):
    """One change that may be fitted or left out. Removes first, then adds, then sets."""

    title: Title = ""
    group: Annotated[str, Text("Heading it is listed under")] = ""
    note: Note = ""
    fitted: Annotated[bool, Text("True where the kit as it stands has it")] = False
    cost: Annotated[float, COST] = 0.0
    mass: Annotated[float, MASS] = 0.0
    labour: Annotated[float, LABOUR] = 0.0
    needs: Annotated[tuple[str, ...], Reference("measures", "Measures it cannot be fitted without")] = ()
    excludes: Annotated[tuple[str, ...], Reference("measures", "Measures it cannot be fitted with")] = ()
    set: Annotated[dict[str, Any], Text("Dotted path to new value")] = Field(default_factory=dict)
    add: Annotated[dict[str, Any], Text("What is added, nested as in a car file")] = Field(
        default_factory=dict
    )
    remove: Annotated[tuple[str, ...], Text("Dotted paths taken away")] = ()


class Base(Record):
    """The kit before any measure."""

    cost: Annotated[float, COST] = 0.0
    mass: Annotated[float, MASS] = 0.0
    labour: Annotated[float, LABOUR] = 0.0


class KitHead(Record):
    """What the kit file says about itself."""

    name: Annotated[str, Text("Name shown to people")]
    revision: Annotated[str, Text("Revision of the kit")] = ""
    note: Note = ""
    currency: Annotated[str, Text("Three-letter code of the currency of every cost")] = "EUR"
    confidence: Annotated[
        float,
        Quantity(
            "%", 50 * percent, 99.99 * percent, "Confidence each limit must hold with", doubt=doubts.EXACT
        ),
    ] = 95 * percent
    base: Annotated[Base, Text("The kit before any measure")] = Base()
