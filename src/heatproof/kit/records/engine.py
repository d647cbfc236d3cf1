"""The engine as a mean-value model needs it."""

from typing import Annotated

from heatproof.kit.records.base import Record
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import MJ, MW, bar, cm3, degC, kPa, kW, litre, mm, percent, rpm


class SpeedCurve(Record):
    """A value over engine speed, linear between points and held flat outside. `spread` widens the factor."""

    speed: Annotated[tuple[float, ...], Quantity("rpm", 100 * rpm, 20e3 * rpm, "Engine speeds, rising")]
    value: Annotated[tuple[float, ...], Quantity("1", 0.05, 2.0, "Value at each speed")]
    factor: Annotated[
        float, Quantity("1", 0.1, 10.0, "Multiplies every value; carries the curve's spread")
    ] = 1.0


class Fuel(Record):
    """The fuel burnt."""

    lower_heating_value: Annotated[float, Quantity("MJ/kg", 10 * MJ, 130 * MJ, "Lower heating value")] = (
        42.8 * MJ
    )
    stoichiometric_air_fuel: Annotated[
        float, Quantity("1", 5.0, 40.0, "Stoichiometric air/fuel ratio by mass")
    ] = 14.5


class Engine(Record):
    """Geometry, full load, mixture, heat split. With a turbo: exactly one of `boost`, `manifold_pressure`."""

    displacement: Annotated[float, Quantity("L", 50 * cm3, 20 * litre, "Swept volume of all cylinders")]
    cylinders: Annotated[int, Text("Number of cylinders")]
    bore: Annotated[float, Quantity("mm", 20 * mm, 250 * mm, "Cylinder bore")]
    stroke: Annotated[float, Quantity("mm", 20 * mm, 300 * mm, "Piston stroke")]
    rated_power: Annotated[
        float, Quantity("kW", 1 * kW, 2 * MW, "Full-load power at rated speed, at the crank")
    ]
    rated_speed: Annotated[float, Quantity("rpm", 500 * rpm, 20e3 * rpm, "Engine speed of rated power")]
    max_speed: Annotated[float, Quantity("rpm", 500 * rpm, 20e3 * rpm, "Highest engine speed")]
    idle_speed: Annotated[float, Quantity("rpm", 200 * rpm, 3000 * rpm, "Idle speed")] = 800 * rpm
    idle_power: Annotated[float, Quantity("kW", 0.0, 50 * kW, "Power taken by accessories, always")] = 2 * kW
    indicated_efficiency: Annotated[
        float,
        Quantity(
            "%",
            10 * percent,
            60 * percent,
            "Indicated work over fuel energy at stoichiometric mixture",
            spread="1.5 points",
            source="handbook range, from memory",
        ),
    ] = 36 * percent
    friction_factor: Annotated[
        float,
        Quantity(
            "1", 0.2, 3.0, "Multiplies the motored friction correlation", spread="15 %", source="from memory"
        ),
    ] = 0.8
    volumetric_efficiency: Annotated[SpeedCurve, Text("Full-load filling, referred to the manifold state")]
    mixture_full_load: Annotated[float, Quantity("1", 0.6, 1.6, "Relative air/fuel ratio at full load")] = 0.9
    mixture_part_load: Annotated[
        float, Quantity("1", 0.6, 1.6, "Relative air/fuel ratio below full load")
    ] = 1.0
    full_load_threshold: Annotated[
        float,
        Quantity(
            "%",
            10 * percent,
            100 * percent,
            "Share of available torque above which full-load mixture is used",
        ),
    ] = 80 * percent
    coolant_heat_factor: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            3.0,
            "Multiplies the gas-to-coolant heat correlation",
            spread="15 %",
            source="correlation against engines, from memory",
        ),
    ] = 1.0
    gas_temperature: Annotated[
        float,
        Quantity(
            "degC",
            degC(100),
            degC(1500),
            "Effective mean gas temperature of the heat correlation at stoichiometric mixture",
            "temperature",
            spread="40 K",
            source="from memory",
        ),
    ] = degC(420)
    head_share: Annotated[
        float, Quantity("%", 0.0, 100 * percent, "Share of coolant heat that enters through the head")
    ] = 55 * percent
    oil_friction_share: Annotated[
        float, Quantity("%", 0.0, 100 * percent, "Share of friction power that heats the oil")
    ] = 50 * percent
    oil_piston_share: Annotated[
        float, Quantity("%", 0.0, 60 * percent, "Heat to oil through pistons and bearings, over coolant heat")
    ] = 6 * percent
    boost: Annotated[
        float | None,
        Quantity("bar gauge", 1 * kPa, 5 * bar, "Full-load manifold pressure over ambient", "gauge"),
    ] = None
    manifold_pressure: Annotated[
        float | None,
        Quantity(
            "bar absolute",
            80 * kPa,
            6 * bar,
            "Full-load manifold pressure, held whatever the altitude",
            "absolute",
        ),
    ] = None
    boost_from: Annotated[
        float | None,
        Quantity("rpm", 500 * rpm, 20e3 * rpm, "Engine speed above which full boost may be asked for"),
    ] = None
    fuel: Annotated[Fuel, Text("The fuel burnt")] = Fuel()
    block: Annotated[str, Reference("parts", "Part that is the engine block")]
    head: Annotated[str, Reference("parts", "Part that is the cylinder head")]
