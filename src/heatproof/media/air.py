"""Air, dry and moist, and the standard atmosphere."""

import math

import numpy as np

from heatproof.media.data_files import rows_of
from heatproof.media.water import saturation_pressure_water, sublimation_pressure_ice
from heatproof.numerics.compiled import compiled

R_AIR = 287.05
"""Gas constant of dry air [J/(kg K)] (CODATA molar gas constant over 28.965 g/mol)."""
R_VAPOUR = 461.52
"""Gas constant of water vapour [J/(kg K)]."""
G0 = 9.80665
"""Standard gravity [m/s2]."""
CP_AIR = 1006.4
"""Isobaric specific heat of dry air at 300 K [J/(kg K)], for balances where it is taken constant."""

_FITS = {row["property"]: np.array([float(row[f"c{i}"]) for i in range(7)]) for row in rows_of("air.csv")}
_CP, _MU, _K = _FITS["cp"], _FITS["viscosity"], _FITS["conductivity"]


@compiled
def _polynomial(c: np.ndarray, T: float) -> float:
    """Sum of c_i (T/1000)^i, order 6."""
    s = 1e-3 * min(max(T, 200.0), 1500.0)
    return float(c[0] + s * (c[1] + s * (c[2] + s * (c[3] + s * (c[4] + s * (c[5] + s * c[6]))))))


@compiled
def density_air(T: float, p: float, w: float = 0.0) -> float:
    """Density of moist air [kg/m3] at T [K], p [Pa], humidity ratio w [kg vapour per kg dry air].

    Ideal gases: rho = p (1 + w) / (T (R_a + w R_v)); within 0.1 % at 0.8-4 bar, 250-1500 K.
    Source: ideal-gas mixture; ASHRAE Handbook Fundamentals ch. 1.
    """
    return p * (1.0 + w) / (T * (287.05 + 461.52 * w))


@compiled
def cp_air(T: float) -> float:
    """Isobaric specific heat of dry air [J/(kg K)] at T [K], 200-1500 K within 0.05 % (held outside).

    Source: fit to CoolProp 8.0.0, Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331 (media/data/air.csv).
    """
    return _polynomial(_CP, T)


@compiled
def viscosity_air(T: float) -> float:
    """Dynamic viscosity of dry air [Pa s] at T [K], 200-1500 K within 0.03 % (held outside).

    Source: fit to CoolProp 8.0.0, Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21 (media/data/air.csv).
    """
    return _polynomial(_MU, T)


@compiled
def conductivity_air(T: float) -> float:
    """Thermal conductivity of dry air [W/(m K)] at T [K], 200-1500 K within 0.02 % (held outside).

    Source: fit to CoolProp 8.0.0, Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21 (media/data/air.csv).
    """
    return _polynomial(_K, T)


@compiled
def prandtl_air(T: float) -> float:
    """Prandtl number of dry air [-] at T [K]: mu cp / k. Source: the fits of this module."""
    return cp_air(T) * viscosity_air(T) / conductivity_air(T)


def vapour_pressure(T: float, relative_humidity: float) -> float:
    """Partial pressure of water vapour [Pa] at T [K] and relative humidity [-] 0..1.

    Over liquid water from 273.16 K up, over ice below. Source: IAPWS R7-97 and R14-08.
    """
    if not 0.0 <= relative_humidity <= 1.0:
        raise ValueError(f"relative humidity must lie in 0..1, got {relative_humidity}")
    saturated = saturation_pressure_water(T) if T >= 273.16 else sublimation_pressure_ice(T)
    return relative_humidity * saturated


def humidity_ratio(T: float, p: float, relative_humidity: float) -> float:
    """Humidity ratio [kg vapour per kg dry air] at T [K], p [Pa], relative humidity [-] 0..1.

    w = 0.62198 e p_v / (p - e p_v), with the enhancement factor e of the real mixture taken as 1.0040
    near ambient pressure. Source: ASHRAE Handbook Fundamentals ch. 1; enhancement factor from memory.
    """
    pv = 1.004 * vapour_pressure(T, relative_humidity)
    if pv >= p:
        raise ValueError(f"vapour pressure {pv:.0f} Pa is not below the total pressure {p:.0f} Pa")
    return R_AIR / R_VAPOUR * pv / (p - pv)


def atmosphere(altitude: float) -> tuple[float, float, float]:
    """Temperature [K], pressure [Pa] and density [kg/m3] at geometric altitude [m], -500 to 11 000 m.

    T = 288.15 - 0.0065 H, p = 101325 (T/288.15)^5.25588, H = r z/(r + z), r = 6356.766 km.
    Source: U.S. Standard Atmosphere 1976, NOAA-S/T 76-1562, lowest layer.
    """
    if not -500.0 <= altitude <= 11000.0:
        raise ValueError(f"altitude must lie in -500..11000 m, got {altitude}")
    H = 6356766.0 * altitude / (6356766.0 + altitude)
    T = 288.15 - 0.0065 * H
    R = 8.31432 / 0.0289644
    p = 101325.0 * (T / 288.15) ** (G0 / (R * 0.0065))
    return T, p, p / (R * T)


def speed_of_sound(T: float, gamma: float = 1.4, R: float = R_AIR) -> float:
    """Speed of sound [m/s] in an ideal gas at T [K]: sqrt(gamma R T). Source: ideal-gas relation."""
    return math.sqrt(gamma * R * T)
