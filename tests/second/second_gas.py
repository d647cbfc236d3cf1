"""Burned gas and air for the second solution.

Burned gas: the coefficients of the fitted table (media/data/exhaust.csv, Cantera) are taken as data; evaluation,
integral and inverse are written here. Air: viscosity by CoolProp for flow laws, Sutherland's formulas for films.
"""

import csv
from functools import lru_cache
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.interpolate import CubicSpline

import heatproof

R = 287.05  # J/kg/K, dry air
STOICHIOMETRIC = 14.6
ZERO = 298.15  # K, zero of sensible enthalpy


def _table() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Property → (abscissa, rows of coefficients of T/1000); the gas constant as a property of one coefficient."""
    path = Path(heatproof.__file__).parent / "media" / "data" / "exhaust.csv"
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    found: dict[str, list[tuple[float, list[float]]]] = {}
    for row in csv.DictReader(lines):
        x = 2.0 if row["lambda"] == "air" else abscissa(float(row["lambda"]))
        found.setdefault(row["property"], []).append((x, [float(row[f"c{i}"]) for i in range(6)]))
        if row["property"] == "cp":
            found.setdefault("R", []).append((x, [float(row["gas_constant"])]))
    return {
        name: (np.array([x for x, _ in rows]), np.array([c for _, c in rows])) for name, rows in found.items()
    }


def abscissa(mixture: float) -> float:
    """Linear interpolation runs over the mixture where rich, over 1 + share of surplus air where lean."""
    if mixture <= 1.0:
        return max(mixture, 0.75)
    return 1.0 + (mixture - 1.0) * STOICHIOMETRIC / (1.0 + mixture * STOICHIOMETRIC)


TABLE = _table()


class BurnedGas:
    """Gas of one mixture."""

    def __init__(self, mixture: float) -> None:
        self.c = {name: self._coefficients(name, mixture) for name in TABLE}
        self.R = float(self.c["R"][0])
        c = self.c["cp"]
        self.h_coefficients = [0.0, *(1e3 * c[k] / (k + 1) for k in range(6))]

    @staticmethod
    def _coefficients(name: str, mixture: float) -> list[float]:
        x, rows = TABLE[name]
        return [float(np.interp(abscissa(mixture), x, rows[:, k])) for k in range(rows.shape[1])]

    @staticmethod
    def _polynomial(c: list[float], T: float) -> float:
        s, total = 1e-3 * min(max(T, 250.0), 1500.0), 0.0
        for a in reversed(c):
            total = total * s + a
        return total

    def cp(self, T: float) -> float:
        return self._polynomial(self.c["cp"], T)

    def viscosity(self, T: float) -> float:
        return self._polynomial(self.c["viscosity"], T)

    def conductivity(self, T: float) -> float:
        return self._polynomial(self.c["conductivity"], T)

    def gamma(self, T: float) -> float:
        return self.cp(T) / (self.cp(T) - self.R)

    def enthalpy(self, T: float) -> float:
        """J/kg over 298.15 K: integral of cp, cp held beyond 250 and 1500 K."""
        held = min(max(T, 250.0), 1500.0)
        inside = self._polynomial(self.h_coefficients, held) - self._polynomial(self.h_coefficients, ZERO)
        return inside + self.cp(held) * (T - held)

    def temperature(self, h: float, guess: float = 1000.0) -> float:
        """K at enthalpy h (J/kg), Newton."""
        T = guess
        for _ in range(50):
            step = (self.enthalpy(T) - h) / self.cp(T)
            T -= step
            if abs(step) < 1e-9:
                break
        return T


@lru_cache(maxsize=4096)
def burned_gas(mixture: float) -> BurnedGas:
    return BurnedGas(mixture)


_T = np.arange(230.0, 1500.0, 10.0)
air_viscosity = CubicSpline(_T, [PropsSI("V", "T", t, "P", 101325.0, "Air") for t in _T])
"""Pa s at K: Lemmon and Jacobsen (2004)."""
