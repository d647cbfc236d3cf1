"""A drive as steps of any length, each with its values held; one-second means of it."""

from dataclasses import dataclass

import numpy as np

from heatproof.network.engine import AC, COLUMNS, DEMAND, RUNNING, SPEED, VEHICLE

FULL_LOAD = 1e9
"""Demand [W] that asks for all the engine has."""


DECIMALS = 6
"""Rounding of means, so that seconds alike are equal: the solver takes long steps through them."""


class CannotDrive(ValueError):
    """The drive cannot be driven as it stands; the message says why."""


@dataclass(frozen=True)
class Steps:
    """(steps,) each: duration s, road speed m/s, engine speed rev/s, crank power W, 1 where at full load."""

    dt: np.ndarray
    v: np.ndarray
    N: np.ndarray
    P: np.ndarray
    full: np.ndarray

    @property
    def duration(self) -> float:
        """Seconds."""
        return float(self.dt.sum())


def joined(pieces: list[Steps]) -> Steps:
    """One after the other."""
    return Steps(
        *(np.concatenate([getattr(p, name) for p in pieces]) for name in ("dt", "v", "N", "P", "full"))
    )


def second_means(dt: np.ndarray, value: np.ndarray, seconds: int) -> np.ndarray:
    """(seconds,) means over each second of held values; repeats from the start where the steps end sooner.

    Exact: differences of the running integral at whole seconds.
    """
    time = np.concatenate([[0.0], np.cumsum(dt)])
    integral = np.concatenate([[0.0], np.cumsum(dt * value)])
    at = np.arange(seconds + 1.0)
    rounds = np.floor(at / time[-1])
    return np.diff(rounds * integral[-1] + np.interp(at - rounds * time[-1], time, integral))


def sample_rows(steps: Steps, seconds: int, *, air_conditioning: bool) -> np.ndarray:
    """(seconds, COLUMNS) rows of a running engine.

    DEMAND is FULL_LOAD only in a second wholly at full load; otherwise the mean crank power of the second. As
    overrun counts with the engine's own friction, that mean needs the same fuel as the second itself wherever
    fuel is linear in power. RUNNING follows engine speed, so that a trace may hold a stopped engine.
    """
    rows = np.zeros((seconds, COLUMNS))
    rows[:, VEHICLE] = np.round(second_means(steps.dt, steps.v, seconds), DECIMALS)
    N = np.round(second_means(steps.dt, steps.N, seconds), DECIMALS)
    rows[:, SPEED] = np.clip(N, steps.N.min(), steps.N.max())
    power = np.round(second_means(steps.dt, steps.P, seconds), DECIMALS)
    full = second_means(steps.dt, steps.full, seconds)
    rows[:, DEMAND] = np.where(full > 1.0 - 1e-6, FULL_LOAD, power)
    running = second_means(steps.dt, (steps.N > 0.0).astype(float), seconds) >= 0.5
    rows[~running, SPEED] = 0.0
    rows[~running, DEMAND] = 0.0
    rows[:, RUNNING] = running
    rows[:, AC] = running & air_conditioning
    return rows
