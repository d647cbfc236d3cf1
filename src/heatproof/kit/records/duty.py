"""A duty: one hard use over time."""

from typing import Annotated, Literal

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Note, Record
from heatproof.units.quantity import Quantity, Text
from heatproof.units.si import degC, hour, km_h, kPa, kW, percent, rpm

SPEED = Quantity("km/h", 0.0, 450 * km_h, "Road speed", doubt=doubts.EXACT)
DURATION = Quantity("min", 1.0, 24 * hour, "How long", doubt=doubts.EXACT)
GEAR = Text("Gear, first is 1; the highest that gives the power where left out")
ADDED_MASS = Quantity("kg", 0.0, 50e3, "Load and trailer beyond the car's mass", doubt=doubts.EXACT)


class Weather(Record):
    """Air temperature, pressure, humidity, wind and sun of the day."""

    ambient: Annotated[
        float, Quantity("degC", degC(-40), degC(60), "Ambient air", "temperature", doubt=doubts.EXACT)
    ]
    altitude: Annotated[
        float,
        Quantity(
            "m", -430.0, 6000.0, "Altitude; sets the pressure of the standard atmosphere", doubt=doubts.EXACT
        ),
    ] = 0.0
    pressure: Annotated[
        float | None,
        Quantity(
            "kPa absolute",
            40 * kPa,
            110 * kPa,
            "Air pressure, in place of the altitude's",
            "absolute",
            doubt=doubts.EXACT,
        ),
    ] = None
    humidity: Annotated[float, Quantity("%", 0.0, 100 * percent, "Relative humidity", doubt=doubts.EXACT)] = (
        40 * percent
    )
    sun: Annotated[
        float, Quantity("W/m2", 0.0, 1400.0, "Sunshine on a level surface", doubt=doubts.EXACT)
    ] = 0.0
    wind: Annotated[
        float, Quantity("km/h", -100 * km_h, 100 * km_h, "Head wind; also felt standing", doubt=doubts.EXACT)
    ] = 0.0


class Start(Record):
    """State before the drive: held cruise from which it starts warm, or a soaked car where `cold`."""

    speed: Annotated[float, SPEED] = 60 * km_h
    settle: Annotated[
        float, Quantity("min", 0.0, 24 * hour, "How long that cruise is held", doubt=doubts.EXACT)
    ] = 900.0
    cold: Annotated[bool, Text("True where everything starts at ambient")] = False


class Cruise(Record):
    """Constant speed on the level."""

    kind: Annotated[Literal["cruise"], Text("constant speed")] = "cruise"
    speed: Annotated[float, SPEED]
    duration: Annotated[float, DURATION]
    gear: Annotated[int | None, GEAR] = None
    added_mass: Annotated[float, ADDED_MASS] = 0.0


class Grade(Record):
    """Constant speed up a grade."""

    kind: Annotated[Literal["grade"], Text("constant speed up a grade")] = "grade"
    speed: Annotated[float, SPEED]
    grade: Annotated[
        float, Quantity("%", -40 * percent, 40 * percent, "Rise over horizontal distance", doubt=doubts.EXACT)
    ]
    duration: Annotated[float, DURATION]
    gear: Annotated[int | None, GEAR] = None
    added_mass: Annotated[float, ADDED_MASS] = 0.0


class Crawl(Record):
    """Stop and go in town: the same short run and halt, again and again."""

    kind: Annotated[Literal["crawl"], Text("stop and go")] = "crawl"
    speed: Annotated[float, Quantity("km/h", 1 * km_h, 80 * km_h, "Speed while moving", doubt=doubts.EXACT)]
    moving: Annotated[float, Quantity("s", 1.0, hour, "Time moving", doubt=doubts.EXACT)]
    standing: Annotated[float, Quantity("s", 0.0, hour, "Time standing", doubt=doubts.EXACT)]
    duration: Annotated[float, DURATION]
    added_mass: Annotated[float, ADDED_MASS] = 0.0


class Pulls(Record):
    """Full-load pulls in one gear, with rests at a steady speed between."""

    kind: Annotated[Literal["pulls"], Text("full-load pulls")] = "pulls"
    gear: Annotated[int, GEAR]
    from_speed: Annotated[
        float,
        Quantity("rpm", 300 * rpm, 20e3 * rpm, "Engine speed at the start of a pull", doubt=doubts.EXACT),
    ]
    to_speed: Annotated[
        float, Quantity("rpm", 300 * rpm, 20e3 * rpm, "Engine speed at its end", doubt=doubts.EXACT)
    ]
    rest: Annotated[float, Quantity("s", 0.0, hour, "Time between pulls", doubt=doubts.EXACT)]
    rest_speed: Annotated[float, SPEED]
    count: Annotated[int, Text("Number of pulls")]
    added_mass: Annotated[float, ADDED_MASS] = 0.0


class Stretch(Record):
    """A piece of a lap: `straight`, or a corner of `radius` and `length`."""

    straight: Annotated[
        float | None, Quantity("m", 1.0, 20e3, "Length of a straight", doubt=doubts.EXACT)
    ] = None
    radius: Annotated[
        float | None, Quantity("m", 3.0, 5e3, "Radius of a corner's line", doubt=doubts.EXACT)
    ] = None
    length: Annotated[
        float | None, Quantity("m", 1.0, 20e3, "Length of the corner's line", doubt=doubts.EXACT)
    ] = None
    grade: Annotated[
        float, Quantity("%", -40 * percent, 40 * percent, "Rise over horizontal distance", doubt=doubts.EXACT)
    ] = 0.0


class Lap(Record):
    """Laps driven as fast as power and grip allow."""

    kind: Annotated[Literal["lap"], Text("laps at the limit of power and grip")] = "lap"
    duration: Annotated[float, DURATION]
    lap: Annotated[tuple[Stretch, ...], Text("The circuit, stretch by stretch")]
    added_mass: Annotated[float, ADDED_MASS] = 0.0


class Schedule(Record):
    """An official speed schedule."""

    kind: Annotated[Literal["schedule"], Text("an official speed schedule")] = "schedule"
    name: Annotated[Literal["wltc_3b", "udds", "us06", "hwfet"], Text("Which schedule")]
    repeat: Annotated[int, Text("How many times in a row")] = 1
    added_mass: Annotated[float, ADDED_MASS] = 0.0


class Trace(Record):
    """Speed over time: lists here, or columns of a CSV `file` (`time [s]`, `speed [km/h]`, ...)."""

    kind: Annotated[Literal["trace"], Text("speed over time")] = "trace"
    file: Annotated[str | None, Text("CSV file, relative to the project folder")] = None
    time: Annotated[tuple[float, ...], Quantity("s", 0.0, 48 * hour, "Time, rising", doubt=doubts.EXACT)] = ()
    speed: Annotated[tuple[float, ...], SPEED] = ()
    grade: Annotated[
        tuple[float, ...],
        Quantity("%", -40 * percent, 40 * percent, "Rise over horizontal distance", doubt=doubts.EXACT),
    ] = ()
    engine_speed: Annotated[
        tuple[float, ...],
        Quantity("rpm", 0.0, 20e3 * rpm, "Engine speed; from gearing where left out", doubt=doubts.EXACT),
    ] = ()
    power: Annotated[
        tuple[float, ...],
        Quantity(
            "kW",
            -500 * kW,
            2e3 * kW,
            "Engine power at the crank; from the road load where left out",
            doubt=doubts.EXACT,
        ),
    ] = ()
    added_mass: Annotated[float, ADDED_MASS] = 0.0


Drive = Cruise | Grade | Crawl | Pulls | Lap | Schedule | Trace


class Duty(Record):
    """One hard use: the day, a warm start, a drive, then key-off and soak (none where `soak` is 0 s)."""

    format: Annotated[Literal["heatproof duty 1"], Text("What the file is")] = "heatproof duty 1"
    name: Annotated[str, Text("Name shown to people")]
    use: Annotated[
        str, Text("Which use it stands for, e.g. street, grade, track; ratings are given by use")
    ] = "street"
    note: Note = ""
    air: Annotated[Weather, Text("The day")]
    air_conditioning: Annotated[bool, Text("True where the air conditioning runs")] = False
    start: Annotated[Start, Text("State before the drive")] = Start()
    drive: Annotated[Drive, Text("The drive")]
    idle_before_key_off: Annotated[
        float, Quantity("s", 0.0, hour, "Idle between drive and key-off", doubt=doubts.EXACT)
    ] = 0.0
    soak: Annotated[float, Quantity("min", 0.0, 24 * hour, "Standing after key-off", doubt=doubts.EXACT)] = (
        0.0
    )
