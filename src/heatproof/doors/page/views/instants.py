"""Instants of a duty: the row at a time, and the ones a screen offers at once."""

from typing import Any

import numpy as np

from heatproof.doors.page import units
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.units import air_pressure, reader
from heatproof.kit.findings import Finding, Refused, listed, nearest
from heatproof.network import signals as S
from heatproof.network.solve import Run
from heatproof.verdict.words import clock, number


def duty_run(answer: Answer, duty: str | None) -> tuple[str, Run]:
    """The run of a duty; of the worst row's without one. Refused where there is none."""
    key = duty or answer.verdict.worst.duty
    if key not in answer.solved:
        known = list(answer.solved)
        raise Refused(
            [Finding("error", f"no duty {key!r}", allowed=listed(known), nearest=nearest(key, known))]
        )
    return key, answer.solved[key].run


def row_at(run: Run, time: float | None, default: int) -> int:
    """The stored row nearest to a time (s)."""
    if time is None or not np.isfinite(time):
        return default
    return int(np.argmin(np.abs(run.time - time)))


def running(run: Run) -> np.ndarray:
    """(rows,) True while the engine runs."""
    return np.asarray(run.signal[:, S.ENGINE_ON] > 0.5)


def hardest(run: Run) -> int:
    """Row late in the drive with the fastest air: where the flow drawing says most."""
    on = np.flatnonzero(running(run))
    late = on[on.size // 2 :] if on.size else np.array([0])
    return int(late[np.argmax(run.signal[late, S.VEHICLE_SPEED])])


def slowest(run: Run) -> int:
    """Row with the engine on and the least road speed, late in the drive."""
    on = np.flatnonzero(running(run))
    late = on[on.size // 2 :] if on.size else np.array([0])
    return int(late[::-1][np.argmin(run.signal[late[::-1], S.VEHICLE_SPEED])])


def last_running(run: Run) -> int:
    """Last row before key-off."""
    on = np.flatnonzero(running(run))
    return int(on[-1]) if on.size else 0


def instant_view(run: Run, row: int) -> dict[str, Any]:
    """What the car does at a row."""
    s = run.signal[row]
    speed, rpm, on = float(s[S.VEHICLE_SPEED]), s[S.ENGINE_SPEED] * 60.0, s[S.ENGINE_ON] > 0.5
    after = run.time[row] - run.duty.key_off
    words = (
        f"{units.reader().speed(speed)}, {number(rpm)} rpm"
        if on
        else f"engine off, {clock(max(after, 0.0))} after key-off"
    )
    return {
        "time": float(run.time[row]),
        "time_text": clock(float(run.time[row])),
        "speed": units.speed(speed),
        "rpm": float(rpm),
        "running": bool(on),
        "words": words,
        "fan": float(run.speed_of("fan")[row]),
    }


def duty_view(answer: Answer, key: str, run: Run) -> dict[str, Any]:
    """Length and key-off of a duty."""
    return {
        "key": key,
        "name": answer.solved[key].duty.name,
        "duration": float(run.duty.duration),
        "key_off": float(run.duty.key_off),
        "ambient": units.T(run.around.temperature),
    }


def ram_text(run: Run, row: int) -> str:
    """Ram pressure of the instant."""
    v = float(run.signal[row, S.VEHICLE_SPEED])
    rho = run.around.pressure / (287.05 * run.around.temperature)
    ram, unit = air_pressure(0.5 * rho * v * v), units.words()["air_pressure"]
    at = f"{reader().speed(v)} and {reader().temperature(run.around.temperature)}"
    return f"Ram pressure {number(ram, 1 if reader().us else 0)} {unit} at {at}."
