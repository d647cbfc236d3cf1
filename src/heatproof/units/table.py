"""Units people write, as exact factors to SI.

Factors are exact by definition (SI brochure, 9th edition; the 1959 international yard and pound; NIST SP 811
appendix B), except `inHg`, `mmHg`, `inH2O` and `mmH2O` (conventional values, NIST SP 811) and `BTU` and `cal`
(International Table values, NIST SP 811).
"""

from math import pi

# Powers of length, mass, time, temperature, current, angle. Rotation counts turns: rpm is 1/s, rad/s is not.
Dimension = tuple[int, int, int, int, int, int]
NONE: Dimension = (0, 0, 0, 0, 0, 0)
LENGTH: Dimension = (1, 0, 0, 0, 0, 0)
AREA: Dimension = (2, 0, 0, 0, 0, 0)
VOLUME: Dimension = (3, 0, 0, 0, 0, 0)
MASS: Dimension = (0, 1, 0, 0, 0, 0)
TIME: Dimension = (0, 0, 1, 0, 0, 0)
RATE: Dimension = (0, 0, -1, 0, 0, 0)
KELVIN: Dimension = (0, 0, 0, 1, 0, 0)
AMPERE: Dimension = (0, 0, 0, 0, 1, 0)
ANGLE: Dimension = (0, 0, 0, 0, 0, 1)
SPEED: Dimension = (1, 0, -1, 0, 0, 0)
FLOW: Dimension = (3, 0, -1, 0, 0, 0)
FORCE: Dimension = (1, 1, -2, 0, 0, 0)
PRESSURE: Dimension = (-1, 1, -2, 0, 0, 0)
ENERGY: Dimension = (2, 1, -2, 0, 0, 0)
POWER: Dimension = (2, 1, -3, 0, 0, 0)
VOLT: Dimension = (2, 1, -3, 0, -1, 0)

INCH, FOOT, MILE, POUND, GALLON = 0.0254, 0.3048, 1609.344, 0.45359237, 3.785411784e-3
GRAVITY = 9.80665
POUND_FORCE = POUND * GRAVITY
BTU = 1055.05585262

# name: (factor, dimension); names that take a prefix (kilo, milli ...) come first.
PREFIXED: dict[str, tuple[float, Dimension]] = {
    "m": (1.0, LENGTH),
    "g": (1e-3, MASS),
    "s": (1.0, TIME),
    "K": (1.0, KELVIN),
    "A": (1.0, AMPERE),
    "rad": (1.0, ANGLE),
    "L": (1e-3, VOLUME),
    "l": (1e-3, VOLUME),
    "Hz": (1.0, RATE),
    "N": (1.0, FORCE),
    "Pa": (1.0, PRESSURE),
    "bar": (1e5, PRESSURE),
    "J": (1.0, ENERGY),
    "Wh": (3600.0, ENERGY),
    "cal": (4.1868, ENERGY),
    "W": (1.0, POWER),
    "V": (1.0, VOLT),
}
PREFIXES = {
    "p": 1e-12,
    "n": 1e-9,
    "u": 1e-6,
    "µ": 1e-6,
    "μ": 1e-6,
    "m": 1e-3,
    "c": 1e-2,
    "d": 1e-1,
    "h": 1e2,
    "k": 1e3,
    "M": 1e6,
    "G": 1e9,
}
PLAIN: dict[str, tuple[float, Dimension]] = {
    "1": (1.0, NONE),
    "%": (1e-2, NONE),
    "percent": (1e-2, NONE),
    "rev": (1.0, NONE),
    "deg": (pi / 180, ANGLE),
    "°": (pi / 180, ANGLE),
    "in": (INCH, LENGTH),
    "inch": (INCH, LENGTH),
    "ft": (FOOT, LENGTH),
    "mi": (MILE, LENGTH),
    "lb": (POUND, MASS),
    "lbm": (POUND, MASS),
    "oz": (POUND / 16, MASS),
    "t": (1e3, MASS),
    "sec": (1.0, TIME),
    "min": (60.0, TIME),
    "h": (3600.0, TIME),
    "hr": (3600.0, TIME),
    "rpm": (1 / 60, RATE),
    "krpm": (1000 / 60, RATE),
    "kph": (1 / 3.6, SPEED),
    "kmh": (1 / 3.6, SPEED),
    "mph": (MILE / 3600, SPEED),
    "kn": (1852 / 3600, SPEED),
    "cc": (1e-6, VOLUME),
    "ccm": (1e-6, VOLUME),
    "gal": (GALLON, VOLUME),
    "qt": (GALLON / 4, VOLUME),
    "cfm": (FOOT**3 / 60, FLOW),
    "lpm": (1e-3 / 60, FLOW),
    "gpm": (GALLON / 60, FLOW),
    "lbf": (POUND_FORCE, FORCE),
    "psi": (POUND_FORCE / INCH**2, PRESSURE),
    "atm": (101325.0, PRESSURE),
    "inHg": (3386.389, PRESSURE),
    "mmHg": (133.3224, PRESSURE),
    "inH2O": (249.0889, PRESSURE),
    "mmH2O": (9.80665, PRESSURE),
    "BTU": (BTU, ENERGY),
    "Btu": (BTU, ENERGY),
    "hp": (550 * FOOT * POUND_FORCE, POWER),
    "PS": (75 * GRAVITY, POWER),
    # Inside a compound unit a degree is a difference: W/m2/degC, BTU/h/degF.
    "degC": (1.0, KELVIN),
    "°C": (1.0, KELVIN),
    "℃": (1.0, KELVIN),
    "degF": (5 / 9, KELVIN),
    "°F": (5 / 9, KELVIN),
    "℉": (5 / 9, KELVIN),
}
# (factor, zero of the scale in SI): kelvin = factor * (number + offset)
SCALES = {
    "degC": (1.0, 273.15),
    "°C": (1.0, 273.15),
    "℃": (1.0, 273.15),
    "degF": (5 / 9, 459.67),
    "°F": (5 / 9, 459.67),
    "℉": (5 / 9, 459.67),
}
# Pressure units with the word built in.
WORDED = {
    "barg": ("bar", "gauge"),
    "bara": ("bar", "absolute"),
    "psig": ("psi", "gauge"),
    "psia": ("psi", "absolute"),
    "bar(g)": ("bar", "gauge"),
    "bar(a)": ("bar", "absolute"),
    "psi(g)": ("psi", "gauge"),
    "psi(a)": ("psi", "absolute"),
    "kPa(g)": ("kPa", "gauge"),
    "kPa(a)": ("kPa", "absolute"),
}

DIMENSION_NAMES: dict[Dimension, str] = {
    NONE: "a plain number or share",
    LENGTH: "a length",
    AREA: "an area",
    VOLUME: "a volume",
    MASS: "a mass",
    TIME: "a time",
    RATE: "a rotational speed or rate",
    KELVIN: "a temperature difference",
    ANGLE: "an angle",
    SPEED: "a speed",
    FLOW: "a volume flow",
    (0, 1, -1, 0, 0, 0): "a mass flow",
    FORCE: "a force",
    PRESSURE: "a pressure",
    ENERGY: "an energy",
    POWER: "a power",
    (2, 1, -3, -1, 0, 0): "a heat flow per kelvin",
    (0, 1, -3, -1, 0, 0): "a heat transfer coefficient",
    (1, 1, -3, -1, 0, 0): "a conductivity",
    (0, 1, -3, 0, 0, 0): "a heat flow per area",
    (2, 1, -2, -1, 0, 0): "a heat capacity",
    (2, 0, -2, -1, 0, 0): "a specific heat",
    (2, 0, -2, 0, 0, 0): "an energy per mass",
    (2, 1, 0, 0, 0, 0): "a moment of inertia",
    (-3, 1, 0, 0, 0, 0): "a density",
    (0, 0, 0, 0, 0, 1): "an angle",
    (0, 0, -1, 0, 0, 1): "an angular speed in radians",
}
