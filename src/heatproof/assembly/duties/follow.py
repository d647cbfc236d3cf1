"""Following a given speed: power from the road load, gear by rule."""

import numpy as np

from heatproof.assembly.duties.car import ROTATING, Car, crank_power, resistance, top_speed
from heatproof.assembly.duties.gears import engine_speed, road_gear, settled_gear
from heatproof.assembly.duties.steps import Steps
from heatproof.numerics.compiled import compiled

LONGEST_STEP = 0.1  # s


@compiled
def follow_kernel(car, dt, v, accel, grade, fixed_gear, N, P):
    """Fills engine speed (rev/s) and crank power (W) for each step; gear -1: by rule."""
    gear, since = 0, 1e9
    for k in range(dt.size):
        force = resistance(car, v[k], grade[k]) + ROTATING * car.mass * accel[k]
        wheel = force * v[k]
        if fixed_gear >= 0:
            gear = fixed_gear
        else:
            wanted = road_gear(car, v[k], max(wheel, 0.0) / car.efficiency + car.idle_power)
            gear = settled_gear(car, wanted, gear, since, v[k])
            since = since + dt[k] if wanted > gear else 0.0
        N[k] = engine_speed(car, gear, v[k])
        P[k] = crank_power(car, N[k], wheel)


def follow(
    car: Car, time: np.ndarray, speed: np.ndarray, *, grade: np.ndarray | float = 0.0, gear: int | None = None
) -> Steps:
    """Steps of at most 0.1 s through speeds (m/s) at times (s), straight lines between.

    `grade` [-] at the same times; `gear` counts from 1. Speed is cut to what the gearing allows.
    """
    fixed = -1 if gear is None else gear - 1
    t, v = refined(time, np.minimum(speed, top_speed(car, fixed)))
    slope = np.interp(t, time, np.broadcast_to(grade, time.shape))
    dt = np.diff(t)
    middle = 0.5 * (v[1:] + v[:-1])
    N, P = np.empty_like(dt), np.empty_like(dt)
    follow_kernel(car, dt, middle, np.diff(v) / dt, 0.5 * (slope[1:] + slope[:-1]), fixed, N, P)
    return Steps(dt, middle, N, P, np.zeros_like(dt))


def refined(time: np.ndarray, value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same straight lines, cut into pieces no longer than LONGEST_STEP."""
    pieces = np.maximum(np.ceil(np.diff(time) / LONGEST_STEP - 1e-9), 1).astype(int)
    starts = np.repeat(time[:-1], pieces)
    within = np.arange(pieces.sum()) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    t = np.append(starts + within * np.repeat(np.diff(time) / pieces, pieces), time[-1])
    return t, np.interp(t, time, value)


def held(car: Car, seconds: float, speed: float, *, grade: float = 0.0, gear: int | None = None) -> Steps:
    """One step at constant speed (m/s)."""
    fixed = -1 if gear is None else gear - 1
    v = min(speed, float(top_speed(car, fixed)))
    one = np.ones(1)
    N, P = np.empty(1), np.empty(1)
    follow_kernel(car, seconds * one, v * one, 0.0 * one, grade * one, fixed, N, P)
    return Steps(seconds * one, v * one, N, P, 0.0 * one)


def shortfall(car: Car, steps: Steps) -> tuple[float, int]:
    """Most power missing against the estimated full load [W], and the step where."""
    missing = steps.P - np.interp(steps.N, car.full_speed, car.full_power)
    k = int(np.argmax(missing))
    return float(missing[k]), k
