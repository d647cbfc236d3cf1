"""Each kind of drive as steps, with its length in whole seconds, notes and figures."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from heatproof.assembly.duties.car import Car, top_speed
from heatproof.assembly.duties.follow import follow, held, refined, shortfall
from heatproof.assembly.duties.lap import lap_steps
from heatproof.assembly.duties.pulls import pulls_steps
from heatproof.assembly.duties.schedules import schedule
from heatproof.assembly.duties.steps import CannotDrive, Steps
from heatproof.assembly.duties.trace import trace_columns
from heatproof.kit.records.duty import Crawl, Cruise, Drive, Grade, Lap, Pulls, Schedule, Trace
from heatproof.kit.records.vehicle import Vehicle

LEAST_LAP_SPEED = 1.01  # m/s
RAMP = 0.8  # m/s2 in stop and go; common practice, no source


@dataclass
class Driven:
    """Steps of one drive; they repeat where they are shorter than `seconds`."""

    steps: Steps
    seconds: int
    notes: list[str] = field(default_factory=list)
    figures: dict[str, float] = field(default_factory=dict)


def whole(seconds: float) -> int:
    """Whole seconds that hold a duration (s), at least one."""
    return max(math.ceil(seconds - 1e-6), 1)


def drive_steps(car: Car, drive: Drive, vehicle: Vehicle, folder: Path | None = None) -> Driven:
    """Steps, length, notes and figures of any drive. CannotDrive where it cannot be driven."""
    check_gear(car, drive)
    if isinstance(drive, Trace):
        return trace(car, drive, folder)
    if isinstance(drive, Lap):
        return lap(car, drive, vehicle)
    by_kind: dict[type, Callable[[Car, Any], Driven]] = {
        Cruise: steady,
        Grade: steady,
        Crawl: crawl,
        Pulls: pulls,
        Schedule: official,
    }
    return by_kind[type(drive)](car, drive)


def check_gear(car: Car, drive: Drive) -> None:
    """CannotDrive where the drive asks for a gear the car has not."""
    gear = getattr(drive, "gear", None)
    if gear is not None and not 1 <= gear <= car.per_metre.size:
        raise CannotDrive(f"the car has no gear {gear}; it has gears 1 to {car.per_metre.size}")


def steady(car: Car, drive: Cruise | Grade) -> Driven:
    """Constant speed. Power beyond the engine stays in the demand, with a note."""
    seconds = whole(drive.duration)
    grade = drive.grade if isinstance(drive, Grade) else 0.0
    top = float(top_speed(car, -1 if drive.gear is None else drive.gear - 1))
    out = Driven(held(car, seconds, drive.speed, grade=grade, gear=drive.gear), seconds)
    note_top_speed(car, drive.speed, out, top)
    note_shortfall(car, out)
    return out


def crawl(car: Car, drive: Crawl) -> Driven:
    """Moving and standing in turn; ramps of 0.8 m/s² lie within the moving time.

    Mean speed is v (t_m − v/a)/(t_m + t_s); the top speed stays lower where t_m is too short for the ramps.
    """
    top = min(drive.speed, 0.5 * RAMP * drive.moving)
    ramp = top / RAMP
    time = np.array([0.0, ramp, drive.moving - ramp, drive.moving, drive.moving + drive.standing])
    speed = np.array([0.0, top, top, 0.0, 0.0])
    keep = np.concatenate([[True], np.diff(time) > 1e-9])
    out = Driven(follow(car, time[keep], speed[keep]), whole(drive.duration))
    if top < drive.speed:
        out.notes.append(
            f"moving time is too short for {drive.speed * 3.6:.3g} km/h; reaches {top * 3.6:.3g} km/h"
        )
    note_shortfall(car, out)
    return out


def pulls(car: Car, drive: Pulls) -> Driven:
    """Pulls, each followed by its rest."""
    steps, one, reached = pulls_steps(car, drive)
    wanted = min(drive.to_speed, car.max_speed) / float(car.per_metre[drive.gear - 1])
    out = Driven(steps, whole(steps.duration))
    out.figures["pull_time"] = one.duration
    if car.max_speed <= drive.from_speed:
        out.notes.append("no pull: they start above the engine's highest speed")
    elif car.max_speed < drive.to_speed:
        out.notes.append(f"pulls end at the engine's highest speed, {car.max_speed * 60:.0f} rpm")
    if reached < wanted * (1.0 - 1e-9):
        most = reached * float(car.per_metre[drive.gear - 1]) * 60.0
        out.notes.append(f"pulls end at {most:.0f} rpm: the car gathers no more speed in gear {drive.gear}")
    return out


def lap(car: Car, drive: Lap, vehicle: Vehicle) -> Driven:
    """Flying laps."""
    steps = lap_steps(car, drive.lap, grip=vehicle.lateral_grip, braking=vehicle.braking_grip)
    out = Driven(steps, whole(drive.duration))
    out.figures["lap_time"] = steps.duration
    out.figures["lap_length"] = float(steps.dt @ steps.v)
    if steps.v.min() < LEAST_LAP_SPEED:
        out.notes.append(
            "the engine cannot hold the car on the steepest part of the lap; driven at 1 m/s there"
        )
    return out


def official(car: Car, drive: Schedule) -> Driven:
    """An official schedule, as often as asked."""
    time, speed = schedule(drive.name)
    out = Driven(follow(car, time, speed), whole(time[-1] * drive.repeat))
    note_top_speed(car, float(speed.max()), out)
    note_shortfall(car, out)
    return out


def trace(car: Car, drive: Trace, folder: Path | None = None) -> Driven:
    """Speed over time; engine speed and crank power where given, else from gearing and road load."""
    columns = trace_columns(drive, folder)
    time, speed = extended(columns.pop("time"), columns)
    steps = follow(car, time, speed, grade=columns.get("grade", 0.0))
    out = Driven(steps, whole(time[-1]))
    note_top_speed(car, float(speed.max()), out)
    t, _ = refined(time, speed)
    middle = 0.5 * (t[1:] + t[:-1])
    given = {
        short: np.interp(middle, time, columns[name])
        for name, short in (("engine_speed", "N"), ("power", "P"))
        if name in columns
    }
    if "N" in given and given["N"].max() > car.max_speed:
        out.notes.append(f"engine speed of the trace is cut at the highest, {car.max_speed * 60:.0f} rpm")
        given["N"] = np.minimum(given["N"], car.max_speed)
    out.steps = Steps(steps.dt, steps.v, given.get("N", steps.N), given.get("P", steps.P), steps.full)
    note_shortfall(car, out)
    return out


def extended(time: np.ndarray, columns: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Time and speed, every column held to the next whole second."""
    if time[-1] < whole(time[-1]) - 1e-6:
        time = np.append(time, whole(time[-1]))
        columns.update({name: np.append(column, column[-1]) for name, column in columns.items()})
    return time, columns["speed"]


def note_top_speed(car: Car, speed: float, out: Driven, top: float | None = None) -> None:
    """Says where gearing does not allow a speed (m/s). `top` (m/s): of the gear; the longest if left out."""
    top = float(top_speed(car, -1)) if top is None else top
    if speed > top * (1.0 + 1e-9):
        out.notes.append(
            f"{speed * 3.6:.4g} km/h is beyond the gearing; driven at {top * 3.6:.4g} km/h, "
            "the highest engine speed in the longest gear allowed"
        )


def note_shortfall(car: Car, out: Driven) -> None:
    """Says where the speed needs more power than the engine is thought to have."""
    missing, k = shortfall(car, out.steps)
    out.figures["power_short"] = max(missing, 0.0)
    if missing > 0.0:
        need = out.steps.P[k]
        out.notes.append(
            f"the speed needs up to {need / 1e3:.3g} kW at {out.steps.N[k] * 60:.0f} rpm; "
            f"full load there is about {(need - missing) / 1e3:.3g} kW"
        )
