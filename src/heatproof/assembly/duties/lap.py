"""Point-mass lap: as fast as power and grip allow, the same lap after lap.

Corner speed √(μ g R); along the path, forward with power, resistance and traction, backward with the
brakes, until nothing changes round the lap. Grip used sideways is not there lengthways (friction circle). No
load transfer, no down-force, no banking; gear changes take no time.
"""

import math
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.duties.car import ROTATING, Car, crank_power, full_power, resistance, top_speed
from heatproof.assembly.duties.gears import engine_speed, full_load_gear
from heatproof.assembly.duties.steps import CannotDrive, Steps
from heatproof.kit.records.duty import Stretch
from heatproof.media.air import G0
from heatproof.numerics.compiled import compiled

STEP = 1.0  # m, longest
DRIVEN_SHARE = 0.6
"""Share of the weight on the driven axle. Common practice for one driven front axle, no source."""
AT_FULL = 0.99  # of full-load power, from which a step counts as full load
SETTLED = 1e-7  # of v², the largest change in a round
FARTHEST = 300e3  # m driven before a lap that never repeats is given up


@dataclass(frozen=True)
class Path:
    """(steps,) each: length m, curvature 1/m, grade [-]."""

    ds: np.ndarray
    curvature: np.ndarray
    grade: np.ndarray


def lay_path(stretches: tuple[Stretch, ...]) -> Path:
    """The circuit in steps of at most 1 m. CannotDrive for an empty one or a stretch without a length."""
    ds, curvature, grade = [], [], []
    for number, stretch in enumerate(stretches, start=1):
        length = stretch.straight or stretch.length
        if not length:
            raise CannotDrive(
                f"stretch {number} of the lap has no length; give straight, or radius and length"
            )
        n = math.ceil(length / STEP)
        ds.append(np.full(n, length / n))
        curvature.append(np.full(n, 1.0 / stretch.radius if stretch.radius else 0.0))
        grade.append(np.full(n, stretch.grade))
    if not ds:
        raise CannotDrive("the lap is empty; add stretches")
    return Path(np.concatenate(ds), np.concatenate(curvature), np.concatenate(grade))


def corner_speeds(path: Path, grip: float, top: float) -> np.ndarray:
    """(steps,) highest speed [m/s] at each node: √(μ g R) of the tighter neighbour, at most `top`."""
    tighter = np.maximum(path.curvature, np.roll(path.curvature, 1))
    return np.minimum(np.sqrt(grip * G0 / np.maximum(tighter, 1e-9)), top)


@compiled
def grip_left(v2, curvature, grip):
    """Share of the grip left lengthways [-]: √(1 − (v²/R / μg)²)."""
    used = v2 * curvature / (grip * 9.80665)
    return math.sqrt(max(1.0 - used * used, 0.0))


@compiled
def forward_acceleration(car, v2, curvature, grade, grip):
    """Highest acceleration [m/s2]: full load or traction, whichever is less, less resistance."""
    v = math.sqrt(v2)
    N = engine_speed(car, full_load_gear(car, v), v)
    power = car.efficiency * (full_power(car, N) - car.idle_power) / v
    traction = DRIVEN_SHARE * grip * car.mass * 9.80665 * grip_left(v2, curvature, grip)
    return (min(power, traction) - resistance(car, v, grade)) / (ROTATING * car.mass)


@compiled
def braking_deceleration(car, v2, curvature, grade, grip, braking):
    """Highest deceleration [m/s2]: brakes with the grip left, and resistance."""
    brakes = braking * 9.80665 * grip_left(v2, curvature, grip)
    return brakes + resistance(car, math.sqrt(v2), grade) / (ROTATING * car.mass)


@compiled
def forward_round(car, ds, curvature, grade, grip, v2):
    """One round with power, midpoint rule on v². Returns the largest change [m2/s2]."""
    most = 0.0
    for i in range(ds.size):
        j = (i + 1) % ds.size
        half = v2[i] + ds[i] * forward_acceleration(car, v2[i], curvature[i], grade[i], grip)
        reach = v2[i] + 2.0 * ds[i] * forward_acceleration(car, max(half, 1.0), curvature[i], grade[i], grip)
        reach = max(reach, 1.0)
        if reach < v2[j]:
            most = max(most, v2[j] - reach)
            v2[j] = reach
    return most


@compiled
def backward_round(car, ds, curvature, grade, grip, braking, v2):
    """One round backward with the brakes, midpoint rule on v². Returns the largest change [m2/s2]."""
    most = 0.0
    for k in range(ds.size):
        i = ds.size - 1 - k
        end = v2[(i + 1) % ds.size]
        half = end + ds[i] * braking_deceleration(car, end, curvature[i], grade[i], grip, braking)
        reach = end + 2.0 * ds[i] * braking_deceleration(car, half, curvature[i], grade[i], grip, braking)
        if reach < v2[i]:
            most = max(most, v2[i] - reach)
            v2[i] = reach
    return most


@compiled
def settle_lap(car, ds, curvature, grade, grip, braking, v2):
    """Rounds forward and backward until v² (m2/s2, in place) repeats; returns the rounds, 0 if never."""
    most = int(FARTHEST / ds.sum()) + 100
    for k in range(most):
        change = forward_round(car, ds, curvature, grade, grip, v2)
        change = max(change, backward_round(car, ds, curvature, grade, grip, braking, v2))
        if change <= SETTLED * v2.max():
            return k + 1
    return 0


@compiled
def lap_kernel(car, ds, grade, v2, dt, v, N, P, full):
    """Fills duration, speed, engine speed, crank power and full-load flag of each step."""
    for i in range(ds.size):
        j = (i + 1) % ds.size
        v[i] = 0.5 * (math.sqrt(v2[i]) + math.sqrt(v2[j]))
        dt[i] = ds[i] / v[i]
        accel = (v2[j] - v2[i]) / (2.0 * ds[i])
        N[i] = engine_speed(car, full_load_gear(car, v[i]), v[i])
        force = resistance(car, v[i], grade[i]) + ROTATING * car.mass * accel
        have = full_power(car, N[i])
        P[i] = min(crank_power(car, N[i], force * v[i]), have)
        full[i] = 1.0 if P[i] >= AT_FULL * have else 0.0


def lap_steps(car: Car, stretches: tuple[Stretch, ...], *, grip: float, braking: float) -> Steps:
    """One flying lap. `grip` and `braking`: cornering and braking over gravity [-]."""
    path = lay_path(stretches)
    v2 = corner_speeds(path, grip, float(top_speed(car, -1))) ** 2
    if not settle_lap(car, path.ds, path.curvature, path.grade, grip, braking, v2):
        raise CannotDrive("the lap does not settle: its speeds still change after 300 km")
    out = [np.empty_like(v2) for _ in range(5)]
    lap_kernel(car, path.ds, path.grade, v2, *out)
    return Steps(*out)
