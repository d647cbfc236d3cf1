"""The turbocharger."""

from typing import Annotated

from heatproof.kit.records.base import Record
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, degC, kPa, litre_min, mm, percent, rpm

EFFICIENCY = (20 * percent, 95 * percent)


class SpeedLine(Record):
    """One line of a compressor map at constant corrected speed, from surge to choke."""

    speed: Annotated[float, Quantity("rpm", 5e3 * rpm, 500e3 * rpm, "Corrected shaft speed")]
    flow: Annotated[tuple[float, ...], Quantity("kg/s", 1e-4, 10.0, "Corrected air flow, rising")]
    pressure_ratio: Annotated[
        tuple[float, ...], Quantity("1", 0.5, 10.0, "Total-to-total pressure ratio at each flow")
    ]
    efficiency: Annotated[tuple[float, ...], Quantity("%", 0.05, 0.95, "Isentropic efficiency at each flow")]


class CompressorMap(Record):
    """Compressor map. Without its reference state a map says nothing, so both are required."""

    reference_temperature: Annotated[
        float,
        Quantity("degC", degC(-40), degC(60), "Inlet temperature the map is corrected to", "temperature"),
    ]
    reference_pressure: Annotated[
        float,
        Quantity("kPa absolute", 50 * kPa, 120 * kPa, "Inlet pressure the map is corrected to", "absolute"),
    ]
    lines: Annotated[tuple[SpeedLine, ...], Text("Speed lines, slowest first")]
    source: Annotated[str, Text("Where the map comes from")] = ""


class Turbo(Record):
    """Turbo: exactly one of `compressor_efficiency` and `compressor_map`."""

    part_turbine: Annotated[str, Reference("parts", "Part that is the turbine housing")]
    part_bearing: Annotated[str, Reference("parts", "Part that is the bearing housing")]
    part_compressor: Annotated[str, Reference("parts", "Part that is the compressor housing")]
    compressor_efficiency: Annotated[
        float | None, Quantity("%", *EFFICIENCY, "Isentropic efficiency, total to total, used at every point")
    ] = None
    compressor_map: Annotated[CompressorMap | None, Text("Compressor map")] = None
    turbine_efficiency: Annotated[
        float, Quantity("%", *EFFICIENCY, "Isentropic efficiency, total to static")
    ] = 65 * percent
    mechanical_efficiency: Annotated[
        float, Quantity("%", 50 * percent, 100 * percent, "Compressor power over turbine power")
    ] = 95 * percent
    swallowing_area: Annotated[
        float, Quantity("cm2", 0.1 * cm2, 200 * cm2, "Nozzle-equivalent area of the whole turbine")
    ]
    rotor_inertia: Annotated[float, Quantity("kg*m2", 1e-7, 1e-1, "Polar moment of inertia of the rotor")]
    turbine_wetted_area: Annotated[
        float, Quantity("m2", 1 * cm2, 1.0, "Gas-side surface of the turbine housing")
    ]
    turbine_bore: Annotated[float, Quantity("mm", 5 * mm, 300 * mm, "Equivalent bore of the volute")]
    turbine_correlation_factor: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            10.0,
            "Multiplies the straight-pipe gas-side coefficient in the volute",
            spread="30 %",
            source="estimate",
        ),
    ] = 2.0
    compressor_wetted_area: Annotated[
        float, Quantity("m2", 1 * cm2, 1.0, "Air-side surface of the compressor housing")
    ]
    compressor_bore: Annotated[
        float, Quantity("mm", 5 * mm, 300 * mm, "Equivalent bore of the compressor volute")
    ] = 40 * mm
    neck_conductance: Annotated[float, Quantity("W/K", 0.01, 100.0, "Turbine housing to bearing housing")]
    backplate_conductance: Annotated[
        float, Quantity("W/K", 0.01, 100.0, "Bearing housing to compressor housing")
    ]
    oil_conductance: Annotated[
        float, Quantity("W/K", 0.1, 500.0, "Bearing housing to oil at oil_reference_flow")
    ]
    oil_reference_flow: Annotated[
        float, Quantity("L/min", 0.05 * litre_min, 100 * litre_min, "Oil flow of that conductance")
    ] = 2 * litre_min
    oil_exponent: Annotated[float, Quantity("1", 0.0, 1.0, "Power of the oil flow in its conductance")] = 0.4
    oil_shaft_share: Annotated[
        float, Quantity("%", 0.0, 100 * percent, "Share of the shaft's friction power that heats the oil")
    ] = 1.0
    water_area: Annotated[float | None, Quantity("cm2", 0.1 * cm2, 0.2, "Surface of the water jacket")] = None
    oil_line: Annotated[str, Reference("oil.lines", "Oil line through the bearing housing")]
    water_line: Annotated[
        str | None, Reference("coolant.lines", "Coolant line through the bearing housing")
    ] = None
    max_speed: Annotated[float | None, Quantity("rpm", 10e3 * rpm, 500e3 * rpm, "Highest shaft speed")] = None
