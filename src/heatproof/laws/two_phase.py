"""Water and its steam in narrow lines: how fast bubbles rise, how much steam lets water pass, what a wall may boil.

Properties of saturated water near 2.2 bar absolute (123 degC), where coolant boils under its cap; glycol moves them by
some ten per cent, less than the scatter of the laws.
"""

import math

from heatproof.numerics.compiled import compiled

GRAVITY = 9.80665  # m/s2
LATENT_HEAT = 2.18e6  # J/kg
LIQUID_DENSITY = 940.0  # kg/m3
SURFACE_TENSION = 0.0543  # N/m
STEAM_DENSITY, STEAM_PRESSURE = 1.24, 2.2e5  # kg/m3 at Pa absolute
BRETHERTON = 0.842  # of rho g r2 / sigma, below which a long bubble does not rise in a standing vertical tube
WALLIS = 0.8  # sum of the square roots of both dimensionless velocities at flooding, 0.7 to 0.9


@compiled
def steam_density(p: float) -> float:
    """Saturated steam [kg/m3] at p [Pa] absolute, 1e5..4e5 within 2 %.

    rho = 1.24 (p / 2.2 bar)^0.94. Source: fitted to saturated steam tables (IAPWS-95).
    """
    return float(STEAM_DENSITY * (p / STEAM_PRESSURE) ** 0.94)


@compiled
def bubble_rise(bore: float) -> float:
    """Velocity [m/s] of a long bubble in a standing vertical tube of this bore [m]; 0 where it does not rise.

    v = 0.34 sqrt(g D) / (1 + 3805 / Eo^3.06)^0.58, Eo = rho g D2 / sigma; none below rho g r2 / sigma = 0.842.
    Source: Viana, Pardo, Yanez, Trallero, Joseph, J. Fluid Mech. 494 (2003) 379 (buoyancy Reynolds number above 200);
    Bretherton, J. Fluid Mech. 10 (1961) 166.
    """
    Eo = LIQUID_DENSITY * GRAVITY * bore * bore / SURFACE_TENSION
    if Eo < 4.0 * BRETHERTON:
        return 0.0
    return float(0.34 * math.sqrt(GRAVITY * bore) / (1.0 + 3805.0 / Eo**3.06) ** 0.58)


@compiled
def flooding_steam(bore: float, p: float) -> float:
    """Steam [kg/s] that rises through a vertical tube of this bore [m] and lets no water down, at p [Pa] absolute.

    sqrt(j_g*) = C, j_g* = j_g sqrt(rho_g / (g D (rho_l - rho_g))), C = 0.8; none where long bubbles do not rise.
    Source: Wallis, One-dimensional Two-phase Flow (1969), C 0.7 to 0.9, from memory.
    """
    if bubble_rise(bore) == 0.0:
        return 0.0
    rho = steam_density(p)
    j = WALLIS**4 * math.sqrt(GRAVITY * bore * (LIQUID_DENSITY - rho) / rho)
    return float(rho * j * math.pi / 4.0 * bore * bore)


@compiled
def critical_heat_flux(p: float) -> float:
    """Most a wall can boil into standing water [W/m2] at p [Pa] absolute, 1e5..4e5.

    q = 0.131 h_fg sqrt(rho_g) (sigma g (rho_l - rho_g))^(1/4). Source: Zuber (1959), as in Incropera eq. 10.6 with
    0.149 for large plates; 0.131 from memory.
    """
    rho = steam_density(p)
    lift = (SURFACE_TENSION * GRAVITY * (LIQUID_DENSITY - rho)) ** 0.25
    return float(0.131 * LATENT_HEAT * math.sqrt(rho) * lift)


@compiled
def condensing_time(bore: float) -> float:
    """Time [s] in which liquid in a bore [m] takes up the steam it could, steam touching it all along the wall.

    tau = rho cp D / (4 h), h = 10 kW/(m2 K) (5 to 20, from memory), cp 3.7 kJ/(kg K).
    Source: balance of a cylinder of liquid at one coefficient on its surface.
    """
    return LIQUID_DENSITY * 3700.0 * bore / (4.0 * 1e4)
