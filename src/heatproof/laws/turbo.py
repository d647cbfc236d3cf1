"""Turbocharger thermodynamics: compressor, corrected quantities, turbine, wastegate. Total states, absolute
[Pa].
"""

import math
from dataclasses import dataclass

from heatproof.numerics.compiled import compiled


@dataclass(frozen=True)
class ReferenceState:
    """State that corrected quantities of a map refer to: temperature [K], pressure [Pa]. No default: ask the
    map.
    """

    T: float
    p: float


REFERENCE_STATES = {
    "298.15 K, 100 kPa": ReferenceState(298.15, 100e3),
    "293.15 K, 101.325 kPa": ReferenceState(293.15, 101.325e3),
    "545 degR, 13.95 psi": ReferenceState(302.78, 96.18e3),
}
"""Reference states in common use on map footers (common practice, no source)."""

HIGHEST_EXPANSION_RATIO = 12.0
"""Beyond what any automotive turbine sees [-]; end of the search in `turbine_match`."""


@compiled
def compressor_outlet_temperature(
    T1: float, pressure_ratio: float, efficiency: float, gamma: float = 1.4
) -> float:
    """Outlet temperature [K]: T1 [1 + (PR^((g-1)/g) - 1)/eta]; T1 [K], total-to-total PR, eta, gamma [-].

    Source: definition of isentropic efficiency, Heywood eq. 6.42.
    """
    return float(T1 * (1.0 + (pressure_ratio ** ((gamma - 1.0) / gamma) - 1.0) / efficiency))


@compiled
def compressor_power(flow: float, T1: float, T2: float, cp: float = 1006.4) -> float:
    """Shaft power into the air [W]: m cp (T2 - T1); flow [kg/s], T [K], cp [J/(kg K)].

    Source: first law, adiabatic.
    """
    return flow * cp * (T2 - T1)


@compiled
def isentropic_from_polytropic(efficiency: float, pressure_ratio: float, gamma: float = 1.4) -> float:
    """Isentropic compressor efficiency [-] from the polytropic one [-], PR [-], gamma [-].

    (PR^k - 1)/(PR^(k/eta_p) - 1), k = (g-1)/g. Source: Saravanamuttoo et al., Gas Turbine Theory, eq. 2.19.
    """
    k = (gamma - 1.0) / gamma
    return float((pressure_ratio**k - 1.0) / (pressure_ratio ** (k / efficiency) - 1.0))


@compiled
def corrected_flow(flow: float, T1: float, p1: float, T_ref: float, p_ref: float) -> float:
    """Corrected flow [kg/s]: m sqrt(T1/T_ref)/(p1/p_ref); T [K], p [Pa]. Source: SAE J922 nomenclature."""
    return flow * math.sqrt(T1 / T_ref) * p_ref / p1


@compiled
def actual_flow(corrected: float, T1: float, p1: float, T_ref: float, p_ref: float) -> float:
    """Actual flow [kg/s] from corrected flow [kg/s]; inverse of `corrected_flow`, T [K], p [Pa].

    Source: SAE J922.
    """
    return corrected / math.sqrt(T1 / T_ref) * p1 / p_ref


@compiled
def corrected_speed(speed: float, T1: float, T_ref: float) -> float:
    """Corrected speed [same unit as speed, rev/s]: N/sqrt(T1/T_ref); T [K]. Source: SAE J922 nomenclature."""
    return speed / math.sqrt(T1 / T_ref)


@compiled
def surge_margin(flow: float, flow_surge: float) -> float:
    """Surge margin [-] at constant pressure ratio: (m - m_surge)/m_surge; flows [kg/s]; >= 0.10 wanted.

    Source: common practice, no source.
    """
    return (flow - flow_surge) / flow_surge


@compiled
def expansion_ratio_from_power(
    power: float, flow: float, cp: float, T3: float, efficiency: float, gamma: float
) -> float:
    """Total-to-static expansion ratio of the turbine [-] that yields a power; inf where the gas cannot.

    power [W] = flow [kg/s] cp [J/(kg K)] T3 [K] eta [-] (1 - PR^-((g-1)/g)). Source: definition of
    efficiency.
    """
    x = 1.0 - power / max(flow * cp * T3 * efficiency, 1e-9)
    if x <= 0.0:
        return math.inf
    return float(x ** (-gamma / (gamma - 1.0)))


@compiled
def turbine_power(
    flow: float, cp: float, T3: float, expansion_ratio: float, efficiency: float, gamma: float
) -> float:
    """Turbine power [W] at an expansion ratio [-]; units as `expansion_ratio_from_power`. Source: same."""
    return float(flow * cp * T3 * efficiency * (1.0 - expansion_ratio ** (-(gamma - 1.0) / gamma)))


@compiled
def temperature_after_turbine(
    T3: float, power: float, flow: float, cp: float, heat_loss: float = 0.0
) -> float:
    """Mixed gas temperature after turbine and wastegate [K]: T3 - (P + Q)/(m cp).

    T3 [K], shaft power and heat loss [W], total flow [kg/s], cp [J/(kg K)]. Source: first law.
    """
    return T3 - (power + heat_loss) / max(flow * cp, 1e-9)


@compiled
def nozzle_flow_function(pressure_ratio: float, gamma: float) -> float:
    """Flow function psi [-] with m = A p0/sqrt(R T0) psi; pressure ratio p0/p >= 1 [-], gamma [-]; chokes.

    psi = sqrt(2 g/(g-1) [x^(2/g) - x^((g+1)/g)]), x = max(p/p0, (2/(g+1))^(g/(g-1))).
    Source: Saint-Venant and Wantzel; Heywood app. C.
    """
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
    x = max(1.0 / max(pressure_ratio, 1.0), critical)
    inside = x ** (2.0 / gamma) - x ** ((gamma + 1.0) / gamma)
    return math.sqrt(2.0 * gamma / (gamma - 1.0) * max(inside, 0.0))


@compiled
def nozzle_flow(area: float, p0: float, T0: float, pressure_ratio: float, gamma: float, R: float) -> float:
    """Mass flow of a nozzle or orifice of effective area Cd A [m2] [kg/s]; p0 [Pa], T0 [K], R [J/(kg K)].

    Source: `nozzle_flow_function`. Wastegate Cd 0.6-0.85 is common practice, no source.
    """
    return area * p0 / math.sqrt(R * T0) * nozzle_flow_function(pressure_ratio, gamma)


@compiled
def critical_pressure_ratio(gamma: float) -> float:
    """Throat over stagnation pressure at choking [-]: (2/(g+1))^(g/(g-1)), gamma [-].

    Source: Heywood app. C.
    """
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))


@compiled
def turbine_area_from_point(
    flow: float, p3: float, T3: float, expansion_ratio: float, gamma: float, R: float
) -> float:
    """Nozzle-equivalent area [m2] of a turbine that passes a flow [kg/s] at p3 [Pa], T3 [K], PR [-], R [J/(kg
    K)].

    Source: `nozzle_flow_function`; a turbine is two nozzles in series, so it chokes later: use near the
    design PR.
    """
    return flow * math.sqrt(R * T3) / (p3 * nozzle_flow_function(expansion_ratio, gamma))


@compiled
def turbine_match(
    power: float,
    flow: float,
    p4: float,
    T3: float,
    area: float,
    efficiency: float,
    cp: float,
    gamma: float,
    R: float,
) -> tuple[float, float, float]:
    """Expansion ratio [-], wastegate flow [kg/s] and turbine power [W] of a turbine that must yield `power`
    [W].

    The turbine is a nozzle of effective area [m2] at p3 = PR p4 [Pa], T3 [K]; what it does not swallow
    goes through the wastegate. Where the whole exhaust flow [kg/s] gives too little, the wastegate is shut and
    the power returned is what the gas can do (less than asked). cp, R [J/(kg K)], efficiency, gamma [-].
    Source: power balance with `nozzle_flow` and `turbine_power`; PR in 1..12 by false position (Illinois).
    """
    # Over u = sqrt(PR² - 1) flow is nearly straight and power nearly u³: false position takes a few passes.
    u_low, u_high = 0.0, math.sqrt(HIGHEST_EXPANSION_RATIO**2 - 1.0)
    g_low, g_high = -1.0, 0.0
    u, side = 0.8, 0
    PR, m, got = 1.0, 0.0, 0.0
    for _ in range(60):
        PR = math.sqrt(1.0 + u * u)
        m = nozzle_flow(area, PR * p4, T3, PR, gamma, R)
        got = turbine_power(m, cp, T3, PR, efficiency, gamma)
        g = max((got / max(power, 1e-9)) ** (1 / 3), m / flow) - 1.0
        if abs(g) < 1e-10 or u_high - u_low < 1e-10:
            break
        if g > 0.0:
            if side == 1:
                g_low *= 0.5
            u_high, g_high, side = u, g, 1
        else:
            if side == -1:
                g_high *= 0.5
            u_low, g_low, side = u, g, -1
        u = 2.0 * u if g_high == 0.0 and 2.0 * u < u_high else _false_position(u_low, u_high, g_low, g_high)
    m = min(m, flow)
    return PR, flow - m, min(power, got)


@compiled
def _false_position(low: float, high: float, g_low: float, g_high: float) -> float:
    """Where the chord through both ends of a bracket crosses zero; its middle while one end is not known."""
    if g_high <= 0.0:
        return 0.5 * (low + high)
    return low - g_low * (high - low) / (g_high - g_low)


@compiled
def stagnation_temperature(T: float, speed: float, cp: float) -> float:
    """Stagnation temperature [K]: T + v^2/(2 cp); T [K], v [m/s], cp [J/(kg K)]. Source: first law."""
    return T + speed * speed / (2.0 * cp)


@compiled
def spool_acceleration(power_surplus: float, inertia: float, speed: float) -> float:
    """Angular acceleration of the rotor [rad/s2]: P/(J omega); P [W], J [kg m2], omega [rad/s].

    Source: Newton.
    """
    return power_surplus / (inertia * max(speed, 1.0))


@compiled
def charge_cooler_outlet(T2: float, T_cooling_in: float, effectiveness: float) -> float:
    """Charge temperature after the cooler [K]: T2 - eps (T2 - T_c,in); T_c,in is the air at the core face
    [K].

    Valid where the charge is the smaller capacity rate. Source: definition of effectiveness.
    """
    return T2 - effectiveness * (T2 - T_cooling_in)
