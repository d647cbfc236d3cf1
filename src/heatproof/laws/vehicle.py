"""The car as a whole: ram air, road load, test reduction, power correction."""

import math

from heatproof.numerics.compiled import compiled


@compiled
def dynamic_pressure(rho: float, speed: float) -> float:
    """Dynamic pressure [Pa]: rho v^2/2; rho [kg/m3], v [m/s]. Source: Bernoulli."""
    return 0.5 * rho * speed * speed


@compiled
def ram_face_velocity(speed: float, Cp_in: float, Cp_out: float, loss: float) -> float:
    """Velocity at the core face from ram alone [m/s]: v sqrt((Cp_in - Cp_out)/zeta); v [m/s], Cp [-], zeta
    [-].

    Zero where the outlet pressure is not lower. Source: ram balance, e.g. Barnard, Proc. IMechE D 214 (2000).
    """
    drive = Cp_in - Cp_out
    return speed * math.sqrt(drive / loss) if drive > 0.0 else 0.0


@compiled
def road_load(
    speed: float,
    mass: float,
    CdA: float,
    rho: float,
    rolling: float = 0.012,
    grade: float = 0.0,
    accel: float = 0.0,
) -> float:
    """Tractive force [N]: m g (c_r cos + sin) + rho CdA v^2/2 + m a.

    speed [m/s], mass [kg], CdA [m2], rho [kg/m3], rolling coefficient [-], grade [-] rise over run, accel
    [m/s2].
    Source: Newton; Gillespie, Fundamentals of Vehicle Dynamics, ch. 4.
    """
    c = 1.0 / math.sqrt(1.0 + grade * grade)
    weight = mass * 9.80665
    return weight * (rolling * c + grade * c) + 0.5 * rho * CdA * speed * speed + mass * accel


def limiting_ambient(T_limit: float, T_measured: float, T_ambient: float) -> float:
    """Limiting ambient temperature [K]: T_limit - T + T_amb; temperatures [K], or all [degC].

    Assumes 1 K of coolant per K of ambient, thermostat fully open. Source: SAE J1393 (definition in
    summaries).
    """
    return T_limit - T_measured + T_ambient


def air_to_boil(T_boil: float, T_measured: float, T_ambient: float) -> float:
    """Air-to-boil temperature [K]: ambient at which the coolant would boil: T_boil - T + T_amb; [K] or all
    [degC].

    T_boil is 100 degC, or the boiling point at cap pressure: state which. Source: SAE J1393 (in summaries).
    """
    return T_boil - T_measured + T_ambient


def air_to_redline(T_warning: float, T_measured: float, T_ambient: float) -> float:
    """Ambient at which a fluid reaches its warning temperature [K]: T_w - T + T_amb; [K] or all [degC].

    Source: same form as SAE J1393.
    """
    return T_warning - T_measured + T_ambient


def normalised_temperature(
    T: float,
    T_ambient: float,
    T_ambient_new: float,
    heat_ratio: float = 1.0,
    density_ratio: float = 1.0,
    k: float = 0.0,
) -> float:
    """Steady temperature carried to another ambient and load [K]: T_a* + (T - T_a)(Q*/Q)(rho/rho*)^k.

    T [K]; heat_ratio Q*/Q [-]; density_ratio rho/rho* [-], k [-] 0.4-0.8 for a fixed volume flow of air.
    Source: linear exchange; exponent is common practice, no source.
    """
    return float(T_ambient_new + (T - T_ambient) * heat_ratio * density_ratio**k)


def power_factor_j1349(p_dry: float, T: float) -> float:
    """Power correction factor, naturally aspirated petrol [-]; dry pressure [Pa], intake temperature [K].

    1.180 (99 kPa/p_d) (T/298)^0.5 - 0.18; stated for 15-35 degC, 90-105 kPa. Not valid where boost is
    controlled
    to an absolute pressure. Source: SAE J1349 (June 1990 form); limits from memory.
    """
    return 1.180 * (99e3 / p_dry) * math.sqrt(T / 298.0) - 0.18


def power_factor_iso1585(p_dry: float, T: float) -> float:
    """Power correction factor, spark ignition [-]: (99 kPa/p_d)^1.2 (T/298)^0.6, dry pressure [Pa], T [K].

    Valid 0.93-1.07. Source: ISO 1585 / UN R85, from memory.
    """
    return float((99e3 / p_dry) ** 1.2 * (T / 298.0) ** 0.6)


def power_factor_j607(p_total: float, p_vapour: float, T: float) -> float:
    """Older power correction factor [-]: (101 325 Pa/(p - p_v)) sqrt(T/288.7 K); pressures [Pa], T [K].

    Source: SAE J607, as quoted in trade pages (29.92 inHg, 60 degF).
    """
    return 101325.0 / (p_total - p_vapour) * math.sqrt(T / 288.889)


def affinity(flow: float, head: float, power: float, speed_ratio: float) -> tuple[float, float, float]:
    """Flow, head, power of a fan or pump at another speed: times n, n^2, n^3 [any consistent units, ratio -].

    Source: affinity laws, e.g. Crane TP-410 example 7.33.
    """
    return flow * speed_ratio, head * speed_ratio**2, power * speed_ratio**3
