"""The sheet: what an engineer answers about his own car and kit, from a data sheet, a tape measure and the kit itself.

One declaration a question: its field says unit, range and meaning, `Asked` says it in plain words and where to find the
answer. Reader, blank sheet, dialogue and documentation are made from it. A question with a default may stay empty; None
means that a rule fills in the figure of its class (`rules`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from pydantic import Field as Default

from heatproof.kit.fields import Field, fields_of
from heatproof.kit.records.base import Record
from heatproof.units.quantity import Quantity, Text
from heatproof.units.si import bar, cm2, degC, km_h, kW, litre, mm, percent, rpm

Layout = Literal[
    "across_exhaust_rear",
    "across_exhaust_front",
    "lengthways_turbo_high",
    "lengthways_turbo_low",
    "flat_engine",
    "mid_engine",
]
Use = Literal["town", "motorway", "hill", "tow", "pulls", "track", "dyno", "cold", "altitude"]
USES: tuple[str, ...] = get_args(Use)


@dataclass(frozen=True)
class Asked:
    """words: the question as asked; find: where the answer is; need: it must be answered."""

    words: str
    find: str


class CarSheet(Record):
    """The car as registered."""

    empty_mass: Annotated[
        float,
        Quantity("kg", 400.0, 4000.0, "Empty mass, without driver"),
        Asked("What does the car weigh empty?", "registration paper"),
    ]
    added_mass: Annotated[
        float,
        Quantity("kg", 0.0, 2000.0, "Heaviest load of people and luggage"),
        Asked("What is the heaviest load?", "registration paper: permitted mass less empty mass"),
    ] = 350.0
    trailer_mass: Annotated[
        float,
        Quantity("kg", 0.0, 5000.0, "Heaviest braked trailer; 0 where none may be drawn"),
        Asked("What is the heaviest trailer?", "registration paper"),
    ] = 0.0
    top_speed: Annotated[
        float,
        Quantity("km/h", 80 * km_h, 350 * km_h, "Top speed of the car as sold"),
        Asked("What is the top speed?", "data sheet"),
    ]
    width: Annotated[
        float,
        Quantity("m", 1.2, 2.4, "Width without mirrors"),
        Asked("How wide is the car?", "data sheet or tape"),
    ]
    height: Annotated[
        float, Quantity("m", 0.9, 2.6, "Height"), Asked("How high is the car?", "data sheet or tape")
    ]
    drag_coefficient: Annotated[
        float | None,
        Quantity("1", 0.18, 0.7, "Drag coefficient"),
        Asked("What is its drag coefficient, if known?", "data sheet; may stay empty"),
    ] = None
    tyre: Annotated[
        str,
        Text("Tyre on the driven axle, such as 185/60 R15"),
        Asked("Which tyre is on the driven axle?", "side of the tyre"),
    ]
    gears: Annotated[
        int, Text("Number of forward gears"), Asked("How many gears has it?", "gear lever or data sheet")
    ]
    engine_speed_at_100: Annotated[
        float,
        Quantity("rpm", 1000 * rpm, 6000 * rpm, "Engine speed at 100 km/h in top gear"),
        Asked("What does the rev counter say at 100 km/h in top gear?", "read it while somebody else drives"),
    ]
    driven: Annotated[
        Literal["front", "rear", "all"],
        Text("Driven axle"),
        Asked("Which axle is driven?", "data sheet"),
    ] = "front"
    automatic: Annotated[
        bool, Text("True with a torque converter"), Asked("Is the gearbox automatic?", "gear lever")
    ] = False
    on_frame: Annotated[
        bool,
        Text("True for a van, truck or off-road car on a frame"),
        Asked("Is it a van, truck or off-road car on a frame?", "look"),
    ] = False


class EngineSheet(Record):
    """The engine as sold."""

    displacement: Annotated[
        float,
        Quantity("L", 0.5 * litre, 8 * litre, "Swept volume"),
        Asked("What is its displacement?", "data sheet"),
    ]
    cylinders: Annotated[int, Text("Number of cylinders"), Asked("How many cylinders?", "data sheet")]
    bore: Annotated[
        float, Quantity("mm", 40 * mm, 150 * mm, "Bore"), Asked("What is the bore?", "data sheet")
    ]
    stroke: Annotated[
        float, Quantity("mm", 40 * mm, 160 * mm, "Stroke"), Asked("What is the stroke?", "data sheet")
    ]
    power: Annotated[
        float,
        Quantity("kW", 20 * kW, 600 * kW, "Rated power as sold"),
        Asked("What is its power?", "data sheet"),
    ]
    power_speed: Annotated[
        float,
        Quantity("rpm", 2000 * rpm, 10e3 * rpm, "Engine speed of rated power"),
        Asked("At what engine speed?", "data sheet"),
    ]
    torque: Annotated[
        float | None,
        Quantity("N*m", 30.0, 1500.0, "Highest torque as sold"),
        Asked("What is its torque?", "data sheet; may stay empty"),
    ] = None
    torque_speed: Annotated[
        float | None,
        Quantity("rpm", 1000 * rpm, 9000 * rpm, "Engine speed of that torque"),
        Asked("At what engine speed?", "data sheet; may stay empty"),
    ] = None
    compression_ratio: Annotated[
        float,
        Quantity("1", 6.0, 16.0, "Compression ratio as sold"),
        Asked("What is the compression ratio as sold?", "data sheet"),
    ]
    red_line: Annotated[
        float,
        Quantity("rpm", 2500 * rpm, 12e3 * rpm, "Highest engine speed"),
        Asked("Where does the red line begin?", "rev counter"),
    ]
    idle_speed: Annotated[
        float,
        Quantity("rpm", 400 * rpm, 1500 * rpm, "Idle speed"),
        Asked("Where does it idle, warm?", "rev counter"),
    ] = 800 * rpm
    year: Annotated[int, Text("Model year"), Asked("Which model year is it?", "registration paper")] = 2005
    block: Annotated[
        Literal["iron", "aluminium"],
        Text("Metal of the block"),
        Asked("Is the block iron or aluminium?", "a magnet tells"),
    ] = "iron"


class CoolingSheet(Record):
    """Radiator, fans, grilles, coolant, oil."""

    radiator_width: Annotated[
        float,
        Quantity("mm", 200 * mm, 1200 * mm, "Width of the radiator's fins"),
        Asked("How wide is the radiator core?", "tape, fins only"),
    ]
    radiator_height: Annotated[
        float,
        Quantity("mm", 150 * mm, 900 * mm, "Height of the radiator's fins"),
        Asked("How high?", "tape, fins only"),
    ]
    radiator_depth: Annotated[
        float,
        Quantity("mm", 12 * mm, 90 * mm, "Depth of the radiator's fins"),
        Asked("How deep?", "tape, fins only"),
    ]
    condenser_width: Annotated[
        float,
        Quantity("mm", 0.0, 1200 * mm, "Width of the air-conditioning condenser; 0 where there is none"),
        Asked("How wide is the condenser in front of it?", "tape; 0 where there is none"),
    ] = 0.0
    condenser_height: Annotated[
        float,
        Quantity("mm", 0.0, 900 * mm, "Height of the condenser"),
        Asked("How high is the condenser?", "tape"),
    ] = 0.0
    fans: Annotated[int, Text("Number of electric fans"), Asked("How many fans are there?", "look")] = 1
    fan_diameter: Annotated[
        float,
        Quantity("mm", 150 * mm, 700 * mm, "Diameter over the blades of one fan"),
        Asked("How wide are the fan's blades?", "tape"),
    ]
    fan_power: Annotated[
        float | None,
        Quantity("W", 40.0, 2000.0, "Electric power of all fans, full speed"),
        Asked("How many watts do the fans take, all together?", "label; else 7 W per ampere of the fuse"),
    ] = None
    upper_grille: Annotated[
        float,
        Quantity("cm2", 0.0, 4000 * cm2, "Open area of the upper grille"),
        Asked("How large is the open area of the upper grille?", "width × height × share that is not bars"),
    ]
    lower_grille: Annotated[
        float,
        Quantity("cm2", 0.0, 4000 * cm2, "Open area of the lower grille"),
        Asked("And of the lower one?", "width × height × share that is not bars"),
    ]
    gap: Annotated[
        float | None,
        Quantity("mm", 0.0, 60 * mm, "Gap between radiator core and frame, all round"),
        Asked("How wide is the gap between core and frame?", "folding rule; may stay empty"),
    ] = None
    hose: Annotated[
        float,
        Quantity("mm", 20 * mm, 70 * mm, "Outside diameter of the radiator hose"),
        Asked("How thick is the radiator hose outside?", "caliper"),
    ]
    coolant: Annotated[
        float | None,
        Quantity("L", 2 * litre, 40 * litre, "Coolant in all"),
        Asked("How much coolant does it hold?", "owner's book; may stay empty"),
    ] = None
    cap: Annotated[
        float,
        Quantity("bar gauge", 0.3 * bar, 3 * bar, "Pressure on the cap", "gauge"),
        Asked("Which pressure stands on the cap?", "cap"),
    ] = 1.1 * bar
    thermostat: Annotated[
        float,
        Quantity("degC", degC(60), degC(110), "Thermostat begins to open", "temperature"),
        Asked("Which temperature stands on the thermostat?", "thermostat or parts list"),
    ] = degC(84)
    oil: Annotated[
        float | None,
        Quantity("L", 1.5 * litre, 20 * litre, "Engine oil in all"),
        Asked("How much oil does it hold?", "owner's book; may stay empty"),
    ] = None
    oil_grade: Annotated[str, Text("Oil grade"), Asked("Which oil grade?", "owner's book")] = "5W-30"


class BaySheet(Record):
    """The bay as a box, and what is open below and behind it."""

    length: Annotated[
        float,
        Quantity("m", 0.4, 2.5, "From the radiator's rear face to the bulkhead"),
        Asked("How long is the bay?", "tape, radiator to bulkhead"),
    ]
    width: Annotated[
        float,
        Quantity("m", 0.6, 2.2, "Between the inner wings"),
        Asked("How wide?", "tape, between the inner wings"),
    ]
    height: Annotated[
        float,
        Quantity("m", 0.3, 1.5, "From undertray to bonnet"),
        Asked("How high?", "tape, undertray to bonnet"),
    ]
    floor: Annotated[
        float,
        Quantity("m", 0.05, 0.9, "Bay floor above the road"),
        Asked("How high is its floor above the road?", "tape"),
    ] = 0.15
    undertray: Annotated[
        Literal["none", "half", "whole"],
        Text("How much of the bay's floor is closed"),
        Asked("Is there an undertray?", "look below"),
    ] = "half"
    bonnet_vents: Annotated[
        float,
        Quantity("cm2", 0.0, 2000 * cm2, "Open area of vents in the bonnet"),
        Asked("How large are vents in the bonnet?", "paper template; 0 where there are none"),
    ] = 0.0
    tunnel_width: Annotated[
        float,
        Quantity("m", 0.15, 1.2, "Width of the tunnel"),
        Asked("How wide is the tunnel above the exhaust?", "tape"),
    ] = 0.4
    tunnel_height: Annotated[
        float, Quantity("m", 0.1, 0.6, "Height of the tunnel"), Asked("How high is it?", "tape")
    ] = 0.2


class ExhaustSheet(Record):
    """The exhaust as sold behind the head."""

    pipe: Annotated[
        float,
        Quantity("mm", 25 * mm, 120 * mm, "Outside diameter ahead of the catalyst"),
        Asked("How thick is the pipe ahead of the catalyst?", "caliper"),
    ]
    tail_pipe: Annotated[
        float | None,
        Quantity("mm", 25 * mm, 120 * mm, "Outside diameter at the tail"),
        Asked("And at the tail?", "caliper; may stay empty"),
    ] = None
    catalyst_diameter: Annotated[
        float,
        Quantity("mm", 60 * mm, 250 * mm, "Diameter of the catalyst's can"),
        Asked("How thick is the catalyst?", "tape"),
    ] = 110 * mm
    catalyst_length: Annotated[
        float,
        Quantity("mm", 80 * mm, 800 * mm, "Length of the can"),
        Asked("How long is the catalyst?", "tape"),
    ] = 260 * mm


class KitSheet(Record):
    """The kit: what it promises and what it is made of."""

    name: Annotated[str, Text("Name of the kit"), Asked("What is the kit called?", "you say")] = "Kit"
    power: Annotated[
        float,
        Quantity("kW", 20 * kW, 1000 * kW, "Power promised"),
        Asked("Which power is promised?", "your target or dyno sheet"),
    ]
    power_speed: Annotated[
        float,
        Quantity("rpm", 2000 * rpm, 12e3 * rpm, "Engine speed of that power"),
        Asked("At what engine speed?", "your target or dyno sheet"),
    ]
    boost: Annotated[
        float,
        Quantity("bar gauge", 0.05 * bar, 3.5 * bar, "Boost at full load", "gauge"),
        Asked("Which boost?", "boost gauge or controller"),
    ]
    boost_from: Annotated[
        float | None,
        Quantity("rpm", 1000 * rpm, 9000 * rpm, "Engine speed of full boost"),
        Asked("From what engine speed?", "log; may stay empty"),
    ] = None
    mixture: Annotated[
        float,
        Quantity("1", 0.65, 1.1, "Relative air/fuel ratio at full load"),
        Asked("Which λ at full load?", "calibration or wide-band probe"),
    ] = 0.85
    compression_ratio: Annotated[
        float | None,
        Quantity("1", 6.0, 16.0, "Compression ratio with the kit"),
        Asked("Which compression ratio with the kit?", "gasket or pistons; empty where unchanged"),
    ] = None
    turbine_wheel: Annotated[
        float,
        Quantity("mm", 25 * mm, 110 * mm, "Inlet diameter of the turbine wheel"),
        Asked("How wide is the turbine wheel at its inlet?", "turbo's data sheet"),
    ]
    water_cooled: Annotated[
        bool,
        Text("True where the bearing housing has a water jacket"),
        Asked("Is the turbo water-cooled?", "two water unions on it"),
    ] = True
    runner_bore: Annotated[
        float,
        Quantity("mm", 20 * mm, 90 * mm, "Bore of a manifold runner"),
        Asked("Which bore have the manifold's runners?", "caliper"),
    ]
    runner_length: Annotated[
        float,
        Quantity("mm", 50 * mm, 1500 * mm, "Mean length of a runner"),
        Asked("How long are they on average?", "string and rule"),
    ]
    manifold_metal: Annotated[
        Literal["cast_iron", "austenitic_iron", "stainless", "cast_steel"],
        Text("Metal of the manifold"),
        Asked("What is the manifold made of?", "drawing or supplier"),
    ] = "cast_iron"
    cooler: Annotated[
        Literal["none", "bar_and_plate", "tube_and_fin", "water"],
        Text("Charge cooler: its build, water (its sizes are then those of the water's radiator) or none"),
        Asked("Which build is the charge cooler?", "look: bars or tubes"),
    ] = "bar_and_plate"
    cooler_width: Annotated[
        float,
        Quantity("mm", 60 * mm, 1000 * mm, "Length of the charge's way through its core"),
        Asked("How wide is its core?", "tape"),
    ] = 550 * mm
    cooler_height: Annotated[
        float, Quantity("mm", 50 * mm, 600 * mm, "Height of its core"), Asked("How high?", "tape")
    ] = 180 * mm
    cooler_depth: Annotated[
        float, Quantity("mm", 20 * mm, 150 * mm, "Depth of its core"), Asked("How deep?", "tape")
    ] = 64 * mm
    covered: Annotated[
        float,
        Quantity("%", 0.0, 95 * percent, "Share of the radiator that stands behind it"),
        Asked("How much of the radiator does it cover?", "overlap over the radiator's face"),
    ] = 40 * percent
    pipe: Annotated[
        float,
        Quantity("mm", 25 * mm, 110 * mm, "Bore of the charge pipes"),
        Asked("Which bore have the charge pipes?", "caliper"),
    ] = 55 * mm
    hot_pipe_length: Annotated[
        float,
        Quantity("m", 0.1, 4.0, "Compressor to charge cooler"),
        Asked("How long is the hot charge pipe?", "string and rule"),
    ] = 0.7
    cold_pipe_length: Annotated[
        float,
        Quantity("m", 0.1, 4.0, "Charge cooler to throttle"),
        Asked("How long is the cold one?", "string and rule"),
    ] = 0.9
    charge_limit: Annotated[
        float,
        Quantity(
            "degC",
            degC(30),
            degC(120),
            "Highest charge temperature the calibration allows for long",
            "temperature",
        ),
        Asked("How hot may the charge be?", "calibration; common practice 60 °C, no source"),
    ] = degC(60)
    intake_limit: Annotated[
        float,
        Quantity(
            "degC",
            degC(30),
            degC(120),
            "Highest intake temperature the calibration allows for long",
            "temperature",
        ),
        Asked("How hot may the air be that goes in?", "calibration; common practice 55 °C, no source"),
    ] = degC(55)
    blanket: Annotated[
        float,
        Quantity("%", 0.0, 100 * percent, "Share of the turbine housing under a blanket"),
        Asked("How much of the turbine is under a blanket?", "look; 0 where there is none"),
    ] = 0.0
    shield: Annotated[
        float,
        Quantity(
            "cm2",
            0.0,
            5000 * cm2,
            "Area of a shield between the turbine and what is behind it; 0 where there is none",
        ),
        Asked("How large is a shield behind the turbine?", "tape; 0 where there is none"),
    ] = 0.0
    manifold_shield: Annotated[
        float,
        Quantity("%", 0.0, 100 * percent, "Share of the manifold under a pressed shield"),
        Asked("How much of the manifold is under a pressed shield?", "paper template"),
    ] = 72 * percent


Hot = Literal["turbine_housing", "exhaust_manifold", "downpipe", "catalyst"]


class Near(Record):
    """A part that looks at something hot."""

    distance: Annotated[
        float, Quantity("mm", 5 * mm, 800 * mm, "Smallest distance"), Asked("How far is it?", "tape")
    ]
    to: Annotated[Hot, Text("What it looks at"), Asked("From what?", "look")] = "turbine_housing"
    shielded: Annotated[
        bool, Text("True behind the kit's shield"), Asked("Is it behind the shield?", "look")
    ] = False
    limit: Annotated[
        float | None,
        Quantity("degC", degC(40), degC(400), "Its limit, where it carries a marking", "temperature"),
        Asked("Does a temperature stand on it?", "print on a hose or cable; may stay empty"),
    ] = None
    sleeve: Annotated[
        bool, Text("True under a reflective sleeve"), Asked("Is there a sleeve on it?", "look")
    ] = False


class Sheet(Record):
    """All answers about one car and its kit."""

    format: Annotated[Literal["heatproof sheet 1"], Text("What the file is")] = "heatproof sheet 1"
    name: Annotated[str, Text("Name of the car"), Asked("What do you call the car?", "you say")]
    layout: Annotated[
        Layout,
        Text("Where the engine stands and which side its exhaust is"),
        Asked(
            "How does the engine stand, and where is the turbo?",
            "look; `heatproof new --layouts` describes the six",
        ),
    ]
    car: Annotated[CarSheet, Text("The car as registered")]
    engine: Annotated[EngineSheet, Text("The engine as sold")]
    cooling: Annotated[CoolingSheet, Text("Radiator, fans, grilles, coolant, oil")]
    bay: Annotated[BaySheet, Text("The bay as a box")]
    exhaust: Annotated[ExhaustSheet, Text("The exhaust as sold")]
    kit: Annotated[KitSheet, Text("The kit")]
    near: Annotated[
        dict[str, Near], Text("Parts within 300 mm of turbine, manifold or downpipe, by kind of part")
    ] = Default(default_factory=dict)
    uses: Annotated[
        tuple[str, ...],
        Text("What it is sold for: " + ", ".join(USES)),
        Asked("What is the kit sold for?", "you say"),
    ] = ("town", "motorway", "hill", "pulls")
    hottest_day: Annotated[
        float,
        Quantity("degC", degC(-10), degC(60), "Hottest day it is sold for", "temperature"),
        Asked("Which is the hottest day it is sold for?", "you say"),
    ] = degC(38)


@dataclass(frozen=True)
class Question:
    """One question: its place in the sheet, its field, how it is asked."""

    path: str
    field: Field
    asked: Asked


def questions(record: type[Record] = Sheet, path: str = "") -> Iterator[Question]:
    """All questions in the order asked."""
    for key, field in fields_of(record).items():
        here = f"{path}.{key}" if path else key
        metadata = record.model_fields[field.name].metadata
        asked = next((item for item in metadata if isinstance(item, Asked)), None)
        if field.shape == "record":
            yield from questions(field.classes[0], here)
        elif asked is not None:
            yield Question(here, field, asked)
