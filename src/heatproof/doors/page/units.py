"""The reader's units of one request: `?units=us`, else metric. Views turn SI into them; the page only draws.

Temperatures, their differences, lengths, power, pressures, masses, flows and speeds follow the choice. Files keep
the units they are written in.
"""

from contextvars import ContextVar
from typing import Any

from heatproof.kit.fields import range_words
from heatproof.kit.findings import Finding
from heatproof.report.reader_units import PSI, SYSTEMS, TO_US, ReaderUnits, bare_unit
from heatproof.units.quantity import Quantity
from heatproof.units.results import plain
from heatproof.units.show import display, show
from heatproof.units.table import GALLON, INCH, MILE, POUND
from heatproof.verdict.words import ZERO_C, number

INCH_OF_WATER = 249.0889  # Pa, conventional value (NIST SP 811)
PLAIN = ReaderUnits()
_CHOSEN: ContextVar[ReaderUnits] = ContextVar("reader_units", default=PLAIN)


def choose_units(name: str | None) -> None:
    """Sets the units of this request; an unknown name leaves metric."""
    _CHOSEN.set(ReaderUnits(name) if name in SYSTEMS else ReaderUnits())


def reader() -> ReaderUnits:
    """Of this request."""
    return _CHOSEN.get()


def T(kelvin: Any) -> Any:
    """Number of a temperature to draw; float or array."""
    return reader().value(kelvin)


def T_text(kelvin: float, digits: int = 0) -> str:
    """Bare figure of a temperature."""
    return number(T(kelvin), digits)


def dT(kelvin: float) -> float:
    """Number of a difference of temperatures."""
    return reader().difference_value(kelvin)


def dT_text(kelvin: float, digits: int = 0) -> str:
    """Signed figure without its unit; zero has no sign."""
    return reader().difference(kelvin, digits).removesuffix(f" {reader().step}")


def air_pressure(pascals: float) -> float:
    """Number: Pa, or inches of water."""
    return pascals / INCH_OF_WATER if reader().us else pascals


def flow_number(kg_s: float) -> float:
    """Number of a mass flow: kg/s, or lb/min."""
    return kg_s / POUND * 60.0 if reader().us else kg_s


def flow_text(kg_s: float) -> str:
    """Bare figure of a mass flow."""
    return reader().mass_flow(kg_s).rpartition(" ")[0]


def volume_flow(m3_s: float) -> float:
    """Number: L/min, or US gal/min."""
    return m3_s / GALLON * 60.0 if reader().us else m3_s * 60e3


def height(metres: float) -> float:
    """Number: mm, or inches."""
    return metres / INCH if reader().us else metres * 1e3


def speed(m_s: Any) -> Any:
    """Number: km/h, or mph; float or array."""
    return m_s * 3600.0 / MILE if reader().us else m_s * 3.6


def mass(kilograms: float) -> float:
    """Number: kg, or lb."""
    return kilograms / POUND if reader().us else kilograms


def words() -> dict[str, Any]:
    """What the page writes beside numbers; value = scale · °C + offset."""
    us = reader().us
    return {
        "system": reader().system,
        "degree": reader().degree,
        "step": reader().step,
        "scale": 1.8 if us else 1.0,
        "offset": 32.0 if us else 0.0,
        "power": "hp" if us else "kW",
        "mass": "lb" if us else "kg",
        "mass_flow": "lb/min" if us else "kg/s",
        "air_pressure": "inH2O" if us else "Pa",
        "height": "in" if us else "mm",
        "speed": "mph" if us else "km/h",
    }


def scale_of(low: float, high: float) -> dict[str, float]:
    """Ends of a colour scale given in °C, in the reader's degrees."""
    return {"low": T(low + ZERO_C), "high": T(high + ZERO_C)}


def finding_view(finding: Finding) -> dict[str, Any]:
    """A finding as data, its amounts in the reader's units."""
    return plain(reader().told(finding))


# --- values in files ----------------------------------------------------------------------------------------
def form_text(value: float, quantity: Quantity, currency: str) -> str:
    """A value as a form shows it; metric reads back to the same float, US units are rounded for the eye."""
    unit = TO_US.get(bare_unit(quantity.unit)) if reader().us else None
    if unit is None or quantity.kind == "money":
        return show(value, quantity, currency=currency)
    return display(value, quantity, 6, unit).replace("−", "-")


def form_range(quantity: Quantity) -> str:
    """Allowed range in the unit of the form."""
    unit = TO_US.get(bare_unit(quantity.unit)) if reader().us else None
    if unit is None or quantity.kind == "money":
        return range_words(quantity)
    return f"{display(quantity.low, quantity, 3, unit)} to {display(quantity.high, quantity, 3, unit)}"


# --- channels of a log --------------------------------------------------------------------------------------
Shown = tuple[str, float, float]
SHOWN_METRIC: dict[str, Shown] = {
    "K": ("°C", 1.0, -ZERO_C),
    "Pa": ("kPa", 1e-3, 0.0),
    "1/s": ("rpm", 60.0, 0.0),
    "m/s": ("km/h", 3.6, 0.0),
    "kg/s": ("g/s", 1e3, 0.0),
    "m^3/s": ("L/min", 60e3, 0.0),
    "W": ("kW", 1e-3, 0.0),
}
SHOWN_US: dict[str, Shown] = {
    "K": ("°F", 1.8, 32.0 - 1.8 * ZERO_C),
    "Pa": ("psi", 1.0 / PSI, 0.0),
    "1/s": ("rpm", 60.0, 0.0),
    "m/s": ("mph", 3600.0 / MILE, 0.0),
    "kg/s": ("lb/min", 60.0 / POUND, 0.0),
    "m^3/s": ("gal/min", 60.0 / GALLON, 0.0),
    "m": ("ft", 1.0 / (12.0 * INCH), 0.0),
}


def channel_unit(si_unit: str) -> Shown:
    """Label, factor and offset in which a channel of a log is shown: value = factor · SI + offset."""
    return (SHOWN_US if reader().us else SHOWN_METRIC).get(
        si_unit, ("" if si_unit == "1" else si_unit, 1.0, 0.0)
    )
