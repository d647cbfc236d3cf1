"""Unit text as loggers write it (misspelt, doubled, garbled) to SI.

Plain factors; a value in SI is `factor * (number + offset)`. Conversion factors are exact by definition
(SI brochure; international yard and pound agreement) apart from inHg and hp, which are conventional values.
Rotation counts turns, as in the units room: rpm is 1/60 s⁻¹.
"""

import difflib
import re
import unicodedata
from dataclasses import dataclass
from math import pi

import numpy as np

from heatproof.logs.reading.records import Floats


@dataclass(frozen=True)
class LogUnit:
    """A unit found in a log. `repaired` is True when the text was not a plain spelling of it."""

    text: str
    name: str
    dimension: str
    si_unit: str
    factor: float
    offset: float = 0.0
    gauge: bool = False
    repaired: bool = False

    def to_si(self, values: Floats) -> Floats:
        """Numbers in this unit to SI; same shape. What is no number stays none, without a word."""
        with np.errstate(invalid="ignore", over="ignore"):
            return self.factor * (values + self.offset)


SI_UNITS = {
    "temperature": "K",
    "pressure": "Pa",
    "rotation": "1/s",
    "speed": "m/s",
    "mass flow": "kg/s",
    "volume flow": "m^3/s",
    "share": "1",
    "ratio": "1",
    "time": "s",
    "length": "m",
    "angle": "rad",
    "voltage": "V",
    "current": "A",
    "power": "W",
    "torque": "N m",
    "acceleration": "m/s^2",
    "mass": "kg",
    "frequency": "Hz",
    "volume": "m^3",
}

LB, FT, INCH, PSI, GALLON = 0.45359237, 0.3048, 0.0254, 6894.757293168, 3.785411784e-3

# name: (dimension, factor, offset, spellings in lower case with blanks removed)
UNITS: dict[str, tuple[str, float, float, tuple[str, ...]]] = {
    "degC": (
        "temperature",
        1.0,
        273.15,
        ("°c", "c", "degc", "celsius", "deg.c", "degreec", "degreesc", "degreecelsius", "degreescelsius",
         "gradc", "gradcelsius", "℃"),
    ),
    "degF": (
        "temperature",
        5 / 9,
        459.67,
        ("°f", "f", "degf", "fahrenheit", "deg.f", "degreef", "degreesf", "degreesfahrenheit", "℉"),
    ),
    "K": ("temperature", 1.0, 0.0, ("k", "kelvin", "degk", "°k")),
    "Pa": ("pressure", 1.0, 0.0, ("pa", "pascal")),
    "hPa": ("pressure", 100.0, 0.0, ("hpa", "mbar", "mb", "millibar", "hectopascal")),
    "kPa": ("pressure", 1e3, 0.0, ("kpa", "kilopascal", "kpaa", "kpaabs", "kpa(a)")),
    "MPa": ("pressure", 1e6, 0.0, ("mpa", "megapascal")),
    "bar": ("pressure", 1e5, 0.0, ("bar", "bara", "barabs", "bar(a)", "bars")),
    "psi": ("pressure", PSI, 0.0, ("psi", "psia", "psi(a)", "lb/in2", "lbf/in2", "lb/in^2", "lb/in²",
    "psiabs")),
    "inHg": ("pressure", 3386.389, 0.0, ("inhg", "inhg.", "in.hg", '"hg')),
    "kPa gauge": ("pressure", 1e3, 0.0, ("kpag", "kpa(g)", "kpagauge", "kparel")),
    "bar gauge": ("pressure", 1e5, 0.0, ("barg", "bar(g)", "bargauge", "barrel")),
    "psi gauge": ("pressure", PSI, 0.0, ("psig", "psi(g)", "psigauge")),
    "rpm": (
        "rotation",
        1 / 60,
        0.0,
        ("rpm", "1/min", "/min", "r/min", "rev/min", "min-1", "min^-1", "min⁻¹", "u/min", "tr/min",
        "revs/min",
         "rpms"),
    ),
    "krpm": ("rotation", 1000 / 60, 0.0, ("krpm", "1000rpm", "rpmx1000", "x1000rpm")),
    "rad/s": ("rotation", 1 / (2 * pi), 0.0, ("rad/s", "rads-1")),
    "km/h": ("speed", 1 / 3.6, 0.0, ("km/h", "kmh", "kph", "kmph", "km/hr", "km\\h", "kmh-1", "km/hour")),
    "mph": ("speed", 0.44704, 0.0, ("mph", "mi/h", "miles/h", "miles/hour", "mile/h")),
    "m/s": ("speed", 1.0, 0.0, ("m/s", "ms-1", "mps", "m/sec")),
    "knot": ("speed", 1852 / 3600, 0.0, ("kn", "kt", "kts", "knot", "knots")),
    "g/s": ("mass flow", 1e-3, 0.0, ("g/s", "g/sec", "gm/s", "gm/sec", "gs-1", "gram/s", "grams/s", "gps",
    "gr/s")),
    "kg/s": ("mass flow", 1.0, 0.0, ("kg/s", "kg/sec")),
    "kg/h": ("mass flow", 1 / 3600, 0.0, ("kg/h", "kg/hr", "kgh")),
    "lb/min": ("mass flow", LB / 60, 0.0, ("lb/min", "lbs/min", "lb/m", "lbm/min", "ppm")),
    "lb/h": ("mass flow", LB / 3600, 0.0, ("lb/h", "lb/hr", "lbs/hr")),
    "L/min": ("volume flow", 1e-3 / 60, 0.0, ("l/min", "lpm", "ltr/min", "litre/min", "liter/min")),
    "L/h": ("volume flow", 1e-3 / 3600, 0.0, ("l/h", "l/hr", "lph", "litre/h", "liter/h")),
    "gal/h": ("volume flow", GALLON / 3600, 0.0, ("gal/h", "gph", "gal/hr")),
    "%": ("share", 1e-2, 0.0, ("%", "pct", "percent", "prozent", "perc", "%open", "%duty")),
    "lambda": ("ratio", 1.0, 0.0, ("lambda", "λ", "ratio", "-", "1", "none", "n/a")),
    "s": ("time", 1.0, 0.0, ("s", "sec", "secs", "second", "seconds", "sek")),
    "ms": ("time", 1e-3, 0.0, ("ms", "msec", "msecs", "millis", "milliseconds", "millisecond")),
    "us": ("time", 1e-6, 0.0, ("us", "µs", "usec", "microseconds")),
    "min": ("time", 60.0, 0.0, ("min", "minute", "minutes")),
    "h": ("time", 3600.0, 0.0, ("h", "hr", "hour", "hours", "hrs")),
    "m": ("length", 1.0, 0.0, ("m", "metre", "meter", "metres", "meters")),
    "mm": ("length", 1e-3, 0.0, ("mm",)),
    "km": ("length", 1e3, 0.0, ("km", "kilometre", "kilometer")),
    "ft": ("length", FT, 0.0, ("ft", "feet", "foot")),
    "mi": ("length", 1609.344, 0.0, ("mi", "mile", "miles")),
    "deg": ("angle", pi / 180, 0.0, ("deg", "°", "degree", "degrees", "degca", "°ca", "degbtdc", "°btdc")),
    "rad": ("angle", 1.0, 0.0, ("rad", "radian", "radians")),
    "V": ("voltage", 1.0, 0.0, ("v", "volt", "volts", "vdc")),
    "mV": ("voltage", 1e-3, 0.0, ("mv", "millivolt", "millivolts")),
    "A": ("current", 1.0, 0.0, ("a", "amp", "amps", "ampere")),
    "mA": ("current", 1e-3, 0.0, ("ma",)),
    "W": ("power", 1.0, 0.0, ("w", "watt")),
    "kW": ("power", 1e3, 0.0, ("kw", "kilowatt")),
    "hp": ("power", 745.6998715823, 0.0, ("hp", "bhp", "whp")),
    "PS": ("power", 735.49875, 0.0, ("ps", "cv", "pk")),
    "N m": ("torque", 1.0, 0.0, ("nm", "n.m", "n*m", "n·m", "newtonmetre", "newtonmeter")),
    "lbf ft": ("torque", LB * 9.80665 * FT, 0.0, ("lbft", "lb-ft", "ftlb", "ft-lb", "lb.ft", "ftlbs",
    "lbfft")),
    "m/s^2": ("acceleration", 1.0, 0.0, ("m/s2", "m/s^2", "m/s²", "m/s/s")),
    "g": ("acceleration", 9.80665, 0.0, ("g", "gforce", "gs", "gn")),
    "Hz": ("frequency", 1.0, 0.0, ("hz", "hertz")),
    "kg": ("mass", 1.0, 0.0, ("kg",)),
    "L": ("volume", 1e-3, 0.0, ("l", "litre", "liter")),
}  # fmt: skip
BY_SPELLING = {spelling: name for name, (_, _, _, words) in UNITS.items() for spelling in words}
_LONG = [word for word in BY_SPELLING if len(word) >= 5]

# A degree sign stored as UTF-8, read as Latin-1 (once or twice), or lost altogether.
_DEGREE = re.compile("Ã‚Â°|Ã\x82Â°|Â°|Âº|Â˚|º|˚|ᵒ|\\\\xb0|&deg;|ï¿½|\ufffd|\\?(?=[CcFf]\\b)")
# Written twice: degree sign and "deg" together.
_TWICE = re.compile(r"°\s*deg(?:rees?)?\.?|deg(?:rees?)?\.?\s*°|°°+", re.IGNORECASE)
_BRACKETS = str.maketrans("", "", "[]{}<>\"'")


def mend_text(text: str) -> str:
    """Column or unit text with double-encoded, replaced or odd degree and micro signs made plain."""
    text = _DEGREE.sub("°", text)
    text = text.replace("Âµ", "µ").replace("μ", "µ").replace("Â²", "²")
    return text.replace("\ufeff", "").replace("\xa0", " ").replace("\x00", "")


def parse_unit(text: str) -> LogUnit | None:
    """The unit meant by `text`; None if it names none that is known.

    Brackets, blanks and case do not matter. Doubled text ("°C °C", "[kPa](kPa)") counts once. A long word
    with a slip ("celcius") is taken as its nearest neighbour and marked `repaired`.
    """
    mended = mend_text(text)
    plain = _plain(mended)
    if not plain:
        return None
    for candidate, repaired in _candidates(plain):
        if name := BY_SPELLING.get(candidate):
            return _unit(text, name, repaired or mended != text)
    return None


def unit_named(name: str) -> LogUnit:
    """A unit by its plain name, for example "degC"; KeyError for another name."""
    return _unit(name, name, False)


def _unit(text: str, name: str, repaired: bool) -> LogUnit:
    dimension, factor, offset, _ = UNITS[name]
    return LogUnit(
        text.strip(), name, dimension, SI_UNITS[dimension], factor, offset, name.endswith("gauge"), repaired
    )


def _plain(text: str) -> str:
    text = unicodedata.normalize("NFC", text).translate(_BRACKETS)
    text = _TWICE.sub("°", text)
    text = re.sub(r"\s+", "", text).lower().strip(".,;:_")
    return text[1:-1] if text.startswith("(") and text.endswith(")") else text


def _candidates(plain: str):  # type: ignore[no-untyped-def]
    yield plain, False
    bare = plain.replace("(", "").replace(")", "")
    yield bare, True
    half = bare[: len(bare) // 2]
    if half and half * 2 == bare:
        yield half, True
    for word in re.split(r"[()\s]+", plain):
        yield word, True
    if len(plain) >= 5:
        for near in difflib.get_close_matches(plain, _LONG, n=1, cutoff=0.82):
            yield near, True
