"""An invented log for pictures and tests: a duty of a project driven by a hidden car, with noise. No `run`: not timed.

The hidden car is the model with other values, so what a page shows of it proves nothing about a real car.
"""

from pathlib import Path

import numpy as np

from heatproof.assembly.model import lay_network
from heatproof.kit.project import Project
from heatproof.network import signals as S
from heatproof.verdict.solving import solve_duty_of
from heatproof.verdict.words import ZERO_C

PROBES = {
    "IAT [C]": "charge.plenum",
    "Coolant temp [C]": "coolant.engine_out",
    "Oil temp [C]": "oil.sump",
    "TC1 loom [C]": "loom",
    "TC2 brake line [C]": "brake_line",
}
HIDDEN = {"engine.coolant_heat_factor": 1.12}


def write_invented_log(
    project: Project, duty: str, path: Path, *, step_s: float = 0.5, seed: int = 4
) -> None:
    """CSV of one duty: engine channels and probes at `step_s`; noise 0.4 K with a memory of 30 s."""
    variant = project.variant()
    for name, factor in HIDDEN.items():
        try:
            variant = variant.replace(name, float(variant.value(name)) * factor)
        except KeyError:
            continue
    run = solve_duty_of(variant, duty, project.duties[duty], lay_network(variant)).run
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, run.time[-1], step_s)

    def signal(k: int, factor: float) -> np.ndarray:
        return np.interp(time, run.time, run.signal[:, k]) * factor

    columns = {
        "Time [s]": time,
        "RPM [rpm]": signal(S.ENGINE_SPEED, 60.0),
        "Speed [km/h]": signal(S.VEHICLE_SPEED, 3.6),
        "MAF [g/s]": signal(S.AIR, 1e3),
        "Lambda": signal(S.MIXTURE, 1.0),
        "MAP [kPa]": signal(S.MANIFOLD_PRESSURE, 1e-3),
        "Ambient temp [C]": np.full(time.size, run.around.temperature - ZERO_C)
        + rng.normal(0, 0.1, time.size),
    }
    for name, mass in PROBES.items():
        if mass in run.network.masses:
            clean = np.interp(time, run.time, run.state[:, run.network.mass(mass)]) - ZERO_C
            columns[name] = clean + remembering(rng, time.size, step_s)
    path.parent.mkdir(parents=True, exist_ok=True)
    table = np.column_stack(list(columns.values()))
    np.savetxt(path, table, fmt="%.3f", delimiter=",", header=",".join(columns), comments="")


def remembering(rng: np.random.Generator, n: int, step_s: float) -> np.ndarray:
    """AR(1) noise, K."""
    from scipy.signal import lfilter

    rho = float(np.exp(-step_s / 30.0))
    return np.asarray(lfilter([1.0], [1.0, -rho], rng.normal(0, 0.4 * np.sqrt(1 - rho**2), n)))
