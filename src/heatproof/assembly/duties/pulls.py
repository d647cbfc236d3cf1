"""Full-load pulls in one gear, and the easy driving between them."""

import math

import numpy as np

from heatproof.assembly.duties.car import ROTATING, Car, full_power, resistance
from heatproof.assembly.duties.follow import follow
from heatproof.assembly.duties.steps import CannotDrive, Steps, joined
from heatproof.kit.records.duty import Pulls
from heatproof.numerics.compiled import compiled

PULL_STEPS = 200  # equal steps of speed in one pull
LEAST_ACCELERATION = 0.02  # m/s2: below it the pull ends
SLOWING, GATHERING = 2.0, 1.0  # m/s2 into and out of the rest; common practice, no source


@compiled
def pull_acceleration(car, per_metre, v):
    """Acceleration [m/s2] at full load in one gear: (η (P_full − P_idle)/v − F_r) / (1.05 m)."""
    force = car.efficiency * (full_power(car, per_metre * v) - car.idle_power) / v
    return (force - resistance(car, v, 0.0)) / (ROTATING * car.mass)


@compiled
def pull_kernel(car, per_metre, edges, dt, P):
    """Fills durations and powers of equal steps of speed; returns how many could be driven."""
    for k in range(dt.size):
        a = pull_acceleration(car, per_metre, 0.5 * (edges[k] + edges[k + 1]))
        if a < LEAST_ACCELERATION:
            return k
        dt[k] = (edges[k + 1] - edges[k]) / a
        P[k] = full_power(car, per_metre * 0.5 * (edges[k] + edges[k + 1]))
    return dt.size


def pull(car: Car, gear: int, from_speed: float, to_speed: float) -> tuple[Steps, float]:
    """One pull between engine speeds (rev/s) in a gear from 1; also the road speed reached [m/s].

    Starts no lower than idle speed; ends early where the car no longer gathers speed. Midpoint rule in 200
    equal steps of speed.
    """
    per_metre = float(car.per_metre[gear - 1])
    from_speed = max(from_speed, car.idle_speed)
    top = max(from_speed, min(to_speed, car.max_speed))
    edges = np.linspace(from_speed, top, PULL_STEPS + 1) / per_metre
    dt, P = np.zeros(PULL_STEPS), np.zeros(PULL_STEPS)
    n = pull_kernel(car, per_metre, edges, dt, P) if edges[-1] > edges[0] else 0
    v = 0.5 * (edges[1 : n + 1] + edges[:n])
    return Steps(dt[:n], v, per_metre * v, P[:n], np.ones(n)), float(edges[n])


def rest_profile(seconds: float, begin: float, rest: float, end: float) -> tuple[np.ndarray, np.ndarray]:
    """Times and speeds from the end of a pull through the rest speed to the next pull's first speed.

    Slows by 2 m/s2 and gathers by 1 m/s2; both ramps shrink alike where the rest is too short for them.
    """
    slow, gather = abs(begin - rest) / SLOWING, abs(end - rest) / GATHERING
    shrink = min(1.0, seconds / max(slow + gather, 1e-9))
    time = np.array([0.0, slow * shrink, seconds - gather * shrink, seconds])
    speed = np.array([begin, rest, rest, end])
    keep = np.concatenate([[True], np.diff(time) > 1e-9])
    return time[keep], speed[keep]


def pulls_steps(car: Car, drive: Pulls) -> tuple[Steps, Steps, float]:
    """All pulls, each followed by its rest, to a whole second; one pull alone; road speed it reached.

    CannotDrive where there is neither a pull nor a rest.
    """
    one, reached = pull(car, drive.gear, drive.from_speed, drive.to_speed)
    begin = max(drive.from_speed, car.idle_speed) / float(car.per_metre[drive.gear - 1])
    pieces = [one] if one.dt.size else []
    if drive.rest > 0.0:
        pieces.append(follow(car, *rest_profile(drive.rest, reached, drive.rest_speed, begin)))
    if not pieces or drive.count < 1:
        raise CannotDrive("the pulls last no time; correct gear, engine speeds, rest or count")
    all_pulls = joined(pieces * drive.count)
    left = math.ceil(all_pulls.duration - 1e-9) - all_pulls.duration
    if left > 1e-9:
        all_pulls = joined([all_pulls, follow(car, np.array([0.0, left]), np.full(2, drive.rest_speed))])
    return all_pulls, one, reached
