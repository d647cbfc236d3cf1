"""Thermocouples: tolerance, lag, radiation error."""

import math

from heatproof.laws.radiation import SIGMA
from heatproof.media.air import conductivity_air, density_air, viscosity_air

_TYPE_K = {1: (1.5, 0.004), 2: (2.5, 0.0075)}


def type_k_tolerance(t_celsius: float, tolerance_class: int) -> float:
    """Tolerance of a type K thermocouple [K] at t [degC], class 1 or 2: the larger of a floor and a share of
    t.

    Class 1 max(1.5 K, 0.004 t), -40..1000 degC; class 2 max(2.5 K, 0.0075 t), -40..1200 degC.
    Source: IEC 60584-1 tolerance tables.
    """
    if tolerance_class not in _TYPE_K:
        raise ValueError(f"tolerance class must be 1 or 2, got {tolerance_class}")
    floor, share = _TYPE_K[tolerance_class]
    return max(floor, share * abs(t_celsius))


def gas_temperature_from_probe(T_probe: float, T_wall: float, eps: float, h: float) -> float:
    """True gas temperature [K] from a probe that radiates to the duct wall: T + eps sigma (T^4 - T_w^4)/h.

    T [K], eps [-], h [W/(m2 K)]. Source: steady probe balance, e.g. Cengel ex. 13-12.
    """
    return T_probe + eps * SIGMA * (T_probe**4 - T_wall**4) / h


def probe_temperature(T_gas: float, T_wall: float, eps: float, h: float) -> float:
    """Temperature a probe settles at [K] between gas and wall; arguments as `gas_temperature_from_probe`.

    Source: inverse of `gas_temperature_from_probe` by Newton.
    """
    T = T_gas
    for _ in range(60):
        error = h * (T_gas - T) - eps * SIGMA * (T**4 - T_wall**4)
        step = error / (h + 4.0 * eps * SIGMA * T**3)
        T += step
        if abs(step) < 1e-9:
            break
    return T


def probe_time_constant(
    diameter: float, speed: float, T: float, rho_c: float = 4.0e6, p: float = 101325.0
) -> float:
    """63 % response time of a cylindrical probe across an air stream [s]: rho c d/(4 h).

    d [m], speed [m/s], air T [K], rho_c [J/(m3 K)], p [Pa]; Nu = 0.683 Re^0.466 Pr^(1/3), 40 < Re < 4000, and
    0.193 Re^0.618 Pr^(1/3) above; +-25 %.
    Source: Hilpert, as in Incropera/DeWitt table 7.2.
    """
    k, mu = conductivity_air(T), viscosity_air(T)
    Re = density_air(T, p, 0.0) * speed * diameter / mu
    c, m = (0.683, 0.466) if Re < 4000.0 else (0.193, 0.618)
    h = c * Re**m * 0.707 ** (1 / 3) * k / diameter
    return rho_c * diameter / (4.0 * h)


def lag_response(t: float, tau: float) -> float:
    """Share of a step shown by a first-order sensor [-] after t [s], tau [s]: 1 - exp(-t/tau).

    Source: definition.
    """
    return 1.0 - math.exp(-t / tau)


def corrected_for_lag(T: float, rate: float, tau: float) -> float:
    """True temperature [K] from a lagging reading T [K] that changes at rate [K/s], tau [s]: T + tau dT/dt.

    Source: first-order sensor equation.
    """
    return T + tau * rate
