"""Numbers in the reader's units: metric as in the trade, or US customary. SI in, text out."""

import re
from dataclasses import dataclass, replace
from math import floor, log10
from typing import Literal

import numpy as np

from heatproof.kit.findings import Finding
from heatproof.units.grammar import unit
from heatproof.units.quantity import Amount
from heatproof.units.table import BTU, FOOT, GALLON, INCH, MILE, POUND
from heatproof.verdict.words import ZERO_C, margin_digits, number

System = Literal["metric", "us"]
SYSTEMS: tuple[System, ...] = ("metric", "us")
PSI = POUND * 9.80665 / INCH**2
HORSEPOWER = 550 * FOOT * POUND * 9.80665
FAHRENHEIT = 1.8
TO_US = {
    "degC": "degF",
    "mm": "in",
    "m": "ft",
    "cm2": "in2",
    "m2": "ft2",
    "kW": "hp",
    "kJ": "BTU",
    "bar": "psi",
    "kPa": "psi",
    "kg": "lb",
    "kg/s": "lb/min",
    "km/h": "mph",
    "L/min": "gal/min",
}
"""Declared unit to the one shown to a reader of US units; others stay."""


@dataclass(frozen=True)
class ReaderUnits:
    """One reader's units. A difference of temperatures is K, or F° where degrees Fahrenheit are read."""

    system: System = "metric"

    @property
    def us(self) -> bool:
        return self.system == "us"

    @property
    def paper(self) -> str:
        return "us-letter" if self.us else "a4"

    def value(self, kelvin: float) -> float:
        """Number of a temperature."""
        celsius = kelvin - ZERO_C
        return celsius * FAHRENHEIT + 32.0 if self.us else celsius

    @property
    def degree(self) -> str:
        return "°F" if self.us else "°C"

    @property
    def step(self) -> str:
        """Unit of a difference."""
        return "F°" if self.us else "K"

    def difference_value(self, kelvin: float) -> float:
        """Number of a difference."""
        return kelvin * FAHRENHEIT if self.us else kelvin

    def temperature(self, kelvin: float, digits: int = 0) -> str:
        """`131 °C`, `268 °F`."""
        return f"{number(self.value(kelvin), digits)} {self.degree}"

    def difference(self, kelvin: float, digits: int = 0) -> str:
        """`+13 K`; zero has no sign."""
        shown = number(self.difference_value(kelvin), digits)
        sign = "" if kelvin <= 0.0 or not shown.strip("0.") else "+"
        return f"{sign}{shown} {self.step}"

    def margin(self, kelvin: float, half: float | None) -> str:
        """`−6 ± 8 K`."""
        margin, spread = self.difference_value(kelvin), self.difference_value(half or 0.0)
        digits = margin_digits(margin, None if half is None else spread)
        signed = self.difference(kelvin, digits).removesuffix(f" {self.step}")
        return f"{signed} {self.step}" if half is None else f"{signed} ± {number(spread, digits)} {self.step}"

    def rounded_down(self, kelvin: float) -> float:
        """K of the whole degree below: what a rating is rounded to."""
        shown = float(np.floor(self.value(kelvin) + 1e-6))
        return (shown - 32.0) / FAHRENHEIT + ZERO_C if self.us else shown + ZERO_C

    def power(self, watts: float) -> str:
        """`160 kW`, `215 hp`."""
        value, unit = (watts / HORSEPOWER, "hp") if self.us else (watts / 1e3, "kW")
        return f"{number(value, 0 if abs(value) >= 10.0 else 1)} {unit}"

    def heat(self, watts: float) -> str:
        """`19 kW`, `1080 BTU/min`."""
        return f"{number(watts / BTU * 60.0)} BTU/min" if self.us else self.power(watts)

    def pressure(self, pascals: float, digits: int = 2) -> str:
        """`0.90 bar`, `13.1 psi`."""
        if self.us:
            return f"{number(pascals / PSI, max(digits - 1, 0))} psi"
        return f"{number(pascals / 1e5, digits)} bar"

    def small_pressure(self, pascals: float) -> str:
        """`8.0 kPa`, `1.2 psi`."""
        return f"{number(pascals / PSI, 2)} psi" if self.us else f"{number(pascals / 1e3, 1)} kPa"

    def length(self, metres: float) -> str:
        """`40 mm`, `1.57 in`."""
        return f"{number(metres / INCH, 2)} in" if self.us else f"{number(metres * 1e3, 0)} mm"

    def thickness(self, metres: float) -> str:
        """`2.5 mm`, `0.098 in`."""
        if self.us:
            return f"{number(metres / INCH, 3)} in"
        return f"{number(metres * 1e3, 0 if metres >= 9.5e-3 else 1)} mm"

    def height(self, metres: float) -> str:
        """`0.54 m`, `21.3 in`."""
        return f"{number(metres / INCH, 1)} in" if self.us else f"{number(metres, 2)} m"

    def area(self, square_metres: float) -> str:
        """`15 cm²`, `2.3 in²`."""
        if self.us:
            return f"{number(square_metres / INCH**2, 1)} in²"
        cm2 = square_metres * 1e4
        return f"{number(cm2, 1 if cm2 < 10.0 else 0)} cm²"

    def mass(self, kilograms: float) -> str:
        """`19.0 kg`, `41.9 lb`."""
        return f"{number(kilograms / POUND, 1)} lb" if self.us else f"{number(kilograms, 1)} kg"

    def mass_flow(self, kg_s: float) -> str:
        """`0.14 kg/s`, `18.5 lb/min`."""
        if self.us:
            return f"{number(kg_s / POUND * 60.0, 1)} lb/min"
        return f"{number(kg_s, 2 if abs(kg_s) >= 0.095 else 3)} kg/s"

    def volume_flow(self, m3_s: float) -> str:
        """`6.2 L/min`, `1.6 gal/min`."""
        value, unit = (m3_s / GALLON * 60.0, "gal/min") if self.us else (m3_s * 60e3, "L/min")
        return f"{number(value, 0 if abs(value) >= 10 else 1 if abs(value) >= 1 else 2)} {unit}"

    def volume(self, m3: float) -> str:
        """`0.90 L`, `0.95 qt`."""
        return f"{number(m3 / (GALLON / 4), 1)} qt" if self.us else f"{number(m3 * 1e3, 1)} L"

    def speed(self, m_s: float) -> str:
        """`120 km/h`, `75 mph`."""
        return f"{number(m_s * 3600 / MILE)} mph" if self.us else f"{number(m_s * 3.6)} km/h"

    # --- sentences ------------------------------------------------------------------------------------------
    def amount(self, one: Amount) -> str:
        """As it stands in its sentence, or three significant digits of the US unit."""
        bare = bare_unit(one.unit)
        if not self.us or bare not in {"°C", "K", *TO_US}:
            return one.text
        if bare == "°C":
            return self.temperature(one.value)
        if bare == "degC":
            return f"{significant(self.value(one.value))} degF"
        if bare == "K":
            return f"{significant(self.difference_value(one.value))} {self.step}"
        word = one.unit.removeprefix(bare)
        return f"{significant(one.value / unit(TO_US[bare])[0])} {TO_US[bare]}{word}"

    def told(self, finding: Finding) -> Finding:
        """The finding with its amounts in the reader's units."""
        if not self.us or not finding.amounts:
            return finding
        said = {one.text: self.amount(one) for one in finding.amounts}
        longest_first = sorted(map(re.escape, said), key=len, reverse=True)
        found = re.compile(rf"(?<![\d.,])(?:{'|'.join(longest_first)})(?!\w)")

        def again(text: str) -> str:
            return found.sub(lambda match: said[match[0]], text)

        return replace(
            finding,
            what=again(finding.what),
            got=again(finding.got),
            allowed=again(finding.allowed),
            next_step=again(finding.next_step),
        )


def significant(value: float) -> str:
    """Three significant digits, whole from a hundred on."""
    digits = 2 - floor(log10(abs(value))) if value else 0
    return number(value, max(digits, 0))


def bare_unit(declared: str) -> str:
    """Without the word gauge or absolute."""
    return declared.removesuffix(" gauge").removesuffix(" absolute")
