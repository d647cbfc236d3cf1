"""Which gear, and the engine speed in it. Gears count from 0 here; -1 means: choose."""

from heatproof.assembly.duties.car import full_power
from heatproof.numerics.compiled import compiled

IN_HAND = 0.9
"""On the road a gear must give the power asked for with 10 % in hand. Common practice, no source."""
SHIFT_AT = 0.97
"""At full load the next gear is taken at this share of the highest engine speed.

Common practice, no source."""
SETTLE = 3.0  # s a higher gear must have been right before it is taken, so that gears do not chatter


@compiled
def engine_speed(car, gear, v):
    """Engine speed [rev/s] in a gear at v (m/s); idle below clutch speed, never above the highest speed."""
    return min(max(car.per_metre[gear] * v, car.idle_speed), car.max_speed)


@compiled
def road_gear(car, v, power):
    """Highest gear that gives `power` (W at the crank) with 10 % in hand at 1500 rpm or more.

    The lower bound is 40 % of rated speed where that is less (slow engines). Where no gear does, the one with
    the most power; where every gear turns too fast, the longest.
    """
    best, most = car.per_metre.size - 1, -1.0
    for g in range(car.per_metre.size - 1, -1, -1):
        N = car.per_metre[g] * v
        if car.max_speed < N:
            continue
        have = full_power(car, N)
        if car.lowest_speed <= N and power <= IN_HAND * have:
            return g
        if most < have:
            best, most = g, have
    return best


@compiled
def full_load_gear(car, v):
    """Lowest gear that turns below the shift speed, the longest if none does: keeps N near rated speed."""
    for g in range(car.per_metre.size):
        if car.per_metre[g] * v <= SHIFT_AT * car.max_speed:
            return g
    return car.per_metre.size - 1


@compiled
def settled_gear(car, wanted, gear, since, v):
    """Gear to be in: down at once, up once `wanted` was higher for SETTLE seconds, or N would be too high."""
    up = wanted > gear
    if up and since < SETTLE and car.per_metre[gear] * v <= car.max_speed:
        return gear
    return wanted
