"""Cooling and bay air: zones, the passages between them, the fan, and exchanger cores by geometry or rated points."""

from typing import Annotated, Literal

from pydantic import Field

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Record, Title
from heatproof.kit.records.shapes import AnyShape
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, cm3, degC, gram, hour, kPa, kW, mm, percent

# --- air ------------------------------------------------------------------------------------------------------
ROAD_HEIGHT = Quantity("m", -0.5, 4.0, "Height above the road", doubt=doubts.LEVEL)


class Zone(Record):
    """A space of well-mixed air."""

    volume: Annotated[float, Quantity("L", 10 * cm3, 20.0, "Air volume", doubt=doubts.ROUGH_VOLUME)]
    flow_area: Annotated[
        float,
        Quantity(
            "m2",
            1 * cm2,
            10.0,
            "Area the air flows through; sets its speed past parts",
            doubt=doubts.ROUGH_AREA,
        ),
    ]
    height: Annotated[float, ROAD_HEIGHT]
    walls: Annotated[
        tuple[str, ...], Reference("parts", "Panels that bound the zone: one name or a list")
    ] = ()
    title: Title = ""


class Passage(Record):
    """A way for air between two zones. Flow goes either way unless `one_way`. `outside` is the open air.

    Area: required, unless the passage holds a core (`share` of its face) or is the fan's.
    """

    from_: Annotated[
        str, Field(alias="from"), Reference("air.zones", "Zone where positive flow starts", also=("outside",))
    ]
    to: Annotated[str, Reference("air.zones", "Zone where positive flow ends", also=("outside",))]
    kind: Annotated[
        Literal["opening", "gap", "vent", "duct", "fan"],
        Text("fan: the fan blows through it; gap: an installer may seal or leave it"),
    ] = "opening"
    area: Annotated[float | None, Quantity("cm2", 0.01 * cm2, 5.0, "Free area", doubt=doubts.AREA)] = None
    loss: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            500.0,
            "Pressure loss over dynamic pressure in the free area; of no effect with a core or fan",
            spread="20 %",
            source="sharp-edged opening, 1/0.61 squared, handbook",
            doubt=doubts.LOSS,
        ),
    ] = 2.7
    pressure_coefficient: Annotated[
        float,
        Quantity(
            "1",
            -3.0,
            1.2,
            "Pressure outside the opening over ram pressure, only where one end is outside",
            doubt=doubts.BODY_PRESSURE,
        ),
    ] = 0.0
    height: Annotated[float, ROAD_HEIGHT]
    core: Annotated[str | None, Reference("cores", "Core the air passes through")] = None
    share: Annotated[
        float,
        Quantity("%", 0.1 * percent, 100 * percent, "Share of the core's face", doubt=doubts.CORE_SHARE),
    ] = 1.0
    one_way: Annotated[bool, Text("True for a flap that shuts against flow from `to` to `from`")] = False
    title: Title = ""


class Fan(Record):
    """Electric fan, two speeds. Its curve is a parabola through the two points, scaled by affinity laws."""

    passage: Annotated[str, Reference("air.passages", "Passage it blows through")]
    pressure_at_rest: Annotated[
        float,
        Quantity("Pa", 1.0, 5 * kPa, "Pressure rise at zero flow, full speed", doubt=doubts.FAN_PRESSURE),
    ]
    free_flow: Annotated[
        float, Quantity("m3/s", 1e-3, 20.0, "Flow at zero pressure rise, full speed", doubt=doubts.FAN_FLOW)
    ]
    power: Annotated[
        float, Quantity("W", 0.0, 5 * kW, "Electric power, full speed", doubt=doubts.ELECTRIC_POWER)
    ] = 250.0
    low_speed: Annotated[
        float,
        Quantity("%", 5 * percent, 100 * percent, "Low speed over full speed", doubt=doubts.SPEED_SHARE),
    ] = 65 * percent
    on_temperature: Annotated[
        float,
        Quantity(
            "degC", degC(20), degC(150), "Low speed above this", "temperature", doubt=doubts.SWITCH_POINT
        ),
    ] = degC(97)
    high_temperature: Annotated[
        float,
        Quantity(
            "degC", degC(20), degC(150), "Full speed above this", "temperature", doubt=doubts.SWITCH_POINT
        ),
    ] = degC(102)
    hysteresis: Annotated[
        float,
        Quantity(
            "K",
            0.0,
            30.0,
            "Falls back this far below each temperature",
            "difference",
            doubt=doubts.HYSTERESIS,
        ),
    ] = 5.0
    sensor: Annotated[str, Reference("coolant.junctions", "Coolant junction that is sensed")]
    with_air_conditioning: Annotated[bool, Text("True where low speed runs with the air conditioning")] = True
    run_on: Annotated[
        float,
        Quantity("s", 0.0, hour, "Time it may run after key-off, above on_temperature", doubt=doubts.EXACT),
    ] = 0.0


class Air(Record):
    """Cooling air: zones of one temperature each, the passages between them, and the fan."""

    zones: Annotated[dict[str, Zone], Text("Spaces of air")]
    passages: Annotated[dict[str, Passage], Text("Ways between zones and to the outside")]
    fan: Annotated[Fan | None, Text("Cooling fan")] = None


# --- cores ----------------------------------------------------------------------------------------------------
WIDTH = Quantity("mm", 20 * mm, 3.0, "Core width; the hot fluid flows along it", doubt=doubts.CORE_SIZE)
CORE_HEIGHT = Quantity("mm", 20 * mm, 3.0, "Core height, without tanks", doubt=doubts.CORE_SIZE)
DEPTH = Quantity("mm", 5 * mm, 0.5, "Core depth in the direction of the air", doubt=doubts.CORE_SIZE)
FIN_PITCH = Quantity("mm", 0.3 * mm, 20 * mm, "Distance from fin to fin", doubt=doubts.FIN)
FIN_THICKNESS = Quantity("mm", 0.02 * mm, 1 * mm, "Fin sheet thickness", doubt=doubts.FIN_SHEET)
FOULING = Quantity(
    "1",
    0.2,
    1.2,
    "Multiplies the air-side coefficient of a clean core (dirt, bent fins)",
    spread="5 %",
    source="estimate",
    doubt=doubts.FIN,
)
CONDUCTIVITY = Quantity("W/m/K", 5.0, 450.0, "Conductivity of fins and walls", doubt=doubts.CONDUCTIVITY)
ALUMINIUM_FIN = 200.0


class TubeAndFin(Record):
    """Flat tubes with louvered corrugated fins between them."""

    type: Annotated[Literal["tube_and_fin"], Text("Build of the core")] = "tube_and_fin"
    width: Annotated[float, WIDTH]
    height: Annotated[float, CORE_HEIGHT]
    depth: Annotated[float, DEPTH]
    tube_height: Annotated[
        float, Quantity("mm", 0.5 * mm, 20 * mm, "Outer height of the flat tube", doubt=doubts.FIN)
    ]
    tube_wall: Annotated[
        float, Quantity("mm", 0.1 * mm, 3 * mm, "Tube wall thickness", doubt=doubts.FIN_SHEET)
    ] = 0.3 * mm
    fin_height: Annotated[
        float, Quantity("mm", 1 * mm, 50 * mm, "Gap between tubes, filled by the fin", doubt=doubts.FIN)
    ]
    fin_pitch: Annotated[float, FIN_PITCH]
    fin_thickness: Annotated[float, FIN_THICKNESS] = 0.08 * mm
    louver_pitch: Annotated[float, Quantity("mm", 0.3 * mm, 10 * mm, "Louver pitch", doubt=doubts.LOUVER)]
    louver_length: Annotated[
        float, Quantity("mm", 0.5 * mm, 50 * mm, "Louver length across the fin", doubt=doubts.LOUVER)
    ]
    louver_angle: Annotated[float, Quantity("deg", 0.05, 0.9, "Louver angle", doubt=doubts.LOUVER)]
    tube_fin_pitch: Annotated[
        float | None,
        Quantity(
            "mm",
            0.3 * mm,
            20 * mm,
            "Pitch of fins inside the tube (charge air, oil); none where left out",
            doubt=doubts.FIN_SHEET,
        ),
    ] = None
    passes: Annotated[int, Text("Passes of the hot fluid through the core")] = 1
    conductivity: Annotated[float, CONDUCTIVITY] = ALUMINIUM_FIN
    fouling_factor: Annotated[float, FOULING] = 1.0


class BarAndPlate(Record):
    """Plates with offset-strip fins in both streams."""

    type: Annotated[Literal["bar_and_plate"], Text("Build of the core")] = "bar_and_plate"
    width: Annotated[float, WIDTH]
    height: Annotated[float, CORE_HEIGHT]
    depth: Annotated[float, DEPTH]
    charge_channel: Annotated[
        float, Quantity("mm", 1 * mm, 30 * mm, "Height of a channel of the hot fluid", doubt=doubts.BORE)
    ]
    charge_fin_pitch: Annotated[float, FIN_PITCH]
    air_channel: Annotated[
        float, Quantity("mm", 1 * mm, 30 * mm, "Height of an air channel", doubt=doubts.BORE)
    ]
    air_fin_pitch: Annotated[float, FIN_PITCH]
    fin_thickness: Annotated[float, FIN_THICKNESS] = 0.12 * mm
    fin_offset_length: Annotated[
        float, Quantity("mm", 1 * mm, 50 * mm, "Strip length of the offset fins", doubt=doubts.FIN_SHEET)
    ] = 6 * mm
    plate_thickness: Annotated[
        float, Quantity("mm", 0.1 * mm, 5 * mm, "Separating plate thickness", doubt=doubts.FIN_SHEET)
    ] = 0.5 * mm
    conductivity: Annotated[float, CONDUCTIVITY] = ALUMINIUM_FIN
    fouling_factor: Annotated[float, FOULING] = 1.0


class PlatesToLiquid(Record):
    """Charge air through fins, liquid between the plates, across the air; for a core cooled by its coolant_line."""

    type: Annotated[Literal["plates_to_liquid"], Text("Build of the core")] = "plates_to_liquid"
    width: Annotated[
        float,
        Quantity("mm", 20 * mm, 3.0, "Length of the charge flow through the core", doubt=doubts.CORE_SIZE),
    ]
    height: Annotated[
        float, Quantity("mm", 20 * mm, 3.0, "Height of the stack of plates", doubt=doubts.CORE_SIZE)
    ]
    depth: Annotated[
        float,
        Quantity("mm", 20 * mm, 3.0, "Width of the plates across the charge flow", doubt=doubts.CORE_SIZE),
    ]
    charge_channel: Annotated[
        float, Quantity("mm", 1 * mm, 30 * mm, "Height of a channel of the charge air", doubt=doubts.BORE)
    ]
    charge_fin_pitch: Annotated[float, FIN_PITCH]
    liquid_channel: Annotated[
        float, Quantity("mm", 0.5 * mm, 20 * mm, "Height of a channel of the liquid", doubt=doubts.BORE)
    ]
    liquid_fin_pitch: Annotated[
        float | None,
        Quantity(
            "mm",
            0.3 * mm,
            20 * mm,
            "Pitch of offset fins in the liquid; a plain channel where left out",
            doubt=doubts.FIN_SHEET,
        ),
    ] = None
    liquid_passes: Annotated[int, Text("Passes of the liquid across the core, one after the other")] = 1
    fin_thickness: Annotated[float, FIN_THICKNESS] = 0.1 * mm
    fin_offset_length: Annotated[
        float,
        Quantity(
            "mm", 0.3 * mm, 50 * mm, "Length of a fin strip before it is offset", doubt=doubts.FIN_SHEET
        ),
    ] = 4 * mm
    plate_thickness: Annotated[
        float,
        Quantity(
            "mm", 0.1 * mm, 5 * mm, "Thickness of the plates between the streams", doubt=doubts.FIN_SHEET
        ),
    ] = 0.4 * mm
    conductivity: Annotated[float, CONDUCTIVITY] = ALUMINIUM_FIN
    fouling_factor: Annotated[float, FOULING] = 1.0


class Rated(Record):
    """One rated point; conductance goes with the power of each flow, pressure losses with flow to 1.8 or so.

    `face_area`, `air_loss` and `air_loss_exponent` are needed where air passes through the core.
    """

    type: Annotated[Literal["rated"], Text("Build of the core")] = "rated"
    hot_flow: Annotated[
        float,
        Quantity("kg/s", 0.1 * gram, 50.0, "Flow of the hot fluid at the rated point", doubt=doubts.EXACT),
    ]
    cold_flow: Annotated[
        float,
        Quantity("kg/s", 0.1 * gram, 50.0, "Flow of the cold fluid at the rated point", doubt=doubts.EXACT),
    ]
    heat_per_kelvin: Annotated[
        float,
        Quantity(
            "W/K",
            0.1,
            50e3,
            "Heat over difference of the two inlet temperatures",
            spread="8 %",
            source="estimate",
            doubt=doubts.RATED_HEAT,
        ),
    ]
    hot_exponent: Annotated[
        float, Quantity("1", 0.0, 1.0, "Power of the hot flow in its conductance", doubt=doubts.EXPONENT)
    ] = 0.7
    cold_exponent: Annotated[
        float, Quantity("1", 0.0, 1.0, "Power of the cold flow in its conductance", doubt=doubts.EXPONENT)
    ] = 0.6
    hot_share: Annotated[
        float,
        Quantity(
            "%",
            1 * percent,
            99 * percent,
            "Share of the thermal resistance on the hot side",
            doubt=doubts.RESISTANCE_SHARE,
        ),
    ] = 50 * percent
    hot_loss: Annotated[
        float,
        Quantity(
            "kPa",
            0.0,
            300 * kPa,
            "Pressure loss of the hot fluid at the rated point",
            doubt=doubts.RATED_LOSS,
        ),
    ] = 0.0
    liquid_loss: Annotated[
        float,
        Quantity(
            "kPa",
            0.0,
            300 * kPa,
            "Pressure loss of a cold liquid at the rated point",
            doubt=doubts.RATED_LOSS,
        ),
    ] = 0.0
    face_area: Annotated[
        float | None, Quantity("m2", 10 * cm2, 5.0, "Face the air flows through", doubt=doubts.CORE_SIZE)
    ] = None
    air_loss: Annotated[
        float | None,
        Quantity("Pa", 1.0, 5 * kPa, "Pressure loss of the air at the rated point", doubt=doubts.RATED_LOSS),
    ] = None
    air_loss_exponent: Annotated[
        float, Quantity("1", 1.0, 2.0, "Power of the air flow in its pressure loss", doubt=doubts.EXPONENT)
    ] = 1.7


Geometry = TubeAndFin | BarAndPlate | PlatesToLiquid


class Core(Record):
    """An exchanger core. Exactly one of `geometry`, `rated`. Air reaches it through passages that name it."""

    kind: Annotated[
        Literal["radiator", "charge_cooler", "oil_cooler", "condenser"],
        Text("radiator, condenser: to air; charge_cooler, oil_cooler: to air, or to its coolant_line"),
    ]
    line: Annotated[
        str | None, Text("Line the hot fluid flows in: of its circuit (radiator), of the oil (oil_cooler)")
    ] = None
    coolant_line: Annotated[
        str | None,
        Text("Line of its circuit that cools a charge or oil cooler; air cools it where left out"),
    ] = None
    circuit: Annotated[
        str | None,
        Reference("circuits", "Circuit of its line or coolant_line; the engine's coolant where left out"),
    ] = None
    mass: Annotated[float, Quantity("kg", 0.01, 200.0, "Mass of metal", doubt=doubts.MASS)]
    geometry: Annotated[Geometry | None, Text("Core by its dimensions")] = None
    rated: Annotated[Rated | None, Text("Core by a rated point")] = None
    heat: Annotated[
        float | None,
        Quantity(
            "kW",
            0.0,
            50 * kW,
            "Heat given off by a condenser while the air conditioning runs",
            doubt=doubts.CONDENSER_HEAT,
        ),
    ] = None
    cut_out_temperature: Annotated[
        float,
        Quantity(
            "degC",
            degC(50),
            degC(100),
            "Condensing temperature at which the pressure switch stops the compressor (condenser)",
            "temperature",
            source="R134a saturated at 30 bar; a switch at 28 to 32 bar is common practice, no source",
            doubt=doubts.CONDENSER_SWITCH,
        ),
    ] = degC(86)
    shape: Annotated[AnyShape | None, Text("Shape and place of the core, for bay geometry")] = None
    title: Title = ""
