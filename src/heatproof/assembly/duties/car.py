"""The car as floats and arrays for the compiled loops: weight, resistance, gearing, full-load power."""

import math
from typing import NamedTuple

import numpy as np

from heatproof.assembly.duties.full_load import full_load_table
from heatproof.kit.records.duty import Weather
from heatproof.kit.records.variant import Variant
from heatproof.laws.engine import motored_friction_pressure
from heatproof.laws.vehicle import road_load
from heatproof.media.air import atmosphere, density_air, humidity_ratio
from heatproof.network.engine import curve
from heatproof.numerics.compiled import compiled

ROTATING = 1.05
"""Mass that must be accelerated over mass that is weighed: wheels, shafts, flywheel.

Common practice, no source; first gear is nearer 1.3, top gear nearer 1.04."""
OVERRUN_FROM = 1.25
"""Fuel is cut on overrun above this multiple of idle speed; below it the engine idles.

Common practice, no source."""


class Car(NamedTuple):
    """SI floats; `per_metre` (gears,): engine revolutions per metre, first gear first."""

    mass: float  # kg, with kit and load
    drag_area: float  # m2
    rho: float  # kg/m3, of the day
    wind: float  # m/s, head wind
    rolling: float
    efficiency: float  # driveline
    idle_power: float  # W, accessories
    idle_speed: float  # rev/s
    max_speed: float  # rev/s
    lowest_speed: float  # rev/s, below which no gear is chosen on the road
    friction: float  # J per rev and Pa of motored friction: factor × displacement / 2
    per_metre: np.ndarray
    full_speed: np.ndarray  # (points,) rev/s
    full_power: np.ndarray  # (points,) W


def ambient_pressure(air: Weather) -> float:
    """Air pressure of the day [Pa]."""
    return air.pressure if air.pressure is not None else atmosphere(air.altitude)[1]


def air_density(air: Weather) -> float:
    """Density of the day's moist air [kg/m3]."""
    p = ambient_pressure(air)
    return float(density_air(air.ambient, p, humidity_ratio(air.ambient, p, air.humidity)))


def make_car(
    variant: Variant, air: Weather, added_mass: float = 0.0, full_load: np.ndarray | None = None
) -> Car:
    """The variant on this day. `full_load` (2, points): rev/s and W, in place of the estimated curve."""
    vehicle, engine = variant.vehicle, variant.engine
    table = (
        full_load_table(engine, ambient_pressure(air)) if full_load is None else np.asarray(full_load, float)
    )
    ratios = np.asarray(vehicle.gear_ratios, dtype=float)
    return Car(
        mass=vehicle.mass + variant.mass + added_mass,
        drag_area=vehicle.drag_area,
        rho=air_density(air),
        wind=air.wind,
        rolling=vehicle.rolling_resistance,
        efficiency=vehicle.driveline_efficiency,
        idle_power=engine.idle_power,
        idle_speed=engine.idle_speed,
        max_speed=engine.max_speed,
        lowest_speed=min(1500.0 / 60.0, 0.4 * engine.rated_speed),
        friction=engine.friction_factor * engine.displacement / 2.0,
        per_metre=np.ascontiguousarray(ratios * vehicle.final_drive / (2.0 * math.pi * vehicle.wheel_radius)),
        full_speed=np.ascontiguousarray(table[0]),
        full_power=np.ascontiguousarray(table[1]),
    )


@compiled
def resistance(car, v, grade):
    """Force against motion at constant speed [N]: m g (c_r cos θ + sin θ) + ½ρ C_d A u|u|.

    u = v + head wind [m/s]; grade [-], rise over run.
    """
    u = v + car.wind
    still = road_load(0.0, car.mass, car.drag_area, car.rho, car.rolling, grade, 0.0)
    return still + 0.5 * car.rho * car.drag_area * u * abs(u)


@compiled
def full_power(car, N):
    """Full-load power at the crank [W] at N (rev/s); estimate, see full_load.py."""
    return curve(N, car.full_speed, car.full_power)


@compiled
def crank_power(car, N, wheel):
    """Brake power at the crank [W] for a power at the wheels [W], at engine speed N (rev/s).

    P = P_w/η + P_idle driving. On overrun P = P_w η + P_idle, no lower than the engine's own friction: the
    brakes take the rest. Near idle speed the clutch is open and the engine idles. Clutch slip is not counted.
    """
    if wheel >= 0.0:
        return wheel / car.efficiency + car.idle_power
    if N / car.idle_speed < OVERRUN_FROM:
        return car.idle_power
    return max(wheel * car.efficiency + car.idle_power, -car.friction * N * motored_friction_pressure(N))


@compiled
def top_speed(car, gear):
    """Road speed [m/s] at the engine's highest speed in a gear (from 0), in the longest for -1."""
    return car.max_speed / (car.per_metre.min() if gear < 0 else car.per_metre[gear])
