"""How long boost takes to come: the rotor's balance of power after the pedal goes down in third gear.

In third gear the engine's speed hardly changes meanwhile, so it is held at half its highest. Gas temperature
before the turbine, plenum temperature and target boost come from a solved duty's full-load instants, so what a
wrap or a coating of the manifold adds to the turbine's inlet is in it. Boost and compressor work follow the
square of shaft speed (affinity laws), flow follows manifold pressure, the wastegate is shut:

    J dω/dt = (η_m P_t − P_c) / ω ,   p_m = p_a + b (ω/ω_b)² ,   Δh_c = Δh_b (ω/ω_b)² .

ω_b, the shaft speed of full boost, is read from the run where there is a compressor map; without one it is
estimated from Δh = μ U² and ṁ = φ ρ D² U with μ = 0.72, φ = 0.14 (common practice, no source). The rotor starts at
0.3 ω_b (common practice, no source). Good for comparing variants of one car; ± 40 % as an absolute figure.
"""

import math
from collections.abc import Iterable

import numpy as np

from heatproof.assembly.exhaust import back_pressure
from heatproof.assembly.model import Solved
from heatproof.kit.records.variant import Variant
from heatproof.laws.exhaust_pipe import pressure_ahead
from heatproof.laws.turbo import compressor_outlet_temperature, spool_acceleration, turbine_match
from heatproof.media.exhaust import gamma_exhaust
from heatproof.network import signals as S
from heatproof.network.solve import Run

WORK_COEFFICIENT, FLOW_COEFFICIENT, FIRST_SHARE = 0.72, 0.14, 0.3
BOOST_REACHED = 0.9  # of the target counts as boost
CP_AIR, R_AIR, R_EXHAUST = 1006.4, 287.05, 287.0
STEP, LONGEST = 2e-3, 12.0  # s
FULL = 0.9  # of the highest power counts as full load
T_BACK = 950.0  # K that the back pressure's coefficient refers to, see assembly.exhaust


def time_to_boost(variant: Variant, solved: Iterable[Solved]) -> float | None:
    """s from pedal down to 90 % of full boost in third gear; None without a turbo or where boost never comes."""
    run = strongest(solved)
    turbo, engine = variant.turbo, variant.engine
    if run is None or turbo is None:
        return None
    rows = full_rows(run)
    signal = run.signal[rows]
    p_a = run.around.pressure
    boost = float(signal[:, S.MANIFOLD_PRESSURE].max()) - p_a
    if boost <= 1e3:
        return None
    T_m = mean_state(run, rows, "charge.plenum")
    T_1 = mean_state(run, rows, "charge.inlet")
    T_3 = mean_state(run, rows, turbine_inlet(variant))
    cp, mixture = float(signal[:, S.EXHAUST_CP].mean()), float(signal[:, S.MIXTURE].mean())
    N = 0.5 * engine.max_speed
    breathing = engine.volumetric_efficiency
    eta_v = breathing.factor * float(np.interp(N, breathing.speed, breathing.value))
    per_pascal = eta_v * engine.displacement * N / 2.0 / (R_AIR * T_m)
    rich = 1.0 + 1.0 / (mixture * engine.fuel.stoichiometric_air_fuel)
    eta_c = turbo.compressor_efficiency or 0.7
    T_2 = compressor_outlet_temperature(T_1, (p_a + boost) / p_a, eta_c)
    work = CP_AIR * (T_2 - T_1)
    omega_b = shaft_speed(signal, work, float(signal[:, S.AIR].max()), p_a / (R_AIR * T_1))
    gamma, k_back = gamma_exhaust(T_3, mixture), back_pressure(variant)

    def surplus(share: float) -> float:
        air = per_pascal * (p_a + boost * share**2)
        flow = air * rich
        p_4 = pressure_ahead(p_a, k_back * flow * flow * T_3 / T_BACK)
        eta_t = turbo.turbine_efficiency
        _, _, power = turbine_match(
            math.inf, flow, p_4, T_3, turbo.swallowing_area, eta_t, cp, gamma, R_EXHAUST
        )
        return float(turbo.mechanical_efficiency * power - air * work * share**2)

    return integrated(surplus, turbo.rotor_inertia, omega_b)


def integrated(surplus, inertia: float, omega_b: float) -> float | None:  # type: ignore[no-untyped-def]
    """Seconds until 90 % of boost; None where the rotor stops gathering speed before. Explicit midpoint."""
    omega, t = FIRST_SHARE * omega_b, 0.0
    target = math.sqrt(BOOST_REACHED) * omega_b

    def rate(w: float) -> float:
        return float(spool_acceleration(surplus(w / omega_b), inertia, w))

    while omega < target:
        middle = omega + 0.5 * STEP * rate(omega)
        step = STEP * rate(middle)
        if t > LONGEST or step <= 0.0:
            return None
        if omega + step >= target:
            return t + STEP * (target - omega) / step
        omega, t = omega + step, t + STEP
    return t


def strongest(solved: Iterable[Solved]) -> Run | None:
    """The run with the highest power."""
    return max((one.run for one in solved), key=lambda run: run.signal[:, S.BRAKE_POWER].max(), default=None)


def full_rows(run: Run) -> np.ndarray:
    """Rows at full load."""
    power = run.signal[:, S.BRAKE_POWER]
    return np.flatnonzero(power >= FULL * power.max())


def mean_state(run: Run, rows: np.ndarray, mass: str) -> float:
    """Mean temperature (K)."""
    return float(run.state[rows, run.network.mass(mass)].mean())


def turbine_inlet(variant: Variant) -> str:
    """Gas node just before the turbine."""
    names = [name for name, piece in variant.exhaust.items() if piece.turbine]
    return f"exhaust.{names[0]}" if names else "exhaust.ports"


def shaft_speed(signal: np.ndarray, work: float, flow: float, density: float) -> float:
    """rad/s at full boost: from the map, else from work and flow of a usual wheel."""
    known = float(signal[:, S.TURBO_SPEED].max())
    if known > 0.0:
        return 2.0 * math.pi * known
    tip = math.sqrt(work / WORK_COEFFICIENT)
    diameter = math.sqrt(flow / (FLOW_COEFFICIENT * density * tip))
    return 2.0 * tip / diameter
