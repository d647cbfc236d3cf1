"""Duty record and variant → one row a second for the network, with notes and figures."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatproof.assembly.duties.car import make_car
from heatproof.assembly.duties.drives import Driven, drive_steps
from heatproof.assembly.duties.follow import held
from heatproof.assembly.duties.steps import FULL_LOAD, sample_rows, second_means
from heatproof.kit.records.duty import Duty as DutyRecord
from heatproof.kit.records.variant import Variant
from heatproof.network import solve
from heatproof.network.engine import AC, COLUMNS, DEMAND, RUNNING, SPEED


@dataclass(frozen=True)
class Plan:
    """A duty ready to solve: samples, warm start, what to tell people, figures of the drive (SI).

    figures: distance m, mean_speed m/s, top_speed m/s, full_load_share [-] of the drive's time, mean_power W
    at the crank; by kind also lap_time s, lap_length m, pull_time s, power_short W.
    """

    duty: solve.Duty
    start: np.ndarray
    settle: int
    notes: tuple[str, ...]
    figures: dict[str, float]


def plan_duty(
    duty: DutyRecord, variant: Variant, *, folder: Path | None = None, full_load: np.ndarray | None = None
) -> Plan:
    """All a solver needs. `folder`: project folder, for a trace file not read yet.

    `full_load` (2, points): rev/s and W, in place of the estimated full-load curve.
    CannotDrive (a trace: TraceError) where the drive cannot be driven.
    """
    car = make_car(variant, duty.air, duty.drive.added_mass, full_load)
    driven = drive_steps(car, duty.drive, variant.vehicle, folder)
    rows = sample_rows(driven.steps, driven.seconds, air_conditioning=duty.air_conditioning)
    idle = np.repeat(idle_row(duty, variant)[None], round(duty.idle_before_key_off), axis=0)
    soak = np.zeros((round(duty.soak), COLUMNS))
    samples = np.ascontiguousarray(np.vstack([rows, idle, soak]))
    start, settle = start_sample(duty, variant, full_load=full_load)
    key_off = len(rows) + len(idle)
    return Plan(solve.Duty(samples, key_off), start, settle, tuple(driven.notes), figures_of(driven))


def duty_samples(
    duty: DutyRecord, variant: Variant, *, folder: Path | None = None, full_load: np.ndarray | None = None
) -> solve.Duty:
    """Samples alone; see `plan_duty`."""
    return plan_duty(duty, variant, folder=folder, full_load=full_load).duty


def held_longer(duty: solve.Duty, seconds: int) -> solve.Duty:
    """The drive's samples averaged over `seconds`, so that a step may be as long.

    The soak is left as it is, and so are seconds between which full load or overrun begins or ends: neither is a
    power that a mean could be taken of (overrun burns nothing).
    """
    whole = duty.key_off // seconds * seconds
    blocks = duty.samples[:whole].reshape(-1, seconds, duty.samples.shape[1])
    demand = blocks[:, :, DEMAND]
    kind = np.where(demand >= FULL_LOAD, 2, np.sign(demand))
    alike = (kind == kind[:, :1]).all(axis=1)
    means = np.broadcast_to(blocks.mean(axis=1, keepdims=True), blocks.shape)
    drive = np.where(alike[:, None, None], means, blocks).reshape(whole, -1)
    return solve.Duty(np.ascontiguousarray(np.vstack([drive, duty.samples[whole:]])), duty.key_off)


def start_sample(
    duty: DutyRecord, variant: Variant, *, full_load: np.ndarray | None = None
) -> tuple[np.ndarray, int]:
    """Row of the warm start's cruise and how long it is held (s); engine off and 0 s for a cold start."""
    if duty.start.cold:
        return np.zeros(COLUMNS), 0
    car = make_car(variant, duty.air, duty.drive.added_mass, full_load)
    steps = held(car, 1.0, duty.start.speed)
    return sample_rows(steps, 1, air_conditioning=duty.air_conditioning)[0], round(duty.start.settle)


def idle_row(duty: DutyRecord, variant: Variant) -> np.ndarray:
    """The engine idling, the car standing."""
    row = np.zeros(COLUMNS)
    row[SPEED], row[DEMAND], row[RUNNING] = variant.engine.idle_speed, variant.engine.idle_power, 1.0
    row[AC] = float(duty.air_conditioning)
    return row


def figures_of(driven: Driven) -> dict[str, float]:
    """Figures over the drive's whole length."""
    steps, n = driven.steps, driven.seconds
    v = second_means(steps.dt, steps.v, n)
    return {
        **driven.figures,
        "distance": float(v.sum()),
        "mean_speed": float(v.mean()),
        "top_speed": float(steps.v.max()),
        "full_load_share": float(second_means(steps.dt, steps.full, n).mean()),
        "mean_power": float(second_means(steps.dt, steps.P, n).mean()),
    }
