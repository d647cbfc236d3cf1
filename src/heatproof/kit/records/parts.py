"""Parts: everything solid that stores heat, and what covers it."""

from typing import Annotated, Any, Literal

from heatproof.kit.records.base import FreeForm, Record, Title
from heatproof.kit.records.limit import Limit
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import gram, kW, mm, percent

EMISSIVITY = Quantity(
    "1", 0.01, 1.0, "Total hemispherical emissivity of the surface", spread="0.05", source="estimate"
)


class Cover(Record):
    """What lies on a part. Blanket, sleeve and wrap insulate; coating and film change the surface only."""

    kind: Annotated[Literal["blanket", "sleeve", "wrap", "coating", "film"], Text("What it is")]
    material: Annotated[str | None, Text("Material of the insulating layer, as in the materials table")] = (
        None
    )
    thickness: Annotated[
        float | None, Quantity("mm", 0.01 * mm, 0.2, "Thickness of the insulating layer")
    ] = None
    conductivity: Annotated[
        float | None,
        Quantity("W/m/K", 0.005, 50.0, "Conductivity of the layer; from the material where left out"),
    ] = None
    coverage: Annotated[
        float,
        Quantity(
            "%",
            1 * percent,
            100 * percent,
            "Share of the surface covered",
            spread="5 points",
            source="estimate",
        ),
    ] = 1.0
    skin_emissivity: Annotated[
        float, Quantity("1", 0.01, 1.0, "Emissivity of the outer skin", spread="0.05", source="estimate")
    ] = 0.9
    skin_mass: Annotated[float | None, Quantity("kg", 1 * gram, 50.0, "Mass of skin and layer")] = None
    limit: Annotated[Limit | None, Text("Limit of the outer skin")] = None
    title: Title = ""


class Part(Record):
    """A part at one temperature. Heat capacity: given, or mass times the material's specific heat."""

    mass: Annotated[float, Quantity("kg", 1 * gram, 2e3, "Mass")]
    material: Annotated[str | None, Text("Material, as in the materials table")] = None
    heat_capacity: Annotated[
        float | None,
        Quantity("J/K", 0.5, 2e6, "Heat capacity of the whole part; from the material where left out"),
    ] = None
    surface: Annotated[float, Quantity("m2", 0.0, 50.0, "Outer surface in the zone's air")] = 0.0
    zone: Annotated[
        str | None,
        Reference("air.zones", "Air zone it stands in; none where no air reaches it", also=("outside",)),
    ] = None
    size: Annotated[
        float, Quantity("mm", 1 * mm, 10.0, "Length or diameter the air flows along; sets convection")
    ]
    emissivity: Annotated[float, EMISSIVITY] = 0.9
    heat: Annotated[float, Quantity("W", 0.0, 20 * kW, "Heat made in the part while the engine runs")] = 0.0
    outside_surface: Annotated[float, Quantity("m2", 0.0, 50.0, "Further surface in outside air")] = 0.0
    outside_conductance: Annotated[
        float,
        Quantity(
            "W/K", 0.0, 5e3, "Conductance to the cabin or ambient through lining, besides outside_surface"
        ),
    ] = 0.0
    solar_absorptance: Annotated[
        float, Quantity("1", 0.0, 1.0, "Share of sunshine on the outside surface taken up")
    ] = 0.0
    inside_zone: Annotated[str | None, Reference("air.zones", "Zone on the other side of a wall")] = None
    inside_surface: Annotated[float, Quantity("m2", 0.0, 50.0, "Surface in that zone")] = 0.0
    cover: Annotated[Cover | None, Text("What lies on the part")] = None
    limit: Annotated[Limit | None, Text("Limit of the part; a part without one is not judged")] = None
    caution: Annotated[
        Literal["none", "brake", "fuel", "coolant", "oil", "battery", "electrical", "steering"],
        Text("Which usual caution the part brings into reports"),
    ] = "none"
    title: Title = ""
    shape: FreeForm = None
    patches: Annotated[
        dict[str, Any] | None, Text("Named surface patches; read where shapes are laid out")
    ] = None
