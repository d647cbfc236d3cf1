"""The engine as a mean-value model needs it, and what hangs on it: exhaust, turbocharger, charge air."""

from typing import Annotated

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Record, Title
from heatproof.kit.records.parts import Limit
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import MJ, MW, bar, cm2, cm3, degC, gram, kPa, kW, litre, litre_min, mm, percent, rpm


# --- engine ---------------------------------------------------------------------------------------------------
class SpeedCurve(Record):
    """A value over engine speed, linear between points and held flat outside. `spread` widens the factor."""

    speed: Annotated[
        tuple[float, ...], Quantity("rpm", 100 * rpm, 20e3 * rpm, "Engine speeds, rising", doubt=doubts.EXACT)
    ]
    value: Annotated[
        tuple[float, ...], Quantity("1", 0.05, 2.0, "Value at each speed", doubt=doubts.IN_FACTOR)
    ]
    factor: Annotated[
        float,
        Quantity("1", 0.1, 10.0, "Multiplies every value; carries the curve's spread", doubt=doubts.FILLING),
    ] = 1.0


class Fuel(Record):
    """The fuel: heating value, and the air it needs to burn."""

    lower_heating_value: Annotated[
        float, Quantity("MJ/kg", 10 * MJ, 130 * MJ, "Lower heating value", doubt=doubts.FUEL)
    ] = 42.8 * MJ
    stoichiometric_air_fuel: Annotated[
        float, Quantity("1", 5.0, 40.0, "Stoichiometric air/fuel ratio by mass", doubt=doubts.FUEL)
    ] = 14.5


class Engine(Record):
    """Geometry, full load, mixture, heat split. With a turbo: exactly one of `boost`, `manifold_pressure`."""

    displacement: Annotated[
        float, Quantity("L", 50 * cm3, 20 * litre, "Swept volume of all cylinders", doubt=doubts.EXACT)
    ]
    cylinders: Annotated[int, Text("Number of cylinders")]
    bore: Annotated[float, Quantity("mm", 20 * mm, 250 * mm, "Cylinder bore", doubt=doubts.EXACT)]
    stroke: Annotated[float, Quantity("mm", 20 * mm, 300 * mm, "Piston stroke", doubt=doubts.EXACT)]
    rated_power: Annotated[
        float,
        Quantity(
            "kW", 1 * kW, 2 * MW, "Full-load power at rated speed, at the crank", doubt=doubts.RATED_POWER
        ),
    ]
    rated_speed: Annotated[
        float, Quantity("rpm", 500 * rpm, 20e3 * rpm, "Engine speed of rated power", doubt=doubts.EXACT)
    ]
    max_speed: Annotated[
        float, Quantity("rpm", 500 * rpm, 20e3 * rpm, "Highest engine speed", doubt=doubts.EXACT)
    ]
    idle_speed: Annotated[
        float, Quantity("rpm", 200 * rpm, 3000 * rpm, "Idle speed", doubt=doubts.SPEED_SETTING)
    ] = 800 * rpm
    idle_power: Annotated[
        float, Quantity("kW", 0.0, 50 * kW, "Power taken by accessories, always", doubt=doubts.ACCESSORIES)
    ] = 2 * kW
    indicated_efficiency: Annotated[
        float,
        Quantity(
            "%",
            10 * percent,
            60 * percent,
            "Indicated work over fuel energy at stoichiometric mixture",
            spread="1.5 points",
            source="handbook range, from memory",
            doubt=doubts.EFFICIENCY,
        ),
    ] = 36 * percent
    friction_factor: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            3.0,
            "Multiplies the motored friction correlation",
            spread="15 %",
            source="from memory",
            doubt=doubts.FRICTION,
        ),
    ] = 0.8
    volumetric_efficiency: Annotated[SpeedCurve, Text("Full-load filling, referred to the manifold state")]
    mixture_full_load: Annotated[
        float, Quantity("1", 0.6, 1.6, "Relative air/fuel ratio at full load", doubt=doubts.MIXTURE)
    ] = 0.9
    mixture_part_load: Annotated[
        float, Quantity("1", 0.6, 1.6, "Relative air/fuel ratio below full load", doubt=doubts.MIXTURE)
    ] = 1.0
    full_load_threshold: Annotated[
        float,
        Quantity(
            "%",
            10 * percent,
            100 * percent,
            "Share of available torque above which full-load mixture is used",
            doubt=doubts.THRESHOLD,
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
            doubt=doubts.CYLINDER_HEAT,
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
            doubt=doubts.GAS_TEMPERATURE,
        ),
    ] = degC(420)
    head_share: Annotated[
        float,
        Quantity(
            "%",
            0.0,
            100 * percent,
            "Share of coolant heat that enters through the head",
            doubt=doubts.HEAD_SHARE,
        ),
    ] = 55 * percent
    oil_friction_share: Annotated[
        float,
        Quantity(
            "%", 0.0, 100 * percent, "Share of friction power that heats the oil", doubt=doubts.FRICTION_SHARE
        ),
    ] = 50 * percent
    oil_piston_share: Annotated[
        float,
        Quantity(
            "%",
            0.0,
            60 * percent,
            "Heat to oil through pistons and bearings, over coolant heat",
            doubt=doubts.PISTON_SHARE,
        ),
    ] = 6 * percent
    boost: Annotated[
        float | None,
        Quantity(
            "bar gauge",
            1 * kPa,
            5 * bar,
            "Full-load manifold pressure over ambient",
            "gauge",
            doubt=doubts.BOOST,
        ),
    ] = None
    manifold_pressure: Annotated[
        float | None,
        Quantity(
            "bar absolute",
            80 * kPa,
            6 * bar,
            "Full-load manifold pressure, held whatever the altitude",
            "absolute",
            doubt=doubts.BOOST,
        ),
    ] = None
    boost_from: Annotated[
        float | None,
        Quantity(
            "rpm",
            500 * rpm,
            20e3 * rpm,
            "Engine speed above which full boost may be asked for",
            doubt=doubts.SPEED_SETTING,
        ),
    ] = None
    fuel: Annotated[Fuel, Text("The fuel burnt")] = Fuel()
    block: Annotated[str, Reference("parts", "Part that is the engine block")]
    head: Annotated[str, Reference("parts", "Part that is the cylinder head")]


# --- exhaust --------------------------------------------------------------------------------------------------
class ExhaustPiece(Record):
    """A pipe, catalyst or silencer in the gas. The turbine follows the piece marked `turbine`."""

    part: Annotated[str, Reference("parts", "Part whose metal the gas heats")]
    bore: Annotated[
        float, Quantity("mm", 5 * mm, 500 * mm, "Inner diameter of one runner or pipe", doubt=doubts.BORE)
    ]
    length: Annotated[
        float,
        Quantity("mm", 5 * mm, 20.0, "Length of the gas path of one runner or pipe", doubt=doubts.LENGTH),
    ]
    runners: Annotated[int, Text("Number of equal pipes side by side")] = 1
    correlation_factor: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            10.0,
            "Multiplies the straight-pipe gas-side coefficient (pulsation, bends)",
            spread="25 %",
            source="estimate",
            doubt=doubts.GAS_SIDE,
        ),
    ] = 1.0
    wetted_area: Annotated[
        float | None,
        Quantity(
            "m2",
            1 * cm2,
            50.0,
            "Gas-side surface; from bore and length where left out",
            doubt=doubts.INNER_AREA,
        ),
    ] = None
    loss: Annotated[
        float,
        Quantity(
            "1", 0.0, 200.0, "Pressure loss coefficient on the bore, besides friction", doubt=doubts.LOSS
        ),
    ] = 0.5
    turbine: Annotated[bool, Text("True where the turbine follows this piece")] = False
    silencer: Annotated[bool, Text("True for a piece with a silencer's pressure loss")] = False
    after: Annotated[
        str | None, Reference("exhaust", "Piece this one follows; at the end where left out")
    ] = None
    title: Title = ""


# --- turbocharger ---------------------------------------------------------------------------------------------
EFFICIENCY = (20 * percent, 95 * percent)


class SpeedLine(Record):
    """One line of a compressor map at constant corrected speed, from surge to choke."""

    speed: Annotated[
        float, Quantity("rpm", 5e3 * rpm, 500e3 * rpm, "Corrected shaft speed", doubt=doubts.EXACT)
    ]
    flow: Annotated[
        tuple[float, ...], Quantity("kg/s", 1e-4, 10.0, "Corrected air flow, rising", doubt=doubts.EXACT)
    ]
    pressure_ratio: Annotated[
        tuple[float, ...],
        Quantity("1", 0.5, 10.0, "Total-to-total pressure ratio at each flow", doubt=doubts.EXACT),
    ]
    efficiency: Annotated[
        tuple[float, ...], Quantity("%", 0.05, 0.95, "Isentropic efficiency at each flow", doubt=doubts.EXACT)
    ]


class CompressorMap(Record):
    """Compressor map. Without its reference state a map says nothing, so both are required."""

    reference_temperature: Annotated[
        float,
        Quantity(
            "degC",
            degC(-40),
            degC(60),
            "Inlet temperature the map is corrected to",
            "temperature",
            doubt=doubts.EXACT,
        ),
    ]
    reference_pressure: Annotated[
        float,
        Quantity(
            "kPa absolute",
            50 * kPa,
            120 * kPa,
            "Inlet pressure the map is corrected to",
            "absolute",
            doubt=doubts.EXACT,
        ),
    ]
    lines: Annotated[tuple[SpeedLine, ...], Text("Speed lines, slowest first")]
    source: Annotated[str, Text("Where the map comes from")] = ""


class Turbo(Record):
    """Turbo: exactly one of `compressor_efficiency` and `compressor_map`."""

    part_turbine: Annotated[str, Reference("parts", "Part that is the turbine housing")]
    part_bearing: Annotated[str, Reference("parts", "Part that is the bearing housing")]
    part_compressor: Annotated[str, Reference("parts", "Part that is the compressor housing")]
    compressor_efficiency: Annotated[
        float | None,
        Quantity(
            "%",
            *EFFICIENCY,
            "Isentropic efficiency, total to total, used at every point",
            doubt=doubts.TURBO_EFFICIENCY,
        ),
    ] = None
    compressor_map: Annotated[CompressorMap | None, Text("Compressor map")] = None
    turbine_efficiency: Annotated[
        float,
        Quantity("%", *EFFICIENCY, "Isentropic efficiency, total to static", doubt=doubts.TURBO_EFFICIENCY),
    ] = 65 * percent
    mechanical_efficiency: Annotated[
        float,
        Quantity(
            "%", 50 * percent, 100 * percent, "Compressor power over turbine power", doubt=doubts.MECHANICAL
        ),
    ] = 95 * percent
    swallowing_area: Annotated[
        float,
        Quantity(
            "cm2",
            0.1 * cm2,
            200 * cm2,
            "Nozzle-equivalent area of the whole turbine",
            doubt=doubts.SWALLOWING,
        ),
    ]
    rotor_inertia: Annotated[
        float, Quantity("kg*m2", 1e-7, 1e-1, "Polar moment of inertia of the rotor", doubt=doubts.INERTIA)
    ]
    turbine_wetted_area: Annotated[
        float,
        Quantity("m2", 1 * cm2, 1.0, "Gas-side surface of the turbine housing", doubt=doubts.SWALLOWING),
    ]
    turbine_bore: Annotated[
        float, Quantity("mm", 5 * mm, 300 * mm, "Equivalent bore of the volute", doubt=doubts.BORE)
    ]
    turbine_correlation_factor: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            10.0,
            "Multiplies the straight-pipe gas-side coefficient in the volute",
            spread="30 %",
            source="estimate",
            doubt=doubts.VOLUTE,
        ),
    ] = 2.0
    compressor_wetted_area: Annotated[
        float,
        Quantity("m2", 1 * cm2, 1.0, "Air-side surface of the compressor housing", doubt=doubts.SWALLOWING),
    ]
    compressor_bore: Annotated[
        float, Quantity("mm", 5 * mm, 300 * mm, "Equivalent bore of the compressor volute", doubt=doubts.BORE)
    ] = 40 * mm
    neck_conductance: Annotated[
        float, Quantity("W/K", 0.01, 100.0, "Turbine housing to bearing housing", doubt=doubts.CONTACT)
    ]
    backplate_conductance: Annotated[
        float, Quantity("W/K", 0.01, 100.0, "Bearing housing to compressor housing", doubt=doubts.CONTACT)
    ]
    oil_conductance: Annotated[
        float,
        Quantity("W/K", 0.1, 500.0, "Bearing housing to oil at oil_reference_flow", doubt=doubts.CONTACT),
    ]
    oil_reference_flow: Annotated[
        float,
        Quantity(
            "L/min", 0.05 * litre_min, 100 * litre_min, "Oil flow of that conductance", doubt=doubts.EXACT
        ),
    ] = 2 * litre_min
    oil_exponent: Annotated[
        float, Quantity("1", 0.0, 1.0, "Power of the oil flow in its conductance", doubt=doubts.EXPONENT)
    ] = 0.4
    oil_shaft_share: Annotated[
        float,
        Quantity(
            "%",
            0.0,
            100 * percent,
            "Share of the shaft's friction power that heats the oil",
            doubt=doubts.RESISTANCE_SHARE,
        ),
    ] = 1.0
    water_area: Annotated[
        float | None, Quantity("cm2", 0.1 * cm2, 0.2, "Surface of the water jacket", doubt=doubts.INNER_AREA)
    ] = None
    oil_line: Annotated[str, Reference("oil.lines", "Oil line through the bearing housing")]
    water_line: Annotated[
        str | None, Reference("coolant.lines", "Coolant line through the bearing housing")
    ] = None
    max_speed: Annotated[
        float | None, Quantity("rpm", 10e3 * rpm, 500e3 * rpm, "Highest shaft speed", doubt=doubts.EXACT)
    ] = None


# --- charge air -----------------------------------------------------------------------------------------------
class Filter(Record):
    """Air filter: one point of its pressure loss, which follows flow squared."""

    pressure_loss: Annotated[
        float, Quantity("kPa", 0.0, 30 * kPa, "Pressure loss at `at_flow`", doubt=doubts.FILTER_LOSS)
    ]
    at_flow: Annotated[float, Quantity("kg/s", 1 * gram, 5.0, "Air flow of that loss", doubt=doubts.EXACT)]


class ChargePipe(Record):
    """A pipe the charge air flows through."""

    part: Annotated[str, Reference("parts", "Part that is the pipe's wall")]
    bore: Annotated[float, Quantity("mm", 10 * mm, 300 * mm, "Inner diameter", doubt=doubts.BORE)]
    length: Annotated[float, Quantity("mm", 10 * mm, 10.0, "Length of the centre line", doubt=doubts.LENGTH)]
    bends: Annotated[int, Text("Number of 90 degree bends")] = 0
    loss: Annotated[
        float, Quantity("1", 0.0, 200.0, "Further pressure loss coefficient on the bore", doubt=doubts.LOSS)
    ] = 0.0
    title: Title = ""


class Plenum(Record):
    """The intake manifold; its limit is for the charge temperature."""

    part: Annotated[str, Reference("parts", "Part that is the intake manifold")]
    volume: Annotated[float, Quantity("L", 10 * cm3, 100 * litre, "Gas volume", doubt=doubts.VOLUME)]
    wetted_area: Annotated[float, Quantity("cm2", 10 * cm2, 5.0, "Inner surface", doubt=doubts.INNER_AREA)]
    limit: Annotated[Limit | None, Text("Limit of the charge temperature")] = None
    title: Title = "Charge temperature"


class Inlet(Record):
    """The air entering compressor or engine; its limit is for the intake temperature."""

    limit: Annotated[Limit | None, Text("Limit of the intake temperature")] = None
    title: Title = "Intake temperature"


class Throttle(Record):
    """Throttle body, wide open."""

    bore: Annotated[float, Quantity("mm", 10 * mm, 200 * mm, "Bore", doubt=doubts.BORE)]
    loss: Annotated[
        float, Quantity("1", 0.0, 20.0, "Pressure loss coefficient, wide open", doubt=doubts.LOSS)
    ] = 0.3


class Charge(Record):
    """Flow order: zone, filter, inlet pipe, [compressor, hot pipe, cooler, cold pipe], throttle, plenum."""

    draws_from: Annotated[str, Reference("air.zones", "Air zone the filter stands in", also=("outside",))]
    filter: Annotated[Filter, Text("Air filter")]
    inlet_pipe: Annotated[ChargePipe | None, Text("From filter to compressor or throttle")] = None
    inlet: Annotated[Inlet, Text("The air entering compressor or engine")] = Inlet()
    hot_pipe: Annotated[ChargePipe | None, Text("From compressor to charge cooler")] = None
    cooler: Annotated[str | None, Reference("cores", "Core that cools the charge")] = None
    cold_pipe: Annotated[ChargePipe | None, Text("From charge cooler to throttle")] = None
    throttle: Annotated[Throttle | None, Text("Throttle body")] = None
    plenum: Annotated[Plenum, Text("Intake manifold")]
