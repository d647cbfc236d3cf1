"""Links: ways for heat between two parts."""

from typing import Annotated, Literal

from pydantic import Field

from heatproof.kit.records.base import Record, Title
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, mm


class Link(Record):
    """Two parts; heat goes either way."""

    from_: Annotated[str, Field(alias="from"), Reference("parts", "One part")]
    to: Annotated[str, Reference("parts", "The other part")]
    title: Title = ""


class Conduction(Link):
    """Known conductance: bracket, bolt, gasket, wire."""

    kind: Annotated[Literal["conduction"], Text("known conductance")] = "conduction"
    conductance: Annotated[float, Quantity("W/K", 1e-4, 5e3, "Heat per kelvin of difference")]


class Contact(Link):
    """Two faces pressed together."""

    kind: Annotated[Literal["contact"], Text("two faces pressed together")] = "contact"
    area: Annotated[float, Quantity("cm2", 0.01 * cm2, 2.0, "Area of contact")]
    contact_conductance: Annotated[
        float, Quantity("W/m2/K", 1.0, 1e5, "Contact conductance per area", spread="30 %", source="estimate")
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
        ),
    ]


class Facing(Link):
    """Two surfaces that face each other: radiation, and the air between where they are close."""

    kind: Annotated[Literal["facing"], Text("two surfaces facing each other at a distance")] = "facing"
    area: Annotated[float, Quantity("cm2", 0.1 * cm2, 10.0, "Area of the smaller face")]
    distance: Annotated[float, Quantity("mm", 0.5 * mm, 3.0, "Distance between the faces")]


AnyLink = Conduction | Contact | Radiation | Facing
