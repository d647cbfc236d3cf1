"""Full-load power over engine speed: an estimate for choosing gears and driving laps.

The engine model computes the power itself; this only has to be near enough for speeds and times.
"""

import numpy as np

from heatproof.kit.records.engine import Engine

STANDARD_PRESSURE = 101_325.0  # Pa, at which rated power is taken to hold
POINTS = 96
BAND_FROM = 0.5  # of rated speed: where full torque starts without a turbo
LEAST_BOOST_SPEED = 0.55  # of boost_from, where boost is nil; as in network.engine.boost_target


def pressure_share(engine: Engine, p_ambient: float) -> float:
    """Manifold pressure of full load over that of standard air at sea level [-]; p_ambient [Pa]."""
    if engine.manifold_pressure is not None:
        return 1.0
    boost = engine.boost or 0.0
    return (p_ambient + boost) / (STANDARD_PRESSURE + boost)


def full_load_power(engine: Engine, N: float, p_ambient: float = STANDARD_PRESSURE) -> float:
    """Full-load power at the crank [W] at N [rev/s] and ambient pressure [Pa]; an estimate.

    Torque is that of rated power from `boost_from` (without a turbo: half the rated speed) to rated speed.
    Above, torque falls as 1/N (constant power). Below, it falls with the manifold pressure that boost can
    reach there and with the volumetric efficiency. Scaled by the manifold pressure of the day.
    """
    torque_2pi = engine.rated_power / engine.rated_speed  # J per revolution
    if engine.rated_speed <= N:
        return engine.rated_power * pressure_share(engine, p_ambient)
    return torque_2pi * N * torque_share(engine, N, p_ambient) * pressure_share(engine, p_ambient)


def torque_share(engine: Engine, N: float, p_ambient: float) -> float:
    """Torque below rated speed over that of rated power [-], at N [rev/s] and ambient pressure [Pa]."""
    start = engine.boost_from or BAND_FROM * engine.rated_speed
    if start <= N:
        return 1.0
    breathing = engine.volumetric_efficiency
    eta, eta_start = np.interp([N, start], breathing.speed, breathing.value)
    return float(boost_share(engine, N, p_ambient) * min(eta / eta_start, 1.0))


def boost_share(engine: Engine, N: float, p_ambient: float) -> float:
    """Manifold pressure reached at N [rev/s] over that of full boost [-]; p_ambient [Pa]."""
    boost = engine.boost or max((engine.manifold_pressure or p_ambient) - p_ambient, 0.0)
    if boost == 0.0 or engine.boost_from is None:
        return 1.0
    low = LEAST_BOOST_SPEED * engine.boost_from
    reached = boost * min(max((N - low) / (engine.boost_from - low), 0.0), 1.0)
    return (p_ambient + reached) / (p_ambient + boost)


def full_load_table(engine: Engine, p_ambient: float) -> np.ndarray:
    """(2, points): engine speed [rev/s] from a third of idle to the highest, and full-load power [W]."""
    knots = [engine.rated_speed, engine.boost_from or BAND_FROM * engine.rated_speed]
    grid = np.linspace(engine.idle_speed / 3.0, engine.max_speed, POINTS)
    speeds = np.unique(np.concatenate([grid, [k for k in knots if grid[0] < k < grid[-1]]]))
    return np.array([speeds, [full_load_power(engine, float(N), p_ambient) for N in speeds]])
