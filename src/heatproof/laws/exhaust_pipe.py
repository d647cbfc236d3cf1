"""Exhaust gas to its wall, and the pressure it needs to leave: manifolds, pipes, turbine housing."""

import math

from heatproof.numerics.compiled import compiled

P_REFERENCE = 101325.0  # Pa, of the density at which losses are given


@compiled
def nusselt_manifold(Re: float) -> float:
    """Nusselt number of pulsating flow in intake and exhaust passages [-]: 0.07 Re^0.75; Re [-] on diameter.

    Source: Depcik and Assanis, SAE 2002-01-0372 (correlation coefficient 0.80-0.85).
    """
    return float(0.07 * Re**0.75)


@compiled
def manifold_coefficient(flow: float, diameter: float, mu: float, k: float) -> float:
    """Gas-side coefficient [W/(m2 K)] of one runner: flow [kg/s], diameter [m], mu [Pa s], k [W/(m K)].

    Source: `nusselt_manifold` with Re = 4 m/(pi d mu).
    """
    Re = 4.0 * abs(flow) / (math.pi * diameter * mu)
    return nusselt_manifold(Re) * k / diameter


@compiled
def wall_conductance(capacity_rate: float, hA: float) -> float:
    """Conductance from inlet gas temperature to an isothermal wall [W/K]: C (1 - exp(-hA/C)).

    C = m cp [W/K], hA [W/K]. Source: energy balance along the duct, Incropera/DeWitt eq. 8.41b.
    """
    C = max(capacity_rate, 1e-9)
    return -C * math.expm1(-hA / C)


@compiled
def pressure_ahead(p_behind: float, loss: float) -> float:
    """Pressure [Pa] ahead of a pipe that ends at p_behind [Pa]: p1² = p2² + 2 p_ref Δp_ref.

    loss: Δp_ref [Pa], what the pipe would take at the density of one atmosphere and the gas's temperature. Gas that is
    denser ahead moves more slowly, so the true loss is less than that at 1 atm behind.
    Source: isothermal gas flow in a pipe with friction (Crane TP-410, eq. 1-6 without its acceleration term, from
    memory). Valid well below choking.
    """
    return math.sqrt(p_behind * p_behind + 2.0 * P_REFERENCE * loss)
