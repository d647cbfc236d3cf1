"""Solving the demo: production step against general-purpose integrators on the same equations, and its parts.

All in one run, so that ratios hold although clocks differ. Kernels are called from Python by the reference
integrators; what those calls themselves cost is measured and given, and the ratio is printed with and without it.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numba
import numpy as np

import heatproof
from bench.reference_integrators import Record, call_cost, run_bdf, run_cvode
from heatproof.assembly.duties.samples import duty_samples, start_sample
from heatproof.assembly.model import lay_network, solve
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.network.arrays import Surroundings
from heatproof.network.laid import Network
from heatproof.network.matrix import jacobian
from heatproof.network.rates import rates
from heatproof.network.solve import Duty, make_work, settle_start, solve_duty
from heatproof.network.transient import Stepping, implicit_matrix
from heatproof.numerics.sparse_lu import lu_factor, lu_solve

Row = tuple[str, float, str]
DEMO = Path(heatproof.__file__).parent / "examples" / "hatchback"
TRACK = "track_session"
FINE = Stepping(tolerance=0.02, longest=2.0, keep=8)


@dataclass(frozen=True)
class Case:
    network: Network
    around: Surroundings
    duty: Duty
    start: np.ndarray
    fans: np.ndarray

    def production(self, stepping: Stepping | None = None) -> np.ndarray:
        run = solve_duty(
            self.network, self.around, self.duty, self.start, stepping=stepping, fan_target=self.fans
        )
        return run.state

    def worst(self, a: np.ndarray, b: np.ndarray) -> float:
        """Largest difference of two sets of peaks over the solid parts, K."""
        solid = [i for i, m in enumerate(self.network.masses) if self.network.kinds[m] == "solid"]
        return float(np.abs(a - b)[solid].max())


def track(project: Project) -> Case:
    """The track session and its soak, warmed up."""
    variant = project.variant()
    network = lay_network(variant)
    record = project.duties[TRACK]
    around = surroundings(variant, network, record)
    sample, seconds = start_sample(record, variant)
    y, fans = settle_start(network, around, sample, seconds=seconds)
    return Case(network, around, duty_samples(record, variant), y, fans)


def best(action: Callable[[], object], repeats: int = 3) -> float:
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return min(times)


def run() -> list[Row]:
    """Rows of (label, value, unit)."""
    project = read_project(DEMO)
    case = track(project)
    return [*all_duties(project, case.network), *references(case), *parts_of_a_step(case), *cold_start()]


def all_duties(project: Project, network: Network) -> list[Row]:
    """Row 1 of the figures to reach."""
    variant = project.variant()

    def solve_all() -> None:
        for record in project.duties.values():
            solve(variant, record, network)

    solve_all()
    rows: list[Row] = [
        ("masses", len(network.masses), ""),
        ("links", sum(len(v) for v in network.link_names.values()), ""),
        ("branches in " + ", ".join(network.networks), len(network.branches), ""),
        ("all demo duties, warm, one process (target 0.5)", best(solve_all), "s"),
    ]
    for name, record in project.duties.items():
        rows.append((f"  {name} with its warm-up", best(lambda r=record: solve(variant, r, network)), "s"))
    return rows


def references(case: Case) -> list[Row]:
    """Row 3: the production step and reference integrators at the same error of solid peaks."""
    fine = case.production(FINE).max(axis=0)
    own = case.production()
    seconds = best(case.production)
    error = case.worst(own.max(axis=0), fine)
    rows: list[Row] = [
        ("track session and soak, production", seconds, "s"),
        ("  steps", own.shape[0] - 1, ""),
        ("  steps an hour of duty", (own.shape[0] - 1) * 3600.0 / case.duty.duration, ""),
        ("  worst error of a solid peak, against steps at tolerance 0.02 K", error, "K"),
    ]
    overhead = python_call(case)
    rows.append(("one kernel call from Python, overhead", overhead * 1e6, "µs"))
    for label, tries in (("SciPy BDF", bdf_tries), ("CVODE, LAPACK dense", cvode_tries)):
        record, its_error, rtol = cheapest(case, fine, max(error, 0.1), tries)
        calls = overhead * (record.rate_calls + 2 * record.jacobian_calls)
        rows += [
            (f"{label}, analytic Jacobian, drive max_step 1 s, rtol {rtol:.0e}", record.seconds, "s"),
            ("  worst error of a solid peak", its_error, "K"),
            ("  rate calls", record.rate_calls, ""),
            ("  over production" + (" (target 8)" if "BDF" in label else ""), record.seconds / seconds, "×"),
            ("  over production, calls from Python taken out", (record.seconds - calls) / seconds, "×"),
        ]
    return rows


def bdf_tries(case: Case, rtol: float) -> Record:
    return run_bdf(case.network, case.around, case.duty, case.start, case.fans, rtol=rtol, atol=1e3 * rtol)


def cvode_tries(case: Case, rtol: float) -> Record:
    return run_cvode(case.network, case.around, case.duty, case.start, case.fans, rtol=rtol, atol=1e3 * rtol)


def cheapest(
    case: Case, fine: np.ndarray, allowed: float, attempt: Callable[[Case, float], Record]
) -> tuple[Record, float, float]:
    """The loosest tolerance whose solid peaks are within `allowed` K; the tightest tried where none is."""
    for rtol in (3e-4, 1e-4, 3e-5, 1e-5):
        record = attempt(case, rtol)
        error = case.worst(record.peaks(), fine)
        if error <= allowed:
            break
    return record, error, rtol


@numba.njit
def _nothing(model, around, sample, y, fan_target, work):  # type: ignore[no-untyped-def]
    return 0.0


def python_call(case: Case) -> float:
    """Seconds to hand a network's arrays to a compiled function that does nothing."""
    work = make_work(case.network, case.around)
    model, sample = case.network.model, case.duty.samples[0]
    return call_cost(lambda: _nothing(model, case.around, sample, case.start, case.fans, work))


@numba.njit
def _repeat_rates(times, model, around, sample, y, fans, work):  # type: ignore[no-untyped-def]
    for _ in range(times):
        rates(model, around, sample, y, fans, work)


@numba.njit
def _repeat_jacobian(times, model, around, work, K, row):  # type: ignore[no-untyped-def]
    for _ in range(times):
        jacobian(model, around, work, K, row)


@numba.njit
def _repeat_lu(times, model, K, A, zero):  # type: ignore[no-untyped-def]
    for _ in range(times):
        implicit_matrix(model, K, 0.5, A)
        lu_factor(model.pattern, A, zero)


@numba.njit
def _repeat_solve(times, model, A, right, zero):  # type: ignore[no-untyped-def]
    for _ in range(times):
        lu_solve(model.pattern, A, right, zero)


def parts_of_a_step(case: Case) -> list[Row]:
    """Microseconds of each kernel, repeated inside compiled code."""
    model, around, N = case.network.model, case.around, case.network.size
    work = make_work(case.network, around)
    K, row, zero = np.zeros(model.pattern.column.size + 1), np.zeros(N), np.zeros(N)
    A, right, y = np.zeros_like(K), np.ones(N), case.start.copy()
    driving, standing = case.duty.samples[case.duty.key_off // 2], case.duty.samples[-1]
    rates(model, around, driving, y, case.fans, work)

    def micro(action: Callable[..., object], *args: object, times: int = 300) -> float:
        action(1, *args)
        return best(lambda: action(times, *args), 7) / times * 1e6

    return [
        ("rates while driving", micro(_repeat_rates, model, around, driving, y, case.fans, work), "µs"),
        ("rates in the soak", micro(_repeat_rates, model, around, standing, y, case.fans, work), "µs"),
        ("jacobian", micro(_repeat_jacobian, model, around, work, K, row), "µs"),
        (f"sparse LU, n = {N}, {K.size - 1} places", micro(_repeat_lu, model, K, A, zero), "µs"),
        ("solve", micro(_repeat_solve, model, A, right, zero), "µs"),
    ]


def command_line(extra: dict[str, str], cache: str) -> float:
    """Seconds of `heatproof check` of a fresh copy of the demo in its own process; nan where it cannot run."""
    with tempfile.TemporaryDirectory() as folder:
        project = Path(folder) / "demo"
        environment = os.environ | extra
        environment.pop("NUMBA_CACHE_DIR", None)
        if cache:
            environment["HEATPROOF_CACHE"] = cache
        call = [sys.executable, "-m", "heatproof.doors.cli"]
        made = subprocess.run([*call, "new", str(project)], env=environment, capture_output=True)
        if made.returncode != 0:
            return float("nan")
        began = time.perf_counter()
        done = subprocess.run(
            [*call, "check", "--no-spread", str(project)], env=environment, capture_output=True
        )
        return time.perf_counter() - began if done.returncode in (0, 1) else float("nan")


def cold_start() -> list[Row]:
    """Row 2: a process of its own, compiled cache there."""
    command_line({}, "")
    return [("command line, check --no-spread, compiled cache there (target 4)", command_line({}, ""), "s")]


def first_compile() -> list[Row]:
    """The same in an empty cache: about a minute; `python -m bench solving --first-compile`."""
    with tempfile.TemporaryDirectory() as cache:
        first = command_line({}, cache)
        again = command_line({}, cache)
    return [("command line, first run in an empty cache", first, "s"), ("  the run after it", again, "s")]
