"""Engine oil by grade: Walther's viscosity line through two points, linear density, specific heat,
conductivity.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from heatproof.media.data_files import rows_of
from heatproof.media.liquids import T_REFERENCE, fit_liquid
from heatproof.media.names import UnknownName


@dataclass(frozen=True)
class Oil:
    """One grade: kinematic viscosity at 40, 100 degC [m2/s], density at 15 degC [kg/m3], spread, source."""

    grade: str
    nu40: float
    nu100: float
    rho15: float
    spread: float
    source: str


def _load() -> dict[str, Oil]:
    return {
        row["grade"]: Oil(
            row["grade"],
            1e-6 * float(row["nu40_mm2_s"]),
            1e-6 * float(row["nu100_mm2_s"]),
            float(row["rho15_kg_m3"]),
            float(row["spread"]),
            row["source"],
        )
        for row in rows_of("oils.csv")
    }


OILS = _load()
"""Known grades."""


def oil(grade: str) -> Oil:
    """Data of a grade [SI], by name such as `5W-30`; raises UnknownName. Source: media/data/oils.csv."""
    if grade not in OILS:
        raise UnknownName("oil grade", grade, OILS)
    return OILS[grade]


def _walther(nu: float) -> float:
    return math.log10(math.log10(1e6 * nu + 0.7))


def viscosity_from_two_points(T: float, T1: float, nu1: float, T2: float, nu2: float) -> float:
    """Kinematic viscosity [m2/s] at T [K] from nu1 [m2/s] at T1 [K] and nu2 at T2.

    log10 log10(nu/(mm2/s) + 0.7) = A - B log10 T; for 2 mm2/s and more.
    Source: ASTM D341 (Walther's equation).
    """
    B = (_walther(nu1) - _walther(nu2)) / math.log10(T2 / T1)
    return float(1e-6 * (10.0 ** (10.0 ** (_walther(nu1) - B * math.log10(T / T1))) - 0.7))


def viscosity_oil(T: float, grade: str) -> float:
    """Kinematic viscosity [m2/s] at T [K], -20 to 160 degC.

    Source: ASTM D341, typical points of the grade.
    """
    o = oil(grade)
    return viscosity_from_two_points(T, 313.15, o.nu40, 373.15, o.nu100)


def density_oil(T: float, grade: str) -> float:
    """Density [kg/m3] at T [K]: rho15 - 0.60 (T - 288.15).

    Source: slope of unused engine oil in Incropera/DeWitt table A.5 (from memory).
    """
    return oil(grade).rho15 - 0.60 * (T - 288.15)


def cp_oil(T: float, grade: str) -> float:
    """Specific heat [J/(kg K)] at T [K]: 1909 + 4.30 (T - 300), within 1 % of the table for 300-420 K.

    Source: unused engine oil, Incropera/DeWitt table A.5 (from memory); taken for all grades.
    """
    oil(grade)
    return 1909.0 + 4.30 * (T - 300.0)


def conductivity_oil(T: float, grade: str) -> float:
    """Thermal conductivity [W/(m K)] at T [K]: 0.145 - 1.0e-4 (T - 300).

    Source: unused engine oil, Incropera/DeWitt table A.5 (from memory); taken for all grades.
    """
    oil(grade)
    return 0.145 - 1.0e-4 * (T - 300.0)


def prandtl_oil(T: float, grade: str) -> float:
    """Prandtl number [-] at T [K]: rho nu cp / k. Source: this module."""
    mu = viscosity_oil(T, grade) * density_oil(T, grade)
    return mu * cp_oil(T, grade) / conductivity_oil(T, grade)


@lru_cache(maxsize=64)
def _liquid(grade: str) -> tuple[float, ...]:
    T = np.linspace(313.15, 433.15, 61)
    rho = np.array([density_oil(t, grade) for t in T])
    nu = np.array([viscosity_oil(t, grade) for t in T])
    return tuple(fit_liquid(T, rho, nu, cp_oil(T_REFERENCE, grade)))


def liquid_coefficients_oil(grade: str) -> np.ndarray:
    """Seven coefficients [SI] for the solver's kernel (see `media.liquids`).

    Largest error against this module over 40-160 degC: density 0.01 %, viscosity 0.8 %, cp (constant) 13 %.
    Source: fit to this module.
    """
    return np.array(_liquid(grade))
