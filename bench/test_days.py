"""Correcting eight values of the example from a one-hour log of twelve probes; the log comes from the model itself
with other values, noise with memory on top. Also comparing that log with prediction."""

import shutil
import tempfile
import time
from importlib.resources import files
from pathlib import Path

import numpy as np
from scipy.signal import lfilter

from heatproof.assembly.model import lay_network
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import Start, Weather
from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.correct import correct
from heatproof.logs.correcting.correction_fit import TestRun
from heatproof.logs.correcting.parameters import applied, chosen_parameters
from heatproof.logs.predicting.against import compare_with_model
from heatproof.logs.predicting.logged_duty import Day, LoggedDuty
from heatproof.logs.predicting.predict import Reading, run_logged
from heatproof.logs.reading.records import Channel

PATHS = (
    "engine.coolant_heat_factor",
    "engine.indicated_efficiency",
    "cores.radiator.geometry.fouling_factor",
    "turbo.turbine_correlation_factor",
    "turbo.neck_conductance",
    "turbo.oil_conductance",
    "exhaust.downpipe.correlation_factor",
    "air.passages.gap_round_radiator.area",
)
PLACES = (
    "coolant.engine_out",
    "coolant.radiator_out",
    "oil.sump",
    "oil.turbo_oil.fluid",
    "turbine_housing",
    "bearing_housing",
    "compressor_housing",
    "downpipe",
    "exhaust_manifold",
    "air.bay_rear",
    "charge.plenum",
    "charge.inlet",
)
DRIVE_S, SOAK_S = 2700, 900


def drive() -> LoggedDuty:
    """Three quarters of an hour of hard road, then a quarter of an hour of soak."""
    rng = np.random.default_rng(12)
    marks = np.cumsum(rng.uniform(15, 60, DRIVE_S // 15 + 4))
    levels = rng.uniform(12, 50, marks.size)
    speed = np.interp(np.arange(DRIVE_S), marks, levels)
    speed = np.convolve(np.pad(speed, 7, mode="edge"), np.ones(15) / 15, mode="valid")
    weather = Weather(ambient=297.15, sun=500.0)
    return LoggedDuty(
        name="hour", from_s=0.0, speed=speed, engine_speed=None, air=None, mixture=None, pedal=None, grade=None,
        key_off=DRIVE_S, soak=float(SOAK_S), weather=weather, start=Start(), day=Day(),
    )  # fmt: skip


def probe(run, place: str, rng: np.random.Generator) -> Reading:
    """One probe at 1 Hz."""
    at = np.arange(0.0, DRIVE_S + SOAK_S, 1.0)
    rho = np.exp(-1 / 60)
    noise = lfilter([1.0], [1.0, -rho], rng.normal(0, 0.6 * np.sqrt(1 - rho**2), at.size))
    values = np.interp(at, run.time, run.state[:, run.network.mass(place)]) + noise
    channel = Channel(place, "surface_temperature", "degC", "K", at, values, "bench", "K class 1", place)
    return Reading(channel, place, at, values)


def one_hour(variant: Variant) -> tuple[TestRun, np.ndarray]:
    """The run and the hidden truth."""
    rng = np.random.default_rng(3)
    parameters = chosen_parameters(variant, PATHS)
    x = np.clip(rng.normal(size=len(parameters)), -1.5, 1.5)
    logged = drive()
    true = applied(variant, parameters, x)
    run = run_logged(true, logged, lay_network(true))
    return TestRun("hour", logged, [probe(run, place, rng) for place in PLACES], from_s=300.0), x


def run() -> list[tuple[str, float, str]]:
    """Rows of (label, value, unit)."""
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room) / "hatchback"
        shutil.copytree(str(files("heatproof") / "examples" / "hatchback"), folder)
        variant = read_project(folder).variant()
    test, x = one_hour(variant)
    begin = time.perf_counter()
    found = compare_with_model(variant, test.logged, test.readings, from_s=300.0)
    compared = time.perf_counter() - begin
    begin, used = time.perf_counter(), time.process_time()
    result = correct(variant, chosen_parameters(variant, PATHS), [test])
    fitted, used = time.perf_counter() - begin, time.process_time() - used
    inside = float(np.mean(np.abs(result.x - x) < 1.96 * result.sd))
    before, after = (np.sqrt(np.mean([r[k] ** 2 for r in result.residual.values()])) for k in (0, 1))
    return [
        ("one-hour log against prediction, 12 probes", compared, "s"),
        ("correction of 8 values from it", fitted, "s"),
        ("  processor time of it", used, "s"),
        ("  model runs of an hour", float(result.solves), ""),
        ("  misfit before", float(before), "K"),
        ("  misfit after", float(after), "K"),
        ("  hidden values inside their 95 % interval", inside, ""),
        ("  channels compared", float(len(found.channels)), ""),
    ]
