"""Water: saturation line and latent heat, shared by humid air and coolants."""

import math

from heatproof.numerics.compiled import compiled

M_WATER = 18.01528e-3
"""Molar mass of water [kg/mol]."""


@compiled
def saturation_pressure_water(T: float) -> float:
    """Saturation pressure over liquid water [Pa] at T [K].

    IAPWS-IF97 region 4 basic equation, 273.15-647.096 K; used below 273.15 K it is the supercooled curve.
    Source: IAPWS R7-97(2012), eq. 30 and table 34 (coefficients from memory, checked against IAPWS-95).
    """
    theta = T - 0.23855557567849 / (T - 650.17534844798)
    a = theta * theta + 1167.0521452767 * theta - 724213.16703206
    b = -17.073846940092 * theta * theta + 12020.824702470 * theta - 3232555.0322333
    c = 14.915108613530 * theta * theta - 4823.2657361591 * theta + 405113.40542057
    return float(1e6 * (2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))) ** 4)


@compiled
def saturation_temperature_water(p: float) -> float:
    """Saturation temperature of water [K] at p [Pa], 611 Pa to 22 MPa.

    IAPWS-IF97 region 4 backward equation. Source: IAPWS R7-97(2012), eq. 31.
    """
    beta = (1e-6 * p) ** 0.25
    e = beta * beta - 17.073846940092 * beta + 14.915108613530
    f = 1167.0521452767 * beta * beta + 12020.824702470 * beta - 4823.2657361591
    g = -724213.16703206 * beta * beta - 3232555.0322333 * beta + 405113.40542057
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    n9, n10 = -0.23855557567849, 650.17534844798
    return (n10 + d - math.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d))) / 2.0


@compiled
def sublimation_pressure_ice(T: float) -> float:
    """Saturation pressure over ice [Pa] at T [K], 50-273.16 K.

    Source: IAPWS R14-08(2011), eq. 6 (Wagner et al. 2011); coefficients from memory.
    """
    x = T / 273.16
    s = -21.2144006 * x**0.00333333333 + 27.3203819 * x**1.20666667 - 6.10598130 * x**1.70333333
    return 611.657 * math.exp(s / x)


@compiled
def latent_heat_water(T: float) -> float:
    """Latent heat of vaporisation [J/kg] at T [K], 275-453 K within 0.22 %.

    Quadratic in T - 373.15 K. Source: fit to CoolProp 8.0.0 (IAPWS-95).
    """
    t = T - 373.15
    return 2.2558e06 + t * (-2712.7 + t * (-3.047))
