"""The car with the kit and a chosen set of measures: what everything after the reader works on."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal, Self

from pydantic import Field

from heatproof.kit.convert import Spread
from heatproof.kit.findings import Refused, Where
from heatproof.kit.records.air import Air, Core
from heatproof.kit.records.base import Note, Record
from heatproof.kit.records.engine import Charge, Engine, ExhaustPiece, Turbo
from heatproof.kit.records.liquids import Coolant, LiquidCircuit, Oil
from heatproof.kit.records.measure import KitHead, Measure
from heatproof.kit.records.parts import AnyLink, Part
from heatproof.kit.records.shapes import Bay
from heatproof.kit.records.vehicle import Vehicle
from heatproof.kit.values import checked, child, quantity_at, with_values
from heatproof.units.quantity import Quantity, Text
from heatproof.units.show import display


class Assembly(Record):
    """The sections of a car, as a kit and its measures may change them."""

    vehicle: Annotated[Vehicle, Text("The car on the road")]
    engine: Annotated[Engine, Text("The engine")]
    exhaust: Annotated[dict[str, ExhaustPiece], Text("The exhaust, in flow order from the ports")]
    charge: Annotated[Charge, Text("Charge air")]
    air: Annotated[Air, Text("Cooling and bay air")]
    cores: Annotated[dict[str, Core], Text("Exchanger cores")] = Field(default_factory=dict)
    coolant: Annotated[Coolant, Text("Coolant of the engine")]
    circuits: Annotated[
        dict[str, LiquidCircuit], Text("Further liquid circuits, each with its own pump, cap and pressure")
    ] = Field(default_factory=dict)
    oil: Annotated[Oil, Text("Oil")]
    turbo: Annotated[Turbo | None, Text("Turbocharger")] = None
    parts: Annotated[dict[str, Part], Text("Parts")]
    links: Annotated[dict[str, AnyLink], Text("Ways for heat between parts")] = Field(default_factory=dict)
    bay: Annotated[Bay | None, Text("The bay in space")] = None


class CarFile(Assembly):
    """`car.yaml`: the donor car as it left the factory."""

    format: Annotated[Literal["heatproof car 1"], Text("What the file is")]
    name: Annotated[str, Text("Name shown to people")]
    note: Note = ""


class KitFile(KitHead):
    """`kit.yaml`: what is added to the car or changed on it, and the measures that may be fitted."""

    format: Annotated[Literal["heatproof kit 1"], Text("What the file is")]
    changes: Annotated[dict[str, Any], Text("Always added or changed; nested as in a car file")] = Field(
        default_factory=dict
    )
    measures: Annotated[dict[str, Measure], Text("Changes that may be fitted or left out")] = Field(
        default_factory=dict
    )


@dataclass(frozen=True, repr=False)
class Variant:
    """Car, kit and fitted measures, merged. Sections are attributes: `variant.parts["loom"].mass`.

    `spreads`: dotted path to `Spread`, for values with a spread and defaults that declare one. `tree`: the
    merged text it was read from, for `where`. `folder`: the project's, where mesh files lie. `changed`: paths that
    `replace` set by hand. Treat every mapping as read-only.
    """

    name: str
    head: KitHead
    assembly: Assembly
    fitted: tuple[str, ...] = ()
    cost: float = 0.0
    mass: float = 0.0
    labour: float = 0.0
    spreads: dict[str, Spread] = field(default_factory=dict)
    tree: Any = None
    folder: str = ""
    changed: tuple[str, ...] = field(default=(), compare=False)

    @property
    def vehicle(self) -> Vehicle:
        return self.assembly.vehicle

    @property
    def engine(self) -> Engine:
        return self.assembly.engine

    @property
    def exhaust(self) -> dict[str, ExhaustPiece]:
        return self.assembly.exhaust

    @property
    def charge(self) -> Charge:
        return self.assembly.charge

    @property
    def air(self) -> Air:
        return self.assembly.air

    @property
    def cores(self) -> dict[str, Core]:
        return self.assembly.cores

    @property
    def coolant(self) -> Coolant:
        return self.assembly.coolant

    @property
    def circuits(self) -> dict[str, LiquidCircuit]:
        return self.assembly.circuits

    @property
    def oil(self) -> Oil:
        return self.assembly.oil

    @property
    def coolants(self) -> dict[str, Coolant]:
        """Coolant circuits by the path they stand at: `coolant`, `circuits.low_temperature`."""
        further = {f"circuits.{name}": circuit for name, circuit in self.circuits.items()}
        return {"coolant": self.coolant, **further}

    @property
    def liquids(self) -> dict[str, Coolant | Oil]:
        """All liquid circuits by the path they stand at; the same path begins their masses' names."""
        return {"coolant": self.coolant, "oil": self.oil, **self.coolants}

    @property
    def turbo(self) -> Turbo | None:
        return self.assembly.turbo

    @property
    def parts(self) -> dict[str, Part]:
        return self.assembly.parts

    @property
    def links(self) -> dict[str, AnyLink]:
        return self.assembly.links

    @property
    def bay(self) -> Bay | None:
        return self.assembly.bay

    @property
    def confidence(self) -> float:
        """Confidence each limit must hold with."""
        return self.head.confidence

    def value(self, path: str) -> Any:
        """What stands at a dotted path, SI. KeyError where nothing does."""
        value: Any = self.assembly
        for key in path.split("."):
            value = child(value, key)
        return value

    def where(self, path: str) -> Where:
        """File and line that set a dotted path last, or the nearest thing above it."""
        node, place = self.tree, Where(path=path)
        for key in path.split("."):
            keys = getattr(node, "keys", {})
            if key not in keys:
                break
            place = Where(keys[key].file, keys[key].line, path)
            node = node.entries[key]
        return place

    def quantity(self, path: str) -> Quantity:
        """Declaration of the number at a dotted path. Refused where there is none, with the nearest key."""
        return quantity_at(self.assembly, path)

    def replace(self, path: str, value: Any) -> "Variant":
        """The same variant with one value changed, read and checked as from a file; `changed` lists the path.

        value: a text with its unit (`0.5 bar`), an SI number, a name, true or false. Refused with what is allowed.
        """
        new = checked(self.assembly, path, value, self.head.currency)
        names = tuple(dict.fromkeys([*self.changed, path]))
        return dataclasses.replace(self.with_value(path, new), changed=names)

    def with_value(self, path: str, value: Any) -> Self:
        """The same variant with one SI value, or one name, changed, unchecked: for searches and draws, which keep to
        ranges of their own. KeyError where there is no such path."""
        return self.with_values({path: value})

    def with_values(self, values: Mapping[str, Any]) -> Self:
        """As `with_value`, of many dotted paths in one pass over the tree."""
        return dataclasses.replace(self, assembly=with_values(self.assembly, values))

    def __repr__(self) -> str:
        measures = ", ".join(self.fitted) or "no measures"
        size = (
            f"{len(self.parts)} parts, {len(self.coolants) + 1} liquid circuits, {len(self.spreads)} spreads"
        )
        lines = [f"<Variant of {self.name}>", f"  fitted: {measures}", f"  {size}"]
        lines += [f"  {path} = {self.shown(path)}" for path in self.changed]
        return "\n".join(lines)

    def shown(self, path: str) -> str:
        """The value at a dotted path as people read it. KeyError where nothing stands there."""
        value = self.value(path)
        try:
            return display(value, self.quantity(path), 6)
        except Refused:
            return str(value)
