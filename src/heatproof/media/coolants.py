"""Ethylene glycol and water by VOLUME fraction of glycol (0..0.6), -30 to 140 degC.

Above 100 degC the property curves of the mixtures are extrapolated (`is_extrapolated`).
"""

import math
from functools import lru_cache

import numpy as np

from heatproof.media.data_files import rows_of
from heatproof.media.liquids import T_REFERENCE, fit_liquid
from heatproof.media.water import M_WATER, saturation_pressure_water

GLYCOL_MAX = 0.6
"""Largest volume fraction of glycol the data cover [-]."""
M_GLYCOL = 62.068e-3
"""Molar mass of ethylene glycol [kg/mol]."""
RHO_GLYCOL, RHO_WATER = 1113.0, 998.2
"""Densities at 20 degC that volume fractions refer to [kg/m3]."""


def _load() -> tuple[np.ndarray, dict[str, np.ndarray]]:
    rows = list(rows_of("coolant.csv"))
    x = np.array(sorted({float(row["glycol_volume"]) for row in rows}))
    names = list(dict.fromkeys(row["property"] for row in rows))
    table = {(row["property"], float(row["glycol_volume"])): row for row in rows}
    return x, {n: np.array([[float(table[n, v][f"c{i}"]) for i in range(4)] for v in x]) for n in names}


_X, _CURVES = _load()


def _coefficients(name: str, glycol_volume: float) -> np.ndarray:
    """Coefficients mixed linearly between the two neighbouring volume fractions."""
    check_glycol(glycol_volume)
    return np.array([np.interp(glycol_volume, _X, column) for column in _CURVES[name].T])


def check_glycol(glycol_volume: float) -> None:
    """Raise ValueError unless the volume fraction of glycol [-] lies in 0..0.6. Source: range of the data."""
    if not 0.0 <= glycol_volume <= GLYCOL_MAX:
        raise ValueError(f"glycol volume fraction must lie in 0..{GLYCOL_MAX}, got {glycol_volume}")


def _cubic(name: str, T: float, glycol_volume: float) -> float:
    c = _coefficients(name, glycol_volume)
    return float(np.polyval(c[::-1], (T - T_REFERENCE) / 100.0))


def density_coolant(T: float, glycol_volume: float) -> float:
    """Density [kg/m3] at T [K], glycol by volume [-]; within 0.1 % of the source below 100 degC.

    Source: CoolProp 8.0.0 INCOMP::AEG (ASHRAE data) and IAPWS water (media/data/coolant.csv).
    """
    return _cubic("density", T, glycol_volume)


def cp_coolant(T: float, glycol_volume: float) -> float:
    """Specific heat [J/(kg K)] at T [K], glycol by volume [-]; within 0.3 %. Source: as `density_coolant`."""
    return _cubic("cp", T, glycol_volume)


def conductivity_coolant(T: float, glycol_volume: float) -> float:
    """Thermal conductivity [W/(m K)] at T [K], glycol by volume [-]; within 0.5 %.

    Source: as `density_coolant`.
    """
    return _cubic("conductivity", T, glycol_volume)


def viscosity_coolant(T: float, glycol_volume: float) -> float:
    """Dynamic viscosity [Pa s] at T [K], glycol by volume [-]; within 4 %. Source: as `density_coolant`."""
    c = _coefficients("viscosity", glycol_volume)
    return math.exp(float(np.polyval(c[::-1], T_REFERENCE / T - 1.0)))


def prandtl_coolant(T: float, glycol_volume: float) -> float:
    """Prandtl number [-] at T [K], glycol by volume [-]: mu cp / k. Source: as `density_coolant`."""
    mu_cp = viscosity_coolant(T, glycol_volume) * cp_coolant(T, glycol_volume)
    return mu_cp / conductivity_coolant(T, glycol_volume)


def freezing_temperature(glycol_volume: float) -> float:
    """Temperature at which ice first forms [K], glycol by volume [-]. Source: as `density_coolant`."""
    return 273.15 + float(_coefficients("freezing", glycol_volume)[0])


def is_extrapolated(T: float, glycol_volume: float) -> bool:
    """True where T [K] lies outside the data of this glycol volume fraction [-]: too hot, or below freezing.

    Source: ranges in media/data/coolant.csv.
    """
    hottest = 413.15 if glycol_volume == 0.0 else 373.15
    return hottest < T or freezing_temperature(glycol_volume) > T


def mass_fraction(glycol_volume: float) -> float:
    """Mass fraction [-] of a mixture made up by volume fraction [-] at 20 degC.

    Source: pure densities 1113 and 998.2 kg/m3 (handbook values); volumes before mixing.
    """
    check_glycol(glycol_volume)
    glycol = glycol_volume * RHO_GLYCOL
    return glycol / (glycol + (1.0 - glycol_volume) * RHO_WATER)


def volume_fraction(glycol_mass: float) -> float:
    """Volume fraction [-] of a mixture known by mass fraction [-]; inverse of `mass_fraction`.

    Source: same.
    """
    glycol = glycol_mass / RHO_GLYCOL
    return glycol / (glycol + (1.0 - glycol_mass) / RHO_WATER)


def water_mole_fraction(glycol_volume: float) -> float:
    """Mole fraction of water [-], glycol by volume [-]. Source: definition."""
    w = mass_fraction(glycol_volume)
    water = (1.0 - w) / M_WATER
    return water / (water + w / M_GLYCOL)


def vapour_pressure_glycol(T: float) -> float:
    """Vapour pressure of pure ethylene glycol [Pa] at T [K], 320-475 K.

    Antoine: log10(p/bar) = 4.97012 - 1914.951/(T - 84.996).
    Source: constants as listed in the NIST Chemistry WebBook, from memory.
    """
    return float(1e5 * 10.0 ** (4.97012 - 1914.951 / (T - 84.996)))


def saturation_pressure_coolant(T: float, glycol_volume: float) -> float:
    """Bubble-point pressure [Pa] at T [K], glycol by volume [-].

    Raoult: p = x_w p_w(T) + (1 - x_w) p_g(T). Within about 2.5 K of published boiling points of 50/50.
    Source: ideal solution; water by IAPWS-IF97, glycol by Antoine.
    """
    x = water_mole_fraction(glycol_volume)
    return x * saturation_pressure_water(T) + (1.0 - x) * vapour_pressure_glycol(T)


def saturation_temperature_coolant(p: float, glycol_volume: float) -> float:
    """Temperature at which the coolant begins to boil [K] at absolute pressure p [Pa], glycol by volume [-].

    Newton on ln p of `saturation_pressure_coolant`, 5 kPa to 1 MPa. Source: same.
    """
    if not 5e3 <= p <= 1e6:
        raise ValueError(f"pressure must lie in 5 kPa..1 MPa absolute, got {p} Pa")
    T, target = 380.0, math.log(p)
    for _ in range(30):
        error = math.log(saturation_pressure_coolant(T, glycol_volume)) - target
        slope = (math.log(saturation_pressure_coolant(T + 0.01, glycol_volume)) - target - error) / 0.01
        T -= error / slope
        if abs(error) < 1e-12:
            break
    return T


@lru_cache(maxsize=64)
def _liquid(glycol_volume: float) -> tuple[float, ...]:
    T = np.linspace(293.15, 403.15, 56)
    rho = np.array([density_coolant(t, glycol_volume) for t in T])
    nu = np.array([viscosity_coolant(t, glycol_volume) for t in T]) / rho
    return tuple(fit_liquid(T, rho, nu, cp_coolant(T_REFERENCE, glycol_volume)))


def liquid_coefficients_coolant(glycol_volume: float) -> np.ndarray:
    """Seven coefficients for the solver's kernel (see `media.liquids`), glycol by volume [-].

    Largest error against this module over 20-130 degC: density 0.1 %, viscosity 2.1 %, cp (constant) 10 %.
    Source: fit to this module.
    """
    return np.array(_liquid(float(glycol_volume)))
