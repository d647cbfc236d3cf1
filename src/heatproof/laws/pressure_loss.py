"""Pressure losses: friction, fittings, openings; and their two constants a, b for the flow networks.

Darcy friction factors. K refers to the velocity head of the section named in each docstring.
"""

import math
from itertools import pairwise

from heatproof.numerics.compiled import compiled

RE_LAMINAR, RE_TURBULENT = 2300.0, 4000.0
"""Transition band of straight ducts [-]; between them the friction factor is linear in Re."""


@compiled
def friction_laminar(Re: float) -> float:
    """Darcy friction factor of laminar flow in a round pipe [-]: 64/Re, Re [-] > 0.

    Source: Hagen-Poiseuille.
    """
    return 64.0 / Re


@compiled
def friction_colebrook(Re: float, roughness: float = 0.0) -> float:
    """Darcy friction factor of turbulent flow [-], exact solution; Re [-] > 2300, roughness eps/D [-]
    0..0.05.

    1/sqrt(f) = -2 log10(eps/(3.7 D) + 2.51/(Re sqrt(f))). Haaland's start and three Newton steps on
    1/sqrt(f).
    Source: Colebrook, J. Inst. Civ. Eng. 11 (1939) 133; start: Haaland, J. Fluids Eng. 105 (1983) 89.
    """
    a, b = roughness / 3.7, 2.51 / Re
    x = -1.8 * math.log10((roughness / 3.7) ** 1.11 + 6.9 / Re)
    for _ in range(3):
        inner = a + b * x
        x -= (x + 2.0 * math.log10(inner)) / (1.0 + 2.0 * b / (math.log(10.0) * inner))
    return float(1.0 / (x * x))


@compiled
def friction_factor(Re: float, roughness: float = 0.0) -> float:
    """Darcy friction factor at any Re > 0 [-], roughness eps/D [-].

    64/Re to Re 2300, Colebrook from 4000, linear in Re between (common practice for the transition, no
    source).
    Source: `friction_laminar`, `friction_colebrook`.
    """
    if Re <= 2300.0:
        return 64.0 / Re
    if Re >= 4000.0:
        return friction_colebrook(Re, roughness)
    low, high = 64.0 / 2300.0, friction_colebrook(4000.0, roughness)
    return low + (high - low) * (Re - 2300.0) / 1700.0


def bend_loss(radius_over_diameter: float, f_turbulent: float, angle: float = 90.0) -> float:
    """K [-] of a smooth round bend, r/D [-] 1..20, fully turbulent Darcy factor f_T [-], angle [deg].

    90 degrees: K90 = n f_T with n = 20 (r/D 1), 14 (1.5), 12 (2 and 3), 14 (4), 17 (6), 24 (8), 30 (10),
    34 (12),
    38 (14), 42 (16), 50 (20); other angles: K = (m - 1)(0.25 pi f_T r/D + 0.5 K90) + K90, m = angle/90.
    Source: Crane TP-410, pipe bends.
    """
    table: tuple[tuple[float, float], ...] = (
        (1, 20),
        (1.5, 14),
        (2, 12),
        (3, 12),
        (4, 14),
        (6, 17),
        (8, 24),
        (10, 30),
        (12, 34),
        (14, 38),
    )
    table = (*table, (16, 42), (20, 50))
    if not 1.0 <= radius_over_diameter <= 20.0:
        raise ValueError(f"bend radius over diameter must lie in 1..20, got {radius_over_diameter}")
    K90 = _interpolate(radius_over_diameter, table) * f_turbulent
    return (angle / 90.0 - 1.0) * (0.25 * math.pi * f_turbulent * radius_over_diameter + 0.5 * K90) + K90


def _interpolate(x: float, table: tuple[tuple[float, float], ...]) -> float:
    for (x0, y0), (x1, y1) in pairwise(table):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return table[-1][1]


def friction_fully_turbulent(diameter: float, roughness: float = 4.6e-5) -> float:
    """Darcy factor at infinite Re [-]: 0.25/[log10(eps/(3.7 D))]^2; D, eps [m] (commercial steel 4.6e-5 m).

    Source: Crane TP-410, f_T.
    """
    return 0.25 / math.log10(roughness / (3.7 * diameter)) ** 2


def mitre_bend_loss(f_turbulent: float) -> float:
    """K [-] of a 90 degree mitre bend: 60 f_T, f_T [-]. Source: Crane TP-410."""
    return 60.0 * f_turbulent


def sudden_expansion_loss(area_ratio: float) -> float:
    """K [-] on the small (upstream) section: (1 - A1/A2)^2, area ratio A1/A2 [-] 0..1.

    Source: Borda-Carnot.
    """
    return (1.0 - area_ratio) ** 2


def sudden_contraction_loss(area_ratio: float) -> float:
    """K [-] on the small (downstream) section of a sharp contraction; area ratio A2/A1 [-] 0..1.

    K = 0.0696 (1 - beta^5) lam^2 + (lam - 1)^2, lam = 1 + 0.622 (1 - 0.215 beta^2 - 0.785 beta^5).
    Source: Rennels and Hudson, Pipe Flow (2012), eq. 10.4; other sources are up to 40 % lower.
    """
    beta = math.sqrt(area_ratio)
    lam = 1.0 + 0.622 * (1.0 - 0.215 * beta**2 - 0.785 * beta**5)
    return 0.0696 * (1.0 - beta**5) * lam**2 + (lam - 1.0) ** 2


def entrance_loss(radius_over_diameter: float = 0.0) -> float:
    """K [-] of a flush pipe entrance with rounding r/D [-].

    0: 0.50, 0.02: 0.28, 0.04: 0.24, 0.06: 0.15, 0.10: 0.09, 0.15 and more: 0.04; linear between.
    Source: Crane TP-410.
    """
    table = ((0.0, 0.50), (0.02, 0.28), (0.04, 0.24), (0.06, 0.15), (0.10, 0.09), (0.15, 0.04))
    return _interpolate(min(max(radius_over_diameter, 0.0), 0.15), table)


def exit_loss() -> float:
    """K [-] of a pipe exit into a large space: 1.0. Source: Crane TP-410."""
    return 1.0


def contraction_coefficient_slot() -> float:
    """Contraction coefficient of a sharp two-dimensional slot [-]: pi/(pi + 2) = 0.611.

    Source: Kirchhoff's free-streamline solution; Lamb, Hydrodynamics, art. 75.
    """
    return math.pi / (math.pi + 2.0)


@compiled
def opening_flow(area: float, dp: float, rho: float, Cd: float) -> float:
    """Volume flow through an opening [m3/s]: Cd A sqrt(2 dp/rho), with the sign of dp.

    A [m2], dp [Pa], rho [kg/m3], Cd [-] (sharp slot 0.611, gap with length 0.6-0.8). Source: Torricelli.
    """
    return math.copysign(Cd * area * math.sqrt(2.0 * abs(dp) / rho), dp)


def opening_loss(Cd: float) -> float:
    """K [-] of an opening on its own area: 1/Cd^2, Cd [-].

    Source: definition of the discharge coefficient.
    """
    return 1.0 / Cd**2


def orifice_discharge(beta: float, Re_pipe: float) -> float:
    """Discharge coefficient of a corner-tapped orifice plate [-]; diameter ratio beta [-] 0.1..0.75, Re_D
    [-].

    Reader-Harris/Gallagher equation for D >= 71.12 mm, L1 = L2 = 0. Source: ISO 5167-2:2003, 5.3.2.1.
    """
    A = (19000.0 * beta / Re_pipe) ** 0.8
    C = 0.5961 + 0.0261 * beta**2 - 0.216 * beta**8 + 0.000521 * (1e6 * beta / Re_pipe) ** 0.7
    return C + (0.0188 + 0.0063 * A) * beta**3.5 * (1e6 / Re_pipe) ** 0.3


_SCREEN = (
    *((0.05, 1000.0), (0.1, 250.0), (0.15, 85.0), (0.2, 52.0), (0.25, 30.0), (0.3, 17.0), (0.35, 11.0)),
    *((0.4, 7.7), (0.45, 5.5), (0.5, 3.8), (0.55, 2.8), (0.6, 2.0), (0.65, 1.5), (0.7, 1.1), (0.75, 0.78)),
    *((0.8, 0.53), (0.85, 0.35), (0.9, 0.08), (1.0, 0.0)),
)


def screen_loss(open_fraction: float) -> float:
    """K [-] on approach velocity of a thin sharp-edged screen or perforated sheet; open fraction [-] 0.05..1.

    Table, linear between rows; high Re. Source: Blevins, Applied Fluid Dynamics Handbook (1984), square-edged
    screens, rows as held by the library fluids; sources differ by up to 30 %.
    """
    if not 0.05 <= open_fraction <= 1.0:
        raise ValueError(f"open fraction must lie in 0.05..1, got {open_fraction}")
    return _interpolate(open_fraction, _SCREEN)


def grille_loss(open_fraction: float, passage_friction: float = 0.0) -> float:
    """K [-] on approach velocity of a thick sharp-edged grille; open fraction s [-] 0.05..1.

    K = [0.5 (1 - s) + (1 - s^2) + f L/D_h]/s^2, f L/D_h [-] the friction of its passages.
    Source: Blevins, Applied Fluid Dynamics Handbook (1984), as held by the library fluids.
    """
    s = open_fraction
    if not 0.05 <= s <= 1.0:
        raise ValueError(f"open fraction must lie in 0.05..1, got {open_fraction}")
    return (0.5 * (1.0 - s) + (1.0 - s * s) + passage_friction) / s**2


def thermostat_loss(K_open: float, lift: float, leak: float = 0.02) -> float:
    """K [-] of a thermostat at lift 0..1 [-], from K fully open [-]: K_open ((1 + leak)/(lift + leak))^2.

    The free area grows in proportion to lift, plus a leak share [-]. Common practice, no source.
    """
    return K_open * ((1.0 + leak) / (min(max(lift, 0.0), 1.0) + leak)) ** 2


@compiled
def pipe_branch(
    length: float,
    diameter: float,
    area: float,
    K: float,
    rho: float,
    nu: float,
    Re: float,
    roughness: float = 0.0,
) -> tuple[float, float]:
    """a [Pa s/kg], b [Pa s2/kg2] of dp = a m + b m|m| for a line with fittings.

    a = 128 nu L/(pi d^4) (laminar, exact at small flow); b = [K + (f - 64/Re) L/d]/(2 rho A^2), exact at the
    reference Reynolds number Re [-]; L, d [m], A [m2], K [-], rho [kg/m3], nu [m2/s], roughness eps/D [-].
    Source: Hagen-Poiseuille; Darcy-Weisbach with `friction_factor`.
    """
    a = 128.0 * nu * length / (math.pi * diameter**4)
    turbulent = max(friction_factor(Re, roughness) - 64.0 / Re, 0.0)
    return a, (K + turbulent * length / diameter) / (2.0 * rho * area * area)


@compiled
def loss_to_branch(K: float, area: float, rho: float, m_laminar: float = 0.0) -> tuple[float, float]:
    """a [Pa s/kg], b [Pa s2/kg2] of an opening or fitting: b = K/(2 rho A^2), a = b m_laminar.

    K [-] on area A [m2], rho [kg/m3]; below m_laminar [kg/s] the law is nearly linear (numerical floor,
    keep it
    at 2e-3 kg/s per 0.05 m2 or less). Source: definition of K.
    """
    b = K / (2.0 * rho * area * area)
    return b * m_laminar, b


def fit_branch(m_low: float, dp_low: float, m_high: float, dp_high: float) -> tuple[float, float]:
    """a [Pa s/kg], b [Pa s2/kg2] through two points of a measured or computed curve; m [kg/s], dp [Pa].

    Negative constants are set to 0 and the other refitted to the upper point. Source: two linear equations.
    """
    r_low, r_high = dp_low / m_low, dp_high / m_high
    b = (r_high - r_low) / (m_high - m_low)
    a = r_low - b * m_low
    if b < 0.0:
        return r_high, 0.0
    if a < 0.0:
        return 0.0, r_high / m_high
    return a, b


def pipe_pressure_drop(
    m: float, length: float, diameter: float, rho: float, mu: float, roughness: float
) -> float:
    """Friction pressure drop of a straight round pipe [Pa]; m [kg/s], L, d [m], rho [kg/m3], mu [Pa s],
    roughness height [m].

    dp = f (L/d) rho V^2/2. Source: Darcy-Weisbach with `friction_factor`.
    """
    area = 0.25 * math.pi * diameter**2
    Re = m * diameter / (area * mu)
    return friction_factor(Re, roughness / diameter) * length / diameter * m * m / (2.0 * rho * area**2)
