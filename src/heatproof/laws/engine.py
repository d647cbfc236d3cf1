"""Spark-ignition engine: flows from power, friction, heat to coolant, exhaust temperature by energy closure.

Four-stroke: two revolutions per cycle. Pressures absolute [Pa]; N in rev/s; powers [W].
"""

import math
from dataclasses import dataclass

import numpy as np

from heatproof.media.exhaust import (
    AFR_STOICHIOMETRIC,
    combustion_efficiency,
    enthalpy_exhaust,
    temperature_exhaust,
)
from heatproof.numerics.compiled import compiled

LHV_PETROL = 43.0e6
"""Lower heating value of petrol [J/kg], 42.5-44 MJ/kg (Heywood app. D, from memory)."""


@compiled
def brake_efficiency(bsfc: float, LHV: float = 43.0e6) -> float:
    """Brake efficiency [-] from specific fuel consumption bsfc [kg/J], LHV [J/kg]: 1/(bsfc LHV).

    Source: definition.
    """
    return 1.0 / (bsfc * LHV)


@compiled
def fuel_flow(power: float, efficiency: float, LHV: float = 43.0e6) -> float:
    """Fuel flow [kg/s]: P/(eta LHV); P [W], eta [-], LHV [J/kg]. Source: definition of brake efficiency."""
    return power / (efficiency * LHV)


@compiled
def air_flow(fuel: float, lam: float, afr: float = 14.6) -> float:
    """Air flow [kg/s]: lambda AFR_st m_f; m_f [kg/s], lambda [-], AFR_st [-].

    Source: definition of lambda.
    """
    return lam * afr * fuel


@compiled
def bmep(power: float, displacement: float, speed: float) -> float:
    """Brake mean effective pressure [Pa]: 2 P/(V_d N); P [W], V_d [m3], N [rev/s].

    Source: Heywood eq. 2.19.
    """
    return 2.0 * power / (displacement * speed)


@compiled
def manifold_pressure(
    air: float, T_m: float, volumetric_efficiency: float, displacement: float, speed: float
) -> float:
    """Manifold pressure needed for an airflow [Pa]: 2 m R T_m/(eta_v V_d N).

    air [kg/s], T_m [K], eta_v [-] on the manifold state, V_d [m3], N [rev/s]. Source: Heywood eq. 2.27.
    """
    return 2.0 * air * 287.05 * T_m / (volumetric_efficiency * displacement * speed)


@compiled
def manifold_air_flow(
    p_m: float, T_m: float, volumetric_efficiency: float, displacement: float, speed: float
) -> float:
    """Airflow from the manifold state [kg/s]; inverse of `manifold_pressure`, same units.

    Source: Heywood eq. 2.27.
    """
    return volumetric_efficiency * p_m * displacement * speed / (2.0 * 287.05 * T_m)


@compiled
def volumetric_efficiency_at(eta_v: float, T_m: float, T_reference: float, exponent: float = 0.7) -> float:
    """Volumetric efficiency [-] at charge temperature T_m [K], known at T_reference [K].

    Airflow at fixed pressure goes with T^-exponent, so eta_v ~ T^(1 - exponent); exponent 0.5 (heat-transfer
    limited) .. 1 (plain density), default 0.7. Source: Heywood sect. 6.2 (0.5), from memory; default is ours.
    """
    return float(eta_v * (T_m / T_reference) ** (1.0 - exponent))


@compiled
def motored_friction_pressure(speed: float) -> float:
    """Motored friction mean effective pressure at full load, four-cylinder 0.85-2 L [Pa]; N [rev/s].

    tfmep [bar] = 0.97 + 0.15 (N/1000) + 0.05 (N/1000)^2, N in rev/min; modern engines 20-40 % lower.
    Source: Heywood (1988) eq. 13.6, after Barnes-Moss; from memory.
    """
    n = 0.06 * speed
    return 1e5 * (0.97 + 0.15 * n + 0.05 * n * n)


@compiled
def chen_flynn_friction_pressure(
    p_max: float,
    piston_speed: float,
    C: float = 0.137e5,
    a: float = 0.005,
    b: float = 0.162e5,
    c: float = 0.0,
) -> float:
    """Friction mean effective pressure [Pa]: C + a p_max + b S_p + c S_p^2; p_max [Pa], mean piston speed
    [m/s].

    Defaults: original diesel constants; a common petrol set is C 0.4e5 Pa, a 0.005, b 0.09e5 Pa s/m, c 90
    Pa s2/m2.
    Source: Chen and Flynn, SAE 650733 (1965), constants from memory.
    """
    return C + a * p_max + b * piston_speed + c * piston_speed**2


@compiled
def spark_efficiency(retard: float, k: float = 0.0005) -> float:
    """Torque share left [-] at `retard` [deg] from best spark: 1 - k retard^2, k [1/deg2] 0.0004-0.0006.

    Source: Heywood sect. 15.3; Guzzella and Onder; from memory, uncertain.
    """
    return max(0.0, 1.0 - k * retard * retard)


_MIXTURE = np.array([0.75, 0.80, 0.85, 0.90, 0.95, 1.0, 1.1])
_MIXTURE_POWER = np.array([0.97, 1.00, 1.02, 1.03, 1.02, 1.0, 0.95])


@compiled
def power_factor_mixture(lam: float) -> float:
    """Power at fixed airflow relative to lambda 1 [-]; lambda [-] 0.75-1.1 (held outside), +-1.5 points.

    Source: Heywood ch. 15 curves of imep against mixture, from memory; uncertain.
    """
    if lam <= _MIXTURE[0]:
        return _MIXTURE_POWER[0]
    for i in range(1, _MIXTURE.size):  # a loop: np.interp allocates, and this is asked at every engine pass
        if lam < _MIXTURE[i]:
            slope = (_MIXTURE_POWER[i] - _MIXTURE_POWER[i - 1]) / (_MIXTURE[i] - _MIXTURE[i - 1])
            return slope * (lam - _MIXTURE[i - 1]) + _MIXTURE_POWER[i - 1]
    return _MIXTURE_POWER[-1]


def efficiency_at_mixture(eta_stoichiometric: float, lam: float) -> float:
    """Brake efficiency [-] at lambda [-] from that at lambda 1: eta f_P(lambda) lambda.

    Source: definition with `power_factor_mixture`.
    """
    return eta_stoichiometric * power_factor_mixture(lam) * min(lam, 1.1)


@compiled
def mean_gas_temperature(lam: float, T_charge: float) -> float:
    """Effective mean gas temperature seen by the coolant side [K]; lambda [-], charge temperature [K].

    693 K at lambda 1 and 300 K charge, 2.0 K lower per 0.01 of lambda on the rich side, +0.35 K per K of
    charge.
    Source: Taylor and Toong, ASME 57-HT-17 (1957); Heywood ch. 12; from memory, +-40 K.
    """
    return 693.0 - 200.0 * (1.0 - min(max(lam, 0.75), 1.0)) + 0.35 * (T_charge - 300.0)


@compiled
def taylor_toong_coefficient(flow: float, bore: float, cylinders: int, mu: float, k: float) -> float:
    """Mean gas-side coefficient on piston area [W/(m2 K)]: Nu = 10.4 Re^0.75, Re = (m/A_p) B/mu.

    flow = charge of all cylinders [kg/s], bore [m], mu [Pa s], k [W/(m K)].
    Source: Taylor and Toong, ASME 57-HT-17 (1957); Heywood ch. 12; constants from memory.
    """
    area = cylinders * 0.25 * math.pi * bore * bore
    Re = flow / area * bore / mu
    return float(10.4 * Re**0.75 * k / bore)


@compiled
def taylor_toong_heat(flow: float, bore: float, cylinders: int, mu: float, k: float, dT: float) -> float:
    """Heat to the coolant [W]: h A_p (T_g - T_c); dT [K] gas minus coolant, rest as
    `taylor_toong_coefficient`.

    Source: Taylor and Toong, ASME 57-HT-17 (1957).
    """
    area = cylinders * 0.25 * math.pi * bore * bore
    return taylor_toong_coefficient(flow, bore, cylinders, mu, k) * area * dT


@compiled
def coolant_heat_scaled(
    Q_known: float, flow: float, flow_known: float, dT: float, dT_known: float, retard: float = 0.0
) -> float:
    """Heat to coolant [W] scaled from a known point: Q (m/m0)^0.75 (dT/dT0) (1 + 0.01 retard).

    flows [kg/s], dT [K] effective gas minus coolant temperature, retard [deg] from best spark.
    Source: Taylor-Toong scaling; 1 % per degree is common practice, no source, uncertain.
    """
    return float(Q_known * (flow / flow_known) ** 0.75 * dT / dT_known * (1.0 + 0.01 * retard))


@dataclass(frozen=True)
class HeatBalance:
    """Where the fuel's energy goes [W]; `rest` = fuel minus brake, exhaust and unburned."""

    fuel: float
    brake: float
    exhaust: float
    unburned: float
    rest: float

    def shares(self) -> dict[str, float]:
        """Shares of fuel energy [-]. Source: definition."""
        parts = {"brake": self.brake, "exhaust": self.exhaust, "unburned": self.unburned, "rest": self.rest}
        return {name: value / self.fuel for name, value in parts.items()}


def heat_balance(power: float, fuel: float, lam: float, T3: float, LHV: float = LHV_PETROL) -> HeatBalance:
    """Shares of fuel energy at measured exhaust temperature; power [W], fuel [kg/s], lambda [-], T3 [K], LHV
    [J/kg].

    Exhaust enthalpy counted above 298.15 K; the rest goes to coolant, oil and bay. Source: first law.
    """
    total = fuel * LHV
    exhaust = fuel * (1.0 + lam * AFR_STOICHIOMETRIC) * enthalpy_exhaust(T3, lam)
    unburned = total * (1.0 - combustion_efficiency(lam))
    return HeatBalance(total, power, exhaust, unburned, total - power - exhaust - unburned)


@compiled
def exhaust_temperature(
    power: float, fuel: float, lam: float, heat_out: float, T_charge: float, LHV: float, afr: float
) -> float:
    """Gas temperature at the exhaust ports by energy closure [K].

    m_exh h_s(T3) = m_f LHV eta_c + m_a cp (T_charge - 298.15) - P - Q_out; power, heat_out to coolant, oil
    and
    bay [W], fuel [kg/s], lambda [-], T_charge [K], LHV [J/kg], afr [-] stoichiometric. Source: first law.
    """
    air = lam * afr * fuel
    released = fuel * LHV * combustion_efficiency(lam)
    left = released + 1006.4 * air * (T_charge - 298.15) - power - heat_out
    return temperature_exhaust(max(left, 0.0) / max(air + fuel, 1e-9), lam)
