"""The coolant network, and further liquid circuits of the same build."""

from typing import Annotated

from heatproof.kit.records.base import Record, Title
from heatproof.kit.records.lines import JUNCTION_HEIGHT, CoolantLine, Junction
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import bar, cm3, degC, kPa, litre, percent


class SmallJunctions(Record):
    """What a junction is like that lines name but the list leaves out."""

    volume: Annotated[float, Quantity("L", 1 * cm3, 5 * litre, "Liquid that counts as mixed there")] = (
        0.2 * litre
    )
    height: Annotated[float, JUNCTION_HEIGHT]


class Coolant(Record):
    """Coolant, cap, junctions and lines. Pressure is fixed at one junction, by cap and expansion tank."""

    glycol: Annotated[float, Quantity("%", 0.0, 70 * percent, "Ethylene glycol by volume")] = 50 * percent
    cap_pressure: Annotated[
        float, Quantity("bar gauge", 0.0, 4 * bar, "Opening pressure of the cap", "gauge")
    ] = 110 * kPa
    fill_temperature: Annotated[
        float,
        Quantity("degC", degC(-40), degC(60), "Temperature at which it was filled and closed", "temperature"),
    ] = degC(20)
    tank_air: Annotated[float, Quantity("L", 1 * cm3, 20 * litre, "Air in the expansion tank, cold")] = (
        0.8 * litre
    )
    fixed_pressure: Annotated[str, Reference("coolant.junctions", "Junction the cap sits on")]
    junctions: Annotated[dict[str, Junction], Text("Points where lines meet")]
    lines: Annotated[dict[str, CoolantLine], Text("Ways between junctions")]
    small_junctions: Annotated[
        SmallJunctions | None, Text("Junctions that lines name but the list leaves out")
    ] = None


class LiquidCircuit(Coolant):
    """A further liquid circuit, such as that of a water-cooled charge cooler: own pump, cap and pressure."""

    fixed_pressure: Annotated[str, Text("Junction of this circuit the cap sits on")]
    working_temperature: Annotated[
        float,
        Quantity(
            "degC",
            degC(-20),
            degC(140),
            "Temperature its pressure losses and heat-transfer coefficients are worked out at",
            "temperature",
        ),
    ] = degC(50)
    title: Title = ""
