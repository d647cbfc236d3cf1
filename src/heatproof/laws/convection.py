"""Convection on surfaces and in ducts. Film properties by the caller; `surface_coefficient` makes its own."""

import math

from heatproof.numerics.compiled import compiled

G0 = 9.80665
"""Standard gravity [m/s2]."""

VERTICAL, CYLINDER, FACING_UP, FACING_DOWN = 0, 1, 2, 3
ORIENTATIONS = {
    "vertical": VERTICAL,
    "horizontal cylinder": CYLINDER,
    "facing up": FACING_UP,
    "facing down": FACING_DOWN,
}
"""Surface orientation by name; the numbers are what `surface_coefficient` takes."""


@compiled
def rayleigh(dT: float, L: float, T_film: float, nu: float, Pr: float) -> float:
    """Rayleigh number of a gas [-]: g |dT| L^3 Pr/(T_film nu^2); dT [K], L [m], T_film [K], nu [m2/s], Pr
    [-].

    Source: definition with beta = 1/T_film (ideal gas); Incropera/DeWitt eq. 9.25.
    """
    return 9.80665 * abs(dT) / T_film * L * L * L * Pr / (nu * nu)


@compiled
def nusselt_vertical_plate(Ra: float, Pr: float) -> float:
    """Natural convection on a vertical plate of height L, all Ra [-], Pr [-]: mean Nu [-].

    Nu = {0.825 + 0.387 Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}^2, Ra < 1e12.
    Source: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323; Incropera/DeWitt eq. 9.26.
    """
    return float((0.825 + 0.387 * Ra ** (1 / 6) / (1.0 + (0.492 / Pr) ** (9 / 16)) ** (8 / 27)) ** 2)


@compiled
def nusselt_horizontal_cylinder(Ra: float, Pr: float) -> float:
    """Natural convection round a long horizontal cylinder of diameter D: mean Nu [-], Ra_D [-] < 1e12, Pr
    [-].

    Nu = {0.60 + 0.387 Ra^(1/6)/[1 + (0.559/Pr)^(9/16)]^(8/27)}^2.
    Source: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1049; Incropera/DeWitt eq. 9.34.
    """
    return float((0.60 + 0.387 * Ra ** (1 / 6) / (1.0 + (0.559 / Pr) ** (9 / 16)) ** (8 / 27)) ** 2)


@compiled
def nusselt_plate_facing_up(Ra: float) -> float:
    """Natural convection above a hot plate (or below a cold one), L = area/perimeter [m]: mean Nu [-], Ra
    [-].

    Nu = 0.54 Ra^(1/4) (1e4 < Ra < 1e7) or 0.15 Ra^(1/3) (1e7-1e11), the larger: so without the 6 % jump at
    1e7
    (they cross at 4.7e6); below 1e4 the first form, not under 1.
    Source: Lloyd and Moran, J. Heat Transfer 96 (1974) 443; McAdams; Incropera/DeWitt eqs. 9.30, 9.31.
    """
    return max(0.54 * Ra**0.25, 0.15 * Ra ** (1 / 3), 1.0)


@compiled
def nusselt_plate_facing_down(Ra: float) -> float:
    """Natural convection below a hot plate (or above a cold one), L = area/perimeter [m]: mean Nu [-], Ra
    [-].

    Nu = 0.27 Ra^(1/4), 1e5 < Ra < 1e11, not under 1. Source: McAdams; Incropera/DeWitt 6th ed. eq. 9.32.
    """
    return max(0.27 * Ra**0.25, 1.0)


@compiled
def nusselt_cylinder_crossflow(Re: float, Pr: float) -> float:
    """Forced flow across a cylinder of diameter D, film properties: mean Nu [-], Re_D [-], Pr [-]; Re Pr >
    0.2.

    Nu = 0.3 + 0.62 Re^0.5 Pr^(1/3)/[1 + (0.4/Pr)^(2/3)]^(1/4) [1 + (Re/282000)^(5/8)]^(4/5).
    Source: Churchill and Bernstein, J. Heat Transfer 99 (1977) 300; Incropera/DeWitt eq. 7.54.
    """
    grow = (1.0 + (Re / 282000.0) ** 0.625) ** 0.8
    return float(0.3 + 0.62 * Re**0.5 * Pr ** (1 / 3) / (1.0 + (0.4 / Pr) ** (2 / 3)) ** 0.25 * grow)


@compiled
def nusselt_cylinder_zukauskas(Re: float, Pr: float, Pr_wall: float) -> float:
    """Forced flow across a cylinder, free-stream properties: mean Nu [-], 1 < Re [-] < 1e6, 0.7 < Pr [-] <
    500.

    Nu = C Re^m Pr^n (Pr/Pr_wall)^(1/4), n = 0.37 (Pr <= 10) or 0.36.
    Source: Zukauskas, Adv. Heat Transfer 8 (1972) 93; Incropera/DeWitt eq. 7.53 and table 7.4.
    """
    if Re < 40.0:
        c, m = 0.75, 0.4
    elif Re < 1e3:
        c, m = 0.51, 0.5
    elif Re < 2e5:
        c, m = 0.26, 0.6
    else:
        c, m = 0.076, 0.7
    n = 0.37 if Pr <= 10.0 else 0.36
    return float(c * Re**m * Pr**n * (Pr / Pr_wall) ** 0.25)


@compiled
def nusselt_plate_laminar(Re: float, Pr: float) -> float:
    """Laminar flow along a flat plate, mean Nu [-] over L: 0.664 Re^0.5 Pr^(1/3); Re_L [-] < 5e5, Pr [-] >
    0.6.

    Source: Pohlhausen's solution; Incropera/DeWitt eq. 7.30.
    """
    return float(0.664 * Re**0.5 * Pr ** (1 / 3))


@compiled
def nusselt_plate(Re: float, Pr: float) -> float:
    """Flow along a flat plate with transition at Re 5e5, mean Nu [-] over L; Re_L [-] < 1e8, 0.6 < Pr [-] <
    60.

    Nu = 0.664 Re^0.5 Pr^(1/3), above 5e5 (0.037 Re^0.8 - 871) Pr^(1/3).
    Source: Incropera/DeWitt eqs. 7.30, 7.38.
    """
    if Re <= 5e5:
        return float(0.664 * Re**0.5 * Pr ** (1 / 3))
    return float((0.037 * Re**0.8 - 871.0) * Pr ** (1 / 3))


@compiled
def nusselt_plate_turbulent(Re: float, Pr: float) -> float:
    """Flow along a flat plate turbulent from its edge, mean Nu [-]: 0.037 Re^0.8 Pr^(1/3); Re [-], Pr [-].

    Source: Incropera/DeWitt eq. 7.38 with A = 0.
    """
    return float(0.037 * Re**0.8 * Pr ** (1 / 3))


@compiled
def nusselt_dittus_boelter(Re: float, Pr: float, heated: bool = True) -> float:
    """Turbulent duct flow, Nu [-] on D_h: 0.023 Re^0.8 Pr^n, n = 0.4 heated, 0.3 cooled; Re [-] > 1e4, Pr
    [-].

    Source: Incropera/DeWitt eq. 8.60 (Dittus and Boelter 1930 as restated by McAdams).
    """
    return float(0.023 * Re**0.8 * Pr ** (0.4 if heated else 0.3))


@compiled
def nusselt_gnielinski(Re: float, Pr: float, f_darcy: float) -> float:
    """Turbulent duct flow, Nu [-] on D_h; 3000 < Re [-] < 5e6, 0.5 < Pr [-] < 2000, Darcy friction factor
    [-].

    Nu = (f/8)(Re - 1000) Pr/[1 + 12.7 (f/8)^0.5 (Pr^(2/3) - 1)].
    Source: Gnielinski, Int. Chem. Eng. 16 (1976) 359; Incropera/DeWitt eq. 8.62.
    """
    k = f_darcy / 8.0
    return float(k * (Re - 1000.0) * Pr / (1.0 + 12.7 * math.sqrt(k) * (Pr ** (2 / 3) - 1.0)))


@compiled
def nusselt_duct(Re: float, Pr: float, laminar: float = 3.66, end: float = 1.0) -> float:
    """Duct flow at any Re, smooth wall: Nu [-] on D_h; Re [-] >= 0, Pr [-], laminar Nu [-].

    Laminar constant up to Re 2300, Gnielinski with f = (0.790 ln Re - 1.64)^-2 from 4000, linear in Re
    between;
    `end` multiplies the turbulent part for short ducts, e.g. 1 + (D/L)^(2/3).
    Source: Gnielinski, Int. J. Heat Mass Transfer 63 (2013) 134 (linear transition); friction: Petukhov.
    """
    if Re <= 2300.0:
        return laminar
    R = max(Re, 4000.0)
    f = (0.790 * math.log(R) - 1.64) ** -2
    turbulent = max(end * nusselt_gnielinski(R, Pr, f), laminar)
    if Re >= 4000.0:
        return float(turbulent)
    return float(laminar + (turbulent - laminar) * (Re - 2300.0) / 1700.0)


@compiled
def blend_natural_forced(h_natural: float, h_forced: float) -> float:
    """Natural and forced convection together [W/(m2 K)], assisting or crossing: (h_n^3 + h_f^3)^(1/3).

    Source: Churchill, AIChE J. 23 (1977) 10; Incropera/DeWitt sect. 9.9, exponent 3.
    """
    return float((h_natural**3 + h_forced**3) ** (1 / 3))


@compiled
def film_viscosity_air(T: float) -> float:
    """Dynamic viscosity of air [Pa s] at T [K] by Sutherland's law, 1.5 % over 220-1100 K.

    mu = 1.458e-6 T^1.5/(T + 110.4). Source: U.S. Standard Atmosphere 1976, eq. 51.
    """
    return 1.458e-6 * T * math.sqrt(T) / (T + 110.4)


@compiled
def film_conductivity_air(T: float) -> float:
    """Thermal conductivity of air [W/(m K)] at T [K], k = 2.334e-3 T^1.5/(T + 164.54), 1.5 % over 220-1100 K.

    Source: Sutherland form, Keyes; constants of MIL-HDBK quotations from memory, checked against CoolProp.
    """
    return 2.334e-3 * T * math.sqrt(T) / (T + 164.54)


@compiled
def _film_of_air(T: float, p: float) -> tuple[float, float]:
    """Conductivity [W/(m K)] and kinematic viscosity [m2/s] of air; one root for both Sutherland forms."""
    root = T * math.sqrt(T)
    return 2.334e-3 * root / (T + 164.54), 1.458e-6 * 287.05 * root * T / ((T + 110.4) * p)


@compiled
def _natural(dT: float, T: float, L: float, k: float, nu: float, orientation: int) -> float:
    """Natural coefficient [W/(m2 K)] at film temperature T; dT = T_s - T_air."""
    Ra = 9.80665 * 0.70 * abs(dT) * L * L * L / (T * nu * nu)
    if orientation <= 1:
        root = math.exp(math.log(Ra + 1e-30) / 6.0)
        half = 0.825 + 0.324076 * root if orientation == 0 else 0.60 + 0.320922 * root
        return half * half * k / L
    upward = (orientation == 2) == (dT >= 0.0)
    if upward and Ra >= 4.666e6:
        return 0.15 * math.exp(math.log(Ra) / 3.0) * k / L
    fourth = math.sqrt(math.sqrt(Ra))
    return max((0.54 if upward else 0.27) * fourth, 1.0) * k / L


@compiled
def _forced(u: float, L: float, k: float, nu: float, orientation: int) -> float:
    """Forced coefficient [W/(m2 K)]; constants of the laws at Pr = 0.70."""
    Re = u * L / nu
    root = math.sqrt(Re)
    if orientation == 1:
        r = Re / 282000.0
        x = math.sqrt(r) * math.sqrt(math.sqrt(math.sqrt(r)))
        if x < 3.0:  # (1 + x)^0.8 as a quartic, 0.03 %
            grow = 1.00027 + x * (0.795356 + x * (-0.0653381 + x * (0.0121631 + x * (-0.00117741))))
        else:
            grow = math.exp(0.8 * math.log(1.0 + x))
        return (0.3 + 0.482920 * root * grow) * k / L
    if Re <= 5e5:
        return 0.664 * 0.887904 * root * k / L
    return (0.037 * math.exp(0.8 * math.log(Re)) - 871.0) * 0.887904 * k / L


@compiled
def _cubic_blend(a: float, b: float) -> float:
    """(a^3 + b^3)^(1/3) for a, b >= 0, to 0.03 %: a cubic in (smaller/larger)^3."""
    big, small = max(a, b), min(a, b)
    if big <= 0.0:
        return 0.0
    x = small / big
    x = x * x * x
    return big * (1.0001 + x * (0.329948 + x * (-0.0922164 + x * (0.0221487))))


@compiled
def natural_coefficient(T_s: float, T_air: float, p: float, L: float, orientation: int) -> float:
    """Natural convection coefficient on a surface in air [W/(m2 K)].

    T_s, T_air [K], p [Pa], length L [m] (height, diameter, or area/perimeter of a horizontal plate),
    orientation number of `ORIENTATIONS`. A surface colder than the air swaps facing up and down.
    Source: the Churchill-Chu and McAdams laws of this module at Pr = 0.70, film properties by Sutherland.
    """
    T = 0.5 * (T_s + T_air)
    k, nu = _film_of_air(T, p)
    return _natural(T_s - T_air, T, L, k, nu, orientation)


@compiled
def forced_coefficient(T_s: float, T_air: float, p: float, L: float, u: float, orientation: int) -> float:
    """Forced convection coefficient on a surface in an air stream u [m/s] >= 0 [W/(m2 K)].

    Cylinder across the stream (Churchill-Bernstein) or plate along it (transition at Re 5e5);
    T_s, T_air [K], p [Pa], L [m]. Source: the laws of this module at Pr = 0.70, film properties by
    Sutherland.
    """
    if u <= 0.0:
        return 0.0
    k, nu = _film_of_air(0.5 * (T_s + T_air), p)
    return _forced(u, L, k, nu, orientation)


@compiled
def surface_coefficient(T_s: float, T_air: float, p: float, L: float, u: float, orientation: int) -> float:
    """Mixed convection coefficient on a surface in air [W/(m2 K)], cheap enough for the solver's hot loop.

    T_s, T_air [K], p [Pa], L [m], u [m/s], orientation number of `ORIENTATIONS`:
    h = (h_natural^3 + h_forced^3)^(1/3); within 4 % of the full laws with reference air over -20..700 degC,
    0-30 m/s, 5 mm-0.6 m. Source: `natural_coefficient`, `forced_coefficient`, `blend_natural_forced`.
    """
    T = 0.5 * (T_s + T_air)
    k, nu = _film_of_air(T, p)
    natural = _natural(T_s - T_air, T, L, k, nu, orientation)
    if u <= 0.0:
        return natural
    return _cubic_blend(natural, _forced(u, L, k, nu, orientation))
