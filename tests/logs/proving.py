"""A small invented project with hidden truth, and logs driven from it: two loggers, as messy as real ones.

Invented data throughout. The truth is the model with other values; what the logs add is noise with memory,
sensor lag, a cold junction, a second clock with offset and drift, polled channels, drop-outs and spikes.
"""

import shutil
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.signal import lfilter

from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import Duty, Start, Trace, Weather
from heatproof.kit.records.variant import Variant
from heatproof.logs.cleaning.join import Joined, join_files
from heatproof.logs.correcting.correction_fit import TestRun
from heatproof.logs.correcting.parameters import Parameter, applied
from heatproof.logs.predicting.lag import shown
from heatproof.logs.predicting.logged_duty import Day, logged_duty
from heatproof.logs.predicting.places import map_places, places
from heatproof.logs.predicting.predict import readings_of
from heatproof.logs.reading.channel_map import read_channel_map
from heatproof.network import signals as S

SMALL = Path(__file__).parents[1] / "kit" / "small"
OFFSET_S, DRIFT = 7.3, 120e-6
AMBIENT = 295.15
PATHS = (
    "engine.coolant_heat_factor",
    "cores.radiator.rated.heat_per_kelvin",
    "exhaust.manifold.correlation_factor",
    "links.manifold_to_head.contact_conductance",
)
PROBES = {
    "Coolant out": ("coolant.hot", 3.0),
    "Coolant in": ("coolant.cold", 3.0),
    "Block": ("block", 2.0),
    "Manifold": ("manifold", 4.0),
    "Bay air": ("air.bay", 8.0),
    "Loom": ("loom", 2.0),
    "Oil sump": ("oil.sump", 3.0),
}
"""Name of a probe to its place and response time (s)."""


SURFACES = ("block", "manifold", "loom")


@dataclass(frozen=True)
class Truth:
    """What the logs hide. noise: sd (K) and correlation time (s) of each probe."""

    x: np.ndarray
    noise_K: float = 0.6
    memory_s: float = 60.0
    sensor_K: float = 0.9
    junction_K: float = 0.577
    mounting: float = 0.02


def small_project(folder: Path) -> Path:
    """The tests' small car as a project folder, with a radiator so small that the thermostat stays open."""
    shutil.copytree(SMALL, folder, ignore=shutil.ignore_patterns("results"))
    car = folder / "car.yaml"
    text = car.read_text(encoding="utf-8")
    for old, new in (
        ("value: 550 W/K", "value: 150 W/K"),
        ("opens: 84 degC, fully_open: 94", "opens: 35 degC, fully_open: 40"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    car.write_text(text, encoding="utf-8")
    return folder


def drive(rng: np.random.Generator, seconds: int) -> np.ndarray:
    """Speed (m/s) each second: stretches of a country road."""
    marks = np.cumsum(rng.uniform(20, 60, seconds // 20 + 4))
    levels = rng.uniform(14, 33, marks.size)
    kernel = np.ones(9) / 9
    return np.convolve(np.interp(np.arange(seconds + 16), marks, levels), kernel, mode="valid")[:seconds]


def true_run(variant: Variant, speed: np.ndarray, soak_s: float) -> Solved:
    """The hidden car driven through a trace."""
    time = tuple(float(k) for k in range(speed.size))
    trace = Trace(time=time, speed=tuple(speed.tolist()))
    duty = Duty(
        name="truth", air=Weather(ambient=AMBIENT), start=Start(speed=float(speed[:300].mean())), drive=trace,
        soak=soak_s,
    )  # fmt: skip
    return solve(variant, duty, lay_network(variant))


def memory_noise(
    rng: np.random.Generator, n: int, *, sd: float, memory_s: float, step_s: float
) -> np.ndarray:
    """AR(1) series of standard deviation sd."""
    rho = np.exp(-step_s / memory_s)
    white = rng.normal(0, sd * np.sqrt(1 - rho**2), n)
    start = rng.normal(0, sd)
    return lfilter([1.0], [1.0, -rho], white, zi=[rho * start])[0]


def write_logs(folder: Path, solved: Solved, truth: Truth, rng: np.random.Generator) -> tuple[Path, Path]:
    """`engine.csv`, polled and held, decimal commas; `probes.csv` on its own clock. With channel maps."""
    folder.mkdir(parents=True, exist_ok=True)
    run = solved.run
    end = float(run.duty.duration)
    engine_logger(folder / "engine.csv", run, end, rng)
    probe_logger(folder / "probes.csv", run, end, truth, rng)
    rows = "\n".join(
        f'  "{name} (degC)": {{place: {place}, time_constant_s: {tau}, sensor: K class 1}}'
        for name, (place, tau) in PROBES.items()
    )
    (folder / "probes.yaml").write_text(f"channels:\n{rows}\n", encoding="utf-8")
    return folder / "engine.csv", folder / "probes.csv"


def engine_logger(path: Path, run, end: float, rng: np.random.Generator) -> None:
    """Six channels polled in turn at 10 rows a second."""
    time = np.arange(0.0, end, 0.1)
    samples = smooth(run, time)
    fuel = between(run, time, S.FUEL)
    columns = [
        samples[:, 1] * 3.6,
        samples[:, 0] * 60.0,
        between(run, time, S.AIR) * 1e3,
        between(run, time, S.MIXTURE),
        np.where(fuel > 0.5 * np.median(fuel[fuel > 0.0]) * 0.1, 30.0, 0.0),
        np.full(time.size, AMBIENT - 273.15),
    ]
    names = "Time;Speed [km/h];RPM [rpm];MAF [g/s];Lambda;Pedal [%];Ambient [Â°C]"
    held, lines = [""] * 6, ["Recorder 3", names]
    for k, when in enumerate(time):
        column = k % 6
        held[column] = f"{columns[column][k]:.3f}".replace(".", ",")
        lines.append(f"{when:.2f}".replace(".", ",") + ";" + ";".join(held))
    path.write_text("\n".join(lines) + "\n", encoding="latin-1")


def smooth(run, time: np.ndarray) -> np.ndarray:
    """Engine speed (rev/s) and road speed (m/s) between the middles of the seconds; (n, 2)."""
    middles = np.arange(run.duty.duration) + 0.5
    speed, road = (np.interp(time, middles, run.duty.samples[:, k]) for k in (0, 1))
    # What a foot and a road add within seconds; both loggers see it.
    flutter = 0.4 * sum(np.sin(2 * np.pi * time / period + period) for period in (2.3, 3.7, 5.9, 9.1))
    return np.array([speed + np.where(speed > 5.0, flutter, 0.0), road]).T


def between(run, time: np.ndarray, signal: int) -> np.ndarray:
    """A signal of the run between the middles of the seconds it is held for."""
    middles = np.arange(run.duty.duration) + 0.5
    row = np.searchsorted(run.time, middles, side="right") - 1
    return np.interp(time, middles, run.signal[row, signal])


def probe_logger(path: Path, run, end: float, truth: Truth, rng: np.random.Generator) -> None:
    """Thermocouples at 2 Hz with engine speed at its side."""
    clock = np.arange(0.0, end - OFFSET_S - 1.0, 0.5)
    when = clock * (1.0 + DRIFT) + OFFSET_S
    table = []
    junction = rng.normal(0, truth.junction_K)
    for place, tau in PROBES.values():
        clean = shown(run.time, run.state[:, run.network.mass(place)], tau, when)
        noise = memory_noise(rng, clock.size, sd=truth.noise_K, memory_s=truth.memory_s, step_s=0.5)
        mounting = rng.normal(0, truth.mounting) if place in SURFACES else 0.0
        own = rng.normal(0, truth.sensor_K) + mounting * (clean - AMBIENT)
        table.append(clean - 273.15 + noise + junction + own)
    speed = smooth(run, when)[:, 0] * 60.0
    for column in table:
        column[rng.random(clock.size) < 0.001] = 900.0
    gone = rng.integers(0, clock.size - 80)
    table[0][gone : gone + 60] = np.nan
    lines = ["Time (s)," + ",".join(f"{name} (degC)" for name in PROBES) + ",Engine speed (1/min)"]
    for k in range(clock.size):
        cells = ["" if np.isnan(c[k]) else f"{c[k]:.2f}" for c in table]
        lines.append(f"{clock[k]:.2f}," + ",".join(cells) + f",{speed[k]:.0f}")
    path.write_text("\n".join(lines) + "\n")


def read_run(variant: Variant, engine: Path, probes: Path, name: str = "run") -> tuple[TestRun, Joined]:
    """The logs read back as a test run."""
    joined = join_files([engine, probes], {probes: read_channel_map(probes.with_suffix(".yaml"))})
    network = lay_network(variant)
    found, _ = map_places(joined.log, variant, places(variant, network))
    logged = logged_duty(joined.log, name=name, day=Day())
    mapped = {column: place.mass for column, place in found.items()}
    run = TestRun(name, logged, readings_of(joined.log.channels, mapped, logged), from_s=480.0)
    return run, joined


def hidden(variant: Variant, parameters: tuple[Parameter, ...], x: np.ndarray) -> Variant:
    """The car as it truly is."""
    return applied(variant, parameters, x)


def small_variant(folder: Path) -> Variant:
    """Read and built."""
    return read_project(folder).variant()
