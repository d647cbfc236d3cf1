"""Parts, that is everything solid that stores heat: what covers them, what they must not pass, and the ways for heat between
two of them."""

from typing import Annotated, Literal

from pydantic import Field

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Record, Title
from heatproof.kit.records.shapes import AnyShape, Patches
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, degC, gram, hour, kW, mm, percent


# --- limits ---------------------------------------------------------------------------------------------------
class Limit(Record):
    """Continuous limit, short limit with its allowed time, boil margin; at least one of them."""

    continuous: Annotated[
        float | None,
        Quantity(
            "degC",
            degC(-40),
            degC(1300),
            "Temperature allowed for any length of time",
            "temperature",
            doubt=doubts.EXACT,
        ),
    ] = None
    short: Annotated[
        float | None,
        Quantity(
            "degC",
            degC(-40),
            degC(1400),
            "Temperature allowed for `short_time` in all",
            "temperature",
            doubt=doubts.EXACT,
        ),
    ] = None
    short_time: Annotated[
        float | None,
        Quantity(
            "min", 1.0, 1000 * hour, "Time allowed between continuous and short limit", doubt=doubts.EXACT
        ),
    ] = None
    boil_margin: Annotated[
        float | None,
        Quantity(
            "K",
            0.0,
            100.0,
            "Least distance to boiling at the junction's own pressure",
            "difference",
            doubt=doubts.EXACT,
        ),
    ] = None
    kind: Annotated[
        Literal["service", "metal", "coking"],
        Text("service: of the material in use; metal: hot strength; coking: of oil left in a housing"),
    ] = "service"
    title: Title = ""
    source: Annotated[str, Text("Where the limit comes from")] = ""


# --- parts ----------------------------------------------------------------------------------------------------
EMISSIVITY = Quantity(
    "1",
    0.01,
    1.0,
    "Total hemispherical emissivity of the surface",
    spread="0.05",
    source="estimate",
    doubt=doubts.EMISSIVITY,
)
LAYER_THICKNESS = Quantity("mm", 0.01 * mm, 0.2, "Thickness of the insulating layer", doubt=doubts.WALL)
LAYER_CONDUCTIVITY = Quantity(
    "W/m/K",
    0.005,
    50.0,
    "Conductivity of the layer; from the material where left out",
    doubt=doubts.LAYER_CONDUCTIVITY,
)


class Layer(Record):
    """One insulating layer; a material's conductivity counts at the layer's own temperature."""

    material: Annotated[str | None, Text("Material, as in the materials table")] = None
    thickness: Annotated[float, LAYER_THICKNESS]
    conductivity: Annotated[float | None, LAYER_CONDUCTIVITY] = None


class Lining(Record):
    """A coating on the side the gas wets: one more resistance between gas and metal."""

    thickness: Annotated[float, Quantity("mm", 0.005 * mm, 5 * mm, "Thickness", doubt=doubts.WALL)]
    conductivity: Annotated[
        float,
        Quantity(
            "W/m/K",
            0.05,
            50.0,
            "Conductivity",
            spread="40 %",
            source="sprayed zirconia, from memory",
            doubt=doubts.LAYER_CONDUCTIVITY,
        ),
    ] = 1.0


class Cover(Record):
    """What lies on a part. Blanket, sleeve and wrap insulate; coating and film change the surface only.

    An insulating cover: the layer given by material and thickness, and `layers` further out. An edge gap
    leaves metal bare along `edge_length`; a stand-off is air under the cover, with radiation across.
    """

    kind: Annotated[Literal["blanket", "sleeve", "wrap", "coating", "film"], Text("What it is")]
    material: Annotated[str | None, Text("Material of the insulating layer, as in the materials table")] = (
        None
    )
    thickness: Annotated[float | None, LAYER_THICKNESS] = None
    conductivity: Annotated[float | None, LAYER_CONDUCTIVITY] = None
    layers: Annotated[tuple[Layer, ...], Text("Further layers, from the inside out")] = ()
    stand_off: Annotated[
        float, Quantity("mm", 0.0, 50 * mm, "Air gap between part and cover", doubt=doubts.GAP)
    ] = 0.0
    edge_gap: Annotated[
        float,
        Quantity(
            "mm", 0.0, 100 * mm, "How far short of its edges the cover ends, as fitted", doubt=doubts.GAP
        ),
    ] = 0.0
    edge_length: Annotated[
        float, Quantity("mm", 0.0, 20.0, "Length of those edges in all", doubt=doubts.LENGTH)
    ] = 0.0
    coverage: Annotated[
        float,
        Quantity(
            "%",
            1 * percent,
            100 * percent,
            "Share of the surface covered",
            spread="5 points",
            source="estimate",
            doubt=doubts.COVERAGE,
        ),
    ] = 1.0
    skin_emissivity: Annotated[
        float,
        Quantity(
            "1",
            0.01,
            1.0,
            "Emissivity of the outer skin",
            spread="0.05",
            source="estimate",
            doubt=doubts.EMISSIVITY,
        ),
    ] = 0.9
    skin_mass: Annotated[
        float | None, Quantity("kg", 1 * gram, 50.0, "Mass of skin and layer", doubt=doubts.MASS)
    ] = None
    limit: Annotated[Limit | None, Text("Limit of the outer skin")] = None
    title: Title = ""


class Part(Record):
    """A part at one temperature. Heat capacity: given, or mass times the material's specific heat."""

    mass: Annotated[float, Quantity("kg", 1 * gram, 2e3, "Mass", doubt=doubts.MASS)]
    material: Annotated[str | None, Text("Material, as in the materials table")] = None
    heat_capacity: Annotated[
        float | None,
        Quantity(
            "J/K",
            0.5,
            2e6,
            "Heat capacity of the whole part; from the material where left out",
            doubt=doubts.HEAT_CAPACITY,
        ),
    ] = None
    surface: Annotated[
        float, Quantity("m2", 0.0, 50.0, "Outer surface in the zone's air", doubt=doubts.AREA)
    ] = 0.0
    zone: Annotated[
        str | None,
        Reference("air.zones", "Air zone it stands in; none where no air reaches it", also=("outside",)),
    ] = None
    size: Annotated[
        float,
        Quantity(
            "mm",
            1 * mm,
            10.0,
            "Length or diameter the air flows along; sets convection",
            doubt=doubts.PART_SIZE,
        ),
    ]
    emissivity: Annotated[float, EMISSIVITY] = 0.9
    heat: Annotated[
        float,
        Quantity("W", 0.0, 20 * kW, "Heat made in the part while the engine runs", doubt=doubts.MADE_HEAT),
    ] = 0.0
    outside_surface: Annotated[
        float, Quantity("m2", 0.0, 50.0, "Further surface in outside air", doubt=doubts.AREA)
    ] = 0.0
    outside_conductance: Annotated[
        float,
        Quantity(
            "W/K",
            0.0,
            5e3,
            "Conductance to the cabin or ambient through lining, besides outside_surface",
            doubt=doubts.LOST_TO_CABIN,
        ),
    ] = 0.0
    solar_absorptance: Annotated[
        float,
        Quantity(
            "1", 0.0, 1.0, "Share of sunshine on the outside surface taken up", doubt=doubts.ABSORPTANCE
        ),
    ] = 0.0
    inside_zone: Annotated[str | None, Reference("air.zones", "Zone on the other side of a wall")] = None
    inside_surface: Annotated[float, Quantity("m2", 0.0, 50.0, "Surface in that zone", doubt=doubts.AREA)] = (
        0.0
    )
    cover: Annotated[Cover | None, Text("What lies on the part")] = None
    limit: Annotated[Limit | None, Text("Limit of the part; a part without one is not judged")] = None
    caution: Annotated[
        Literal["none", "brake", "fuel", "coolant", "oil", "battery", "electrical", "steering"],
        Text("Which usual caution the part brings into reports"),
    ] = "none"
    title: Title = ""
    finish: Annotated[
        str | None,
        Text("Surface state as in the emissivity table; with it the table counts, not `emissivity`"),
    ] = None
    finish_temperature: Annotated[
        float,
        Quantity(
            "degC",
            degC(-40),
            degC(1300),
            "Working temperature the table is read at",
            "temperature",
            doubt=doubts.EXACT,
        ),
    ] = degC(200)
    back_emissivity: Annotated[
        float | None,
        Quantity(
            "1",
            0.01,
            1.0,
            "Emissivity of a plate's back; as the front where left out",
            doubt=doubts.EMISSIVITY,
        ),
    ] = None
    insulation: Annotated[
        Layer | None, Text("Layer between a plate's two skins: an insulated shield; needs a two-faced plate")
    ] = None
    ventilated: Annotated[
        bool, Text("False where no air passes between a plate's back and what it stands close to")
    ] = True
    lining: Annotated[Lining | None, Text("Coating on the side the exhaust gas wets")] = None
    shape: Annotated[AnyShape | None, Text("Shape and place, for bay geometry")] = None
    patches: Annotated[Patches | None, Text("Surface in patches of their own temperature")] = None


# --- links ----------------------------------------------------------------------------------------------------
class Link(Record):
    """Two parts; heat goes either way."""

    from_: Annotated[str, Field(alias="from"), Reference("parts", "One part")]
    to: Annotated[str, Reference("parts", "The other part")]
    title: Title = ""


class Conduction(Link):
    """Known conductance: bracket, bolt, gasket, wire."""

    kind: Annotated[Literal["conduction"], Text("known conductance")] = "conduction"
    conductance: Annotated[
        float, Quantity("W/K", 1e-4, 5e3, "Heat per kelvin of difference", doubt=doubts.CONDUCTANCE)
    ]


class Contact(Link):
    """Two faces pressed together."""

    kind: Annotated[Literal["contact"], Text("two faces pressed together")] = "contact"
    area: Annotated[float, Quantity("cm2", 0.01 * cm2, 2.0, "Area of contact", doubt=doubts.AREA)]
    contact_conductance: Annotated[
        float,
        Quantity(
            "W/m2/K",
            1.0,
            1e5,
            "Contact conductance per area",
            spread="30 %",
            source="estimate",
            doubt=doubts.CONTACT,
        ),
    ] = 1000.0


class Radiation(Link):
    """Radiation by a known exchange area."""

    kind: Annotated[Literal["radiation"], Text("known radiation exchange area")] = "radiation"
    exchange_area: Annotated[
        float,
        Quantity(
            "cm2",
            0.001 * cm2,
            10.0,
            "Heat over sigma times difference of fourth powers, emissivities included",
            doubt=doubts.CONDUCTANCE,
        ),
    ]


class Facing(Link):
    """Two surfaces that face each other: radiation, and the air between where they are close."""

    kind: Annotated[Literal["facing"], Text("two surfaces facing each other at a distance")] = "facing"
    area: Annotated[float, Quantity("cm2", 0.1 * cm2, 10.0, "Area of the smaller face", doubt=doubts.AREA)]
    distance: Annotated[float, Quantity("mm", 0.5 * mm, 3.0, "Distance between the faces", doubt=doubts.NEAR)]


AnyLink = Conduction | Contact | Radiation | Facing
