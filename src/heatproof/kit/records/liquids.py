"""Coolant, oil and further liquid circuits: junctions, and lines with a bore and what lies along the way."""

from typing import Annotated, Literal

from pydantic import Field

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Record, Title
from heatproof.kit.records.parts import Limit
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import bar, cm2, cm3, degC, hour, kPa, kW, litre, litre_min, minute, mm, percent, rpm

# --- lines ----------------------------------------------------------------------------------------------------
JUNCTION_HEIGHT = Quantity("m", -0.5, 4.0, "Height above the road", doubt=doubts.LEVEL)
POINT = Quantity(
    "m", -20.0, 20.0, "Points along the line: forward, left, up, in order of flow", doubt=doubts.PLACED
)


class Junction(Record):
    """A point where lines meet, with the liquid that counts as mixed there."""

    height: Annotated[float, JUNCTION_HEIGHT]
    volume: Annotated[
        float, Quantity("L", 1 * cm3, 100 * litre, "Liquid that counts as mixed here", doubt=doubts.VOLUME)
    ] = 0.2 * litre
    part: Annotated[str | None, Reference("parts", "Part whose metal the liquid wets")] = None
    wetted_area: Annotated[
        float | None,
        Quantity("m2", 0.1 * cm2, 5.0, "Surface of that metal in the liquid", doubt=doubts.INNER_AREA),
    ] = None
    limit: Annotated[Limit | None, Text("Limit of the liquid here")] = None
    title: Title = ""


class Line(Record):
    """Liquid between two junctions; flow may turn round. Heat: `metal` (wetted), `part` (wall), `core`."""

    from_: Annotated[str, Field(alias="from"), Text("Junction where positive flow starts")]
    to: Annotated[str, Text("Junction where positive flow ends")]
    bore: Annotated[float | None, Quantity("mm", 0.3 * mm, 200 * mm, "Inner diameter", doubt=doubts.BORE)] = (
        None
    )
    length: Annotated[float, Quantity("m", 1 * mm, 20.0, "Length", doubt=doubts.LINE_LENGTH)] = 0.1
    loss: Annotated[
        float,
        Quantity("1", 0.0, 5e3, "Pressure loss coefficient on the bore, besides friction", doubt=doubts.LOSS),
    ] = 0.5
    volume: Annotated[
        float | None,
        Quantity(
            "L",
            1 * cm3,
            100 * litre,
            "Liquid in the line; from bore and length where left out",
            doubt=doubts.VOLUME,
        ),
    ] = None
    metal: Annotated[str | None, Reference("parts", "Part whose metal the liquid cools or heats")] = None
    wetted_area: Annotated[
        float | None,
        Quantity("m2", 0.1 * cm2, 5.0, "Surface of that metal in the liquid", doubt=doubts.INNER_AREA),
    ] = None
    part: Annotated[str | None, Reference("parts", "Part that is the hose or pipe wall")] = None
    core: Annotated[str | None, Reference("cores", "Core the line flows through")] = None
    heat_loss: Annotated[
        float,
        Quantity(
            "W/K",
            0.0,
            2e3,
            "Heat given to the cabin or ambient per kelvin above ambient",
            doubt=doubts.LOST_TO_CABIN,
        ),
    ] = 0.0
    heat: Annotated[
        Literal["none", "engine"], Text("engine: bearing and piston heat of the engine enters here (oil)")
    ] = "none"
    heights: Annotated[
        tuple[float, ...],
        Quantity("m", -0.5, 4.0, "Heights along the line in order of flow", doubt=doubts.PLACED),
    ] = ()
    route: Annotated[tuple[tuple[float, float, float], ...], POINT] = ()
    limit: Annotated[Limit | None, Text("Limit of the liquid leaving the line")] = None
    title: Title = ""


class Hose(Line):
    """A hose, pipe or drilling."""

    kind: Annotated[Literal["hose"], Text("hose, pipe or drilling")] = "hose"


class Thermostat(Line):
    """A line opened by the temperature of the liquid reaching it."""

    kind: Annotated[Literal["thermostat"], Text("line with a thermostat")] = "thermostat"
    opens: Annotated[
        float,
        Quantity("degC", degC(20), degC(160), "Starts to open", "temperature", doubt=doubts.SWITCH_POINT),
    ]
    fully_open: Annotated[
        float, Quantity("degC", degC(20), degC(180), "Fully open", "temperature", doubt=doubts.SWITCH_POINT)
    ]
    leak: Annotated[
        float, Quantity("%", 0.0, 50 * percent, "Area left when shut, over area when open", doubt=doubts.LEAK)
    ] = 0.5 * percent
    time_constant: Annotated[
        float, Quantity("s", 0.0, 5 * minute, "Lag of the wax element", doubt=doubts.LAG)
    ] = 20.0


class Pump(Line):
    """Centrifugal pump on the engine: parabola through head and free flow, scaled by affinity laws."""

    kind: Annotated[Literal["pump"], Text("centrifugal pump driven by the engine")] = "pump"
    head: Annotated[
        float,
        Quantity("bar", 0.01 * bar, 10 * bar, "Pressure rise at zero flow, at head_speed", doubt=doubts.PUMP),
    ]
    head_speed: Annotated[
        float, Quantity("rpm", 200 * rpm, 20e3 * rpm, "Engine speed of the two points", doubt=doubts.EXACT)
    ]
    free_flow: Annotated[
        float,
        Quantity("L/min", 0.1 * litre_min, 5e3 * litre_min, "Flow at zero pressure rise", doubt=doubts.PUMP),
    ]
    stopped_loss: Annotated[
        float,
        Quantity(
            "1",
            0.0,
            1e4,
            "Pressure loss coefficient of the standing pump on its bore, where a bore is given",
            doubt=doubts.LOSS,
        ),
    ] = 10.0


class ElectricPump(Line):
    """Electric pump; may run on after key-off."""

    kind: Annotated[Literal["electric_pump"], Text("electric pump")] = "electric_pump"
    head: Annotated[
        float, Quantity("bar", 0.01 * bar, 5 * bar, "Pressure rise at zero flow", doubt=doubts.PUMP)
    ]
    free_flow: Annotated[
        float,
        Quantity("L/min", 0.1 * litre_min, 500 * litre_min, "Flow at zero pressure rise", doubt=doubts.PUMP),
    ]
    power: Annotated[float, Quantity("W", 0.0, 5 * kW, "Electric power", doubt=doubts.ELECTRIC_POWER)] = 20.0
    while_driving: Annotated[bool, Text("True where it also runs with the engine on")] = False
    run_on: Annotated[
        float, Quantity("min", 0.0, 2 * hour, "Time it runs after key-off", doubt=doubts.EXACT)
    ] = 0.0
    on_temperature: Annotated[
        float | None,
        Quantity(
            "degC",
            degC(0),
            degC(150),
            "After key-off only above this, at its inlet; always where left out",
            "temperature",
            doubt=doubts.SWITCH_POINT,
        ),
    ] = None


class DisplacementPump(Line):
    """Positive-displacement pump driven by the engine, with a relief valve back to its inlet."""

    kind: Annotated[Literal["displacement_pump"], Text("displacement pump driven by the engine")] = (
        "displacement_pump"
    )
    displacement: Annotated[
        float, Quantity("cm3", 0.1 * cm3, 500 * cm3, "Volume per engine revolution", doubt=doubts.OIL_PUMP)
    ]
    relief: Annotated[
        float,
        Quantity(
            "bar", 0.2 * bar, 30 * bar, "Pressure rise at which the relief valve opens", doubt=doubts.RELIEF
        ),
    ]
    volumetric_efficiency: Annotated[
        float,
        Quantity(
            "%", 20 * percent, 100 * percent, "Delivered over displaced volume", doubt=doubts.MECHANICAL
        ),
    ] = 88 * percent


CoolantLine = Hose | Thermostat | Pump | ElectricPump
OilLine = Hose | Thermostat | DisplacementPump | ElectricPump


# --- coolant --------------------------------------------------------------------------------------------------
class SmallJunctions(Record):
    """What a junction is like that lines name but the list leaves out."""

    volume: Annotated[
        float, Quantity("L", 1 * cm3, 5 * litre, "Liquid that counts as mixed there", doubt=doubts.VOLUME)
    ] = 0.2 * litre
    height: Annotated[float, JUNCTION_HEIGHT]


class Coolant(Record):
    """Coolant, cap, junctions and lines. Pressure is fixed at one junction, by cap and expansion tank."""

    glycol: Annotated[
        float, Quantity("%", 0.0, 70 * percent, "Ethylene glycol by volume", doubt=doubts.GLYCOL)
    ] = 50 * percent
    cap_pressure: Annotated[
        float, Quantity("bar gauge", 0.0, 4 * bar, "Opening pressure of the cap", "gauge", doubt=doubts.CAP)
    ] = 110 * kPa
    fill_temperature: Annotated[
        float,
        Quantity(
            "degC",
            degC(-40),
            degC(60),
            "Temperature at which it was filled and closed",
            "temperature",
            doubt=doubts.EXACT,
        ),
    ] = degC(20)
    tank_air: Annotated[
        float, Quantity("L", 1 * cm3, 20 * litre, "Air in the expansion tank, cold", doubt=doubts.AREA)
    ] = 0.8 * litre
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
            doubt=doubts.EXACT,
        ),
    ] = degC(50)
    title: Title = ""


# --- oil ------------------------------------------------------------------------------------------------------
class Oil(Record):
    """Oil, junctions and lines. Pressure is fixed at one junction, the vented sump."""

    grade: Annotated[str, Text("Viscosity grade, e.g. 5W-30")] = "5W-30"
    fixed_pressure: Annotated[str, Reference("oil.junctions", "Junction at ambient pressure")]
    junctions: Annotated[dict[str, Junction], Text("Points where lines meet")]
    lines: Annotated[dict[str, OilLine], Text("Ways between junctions")]
    small_junctions: Annotated[
        SmallJunctions | None, Text("Junctions that lines name but the list leaves out")
    ] = None
