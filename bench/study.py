"""Sweeps: runs per second, what a second process gives, how long 10,000 runs take, what a cluster costs."""

import operator
import os
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import heatproof
from heatproof.kit.read import read_project
from heatproof.study.runs.cases import Case, case, run_plain
from heatproof.study.runs.spread_out import spread_out

Row = tuple[str, float, str]
EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"
WANTED = 10_000
SMALL = 2_000
COUNT, REPEATS = 4, 3
VALUE = "air.passages.gap_round_radiator.area"


def cases(count: int) -> list[Case]:
    """`count` variants of the example (another gap each), all duties of each: its network is laid once."""
    project = read_project(EXAMPLE)
    variant = project.variant()
    gap = variant.value(VALUE)
    return [case(variant.replace(VALUE, gap * (1.0 + 0.02 * k)), project.duties) for k in range(count)]


def seconds(tasks: list[Case], workers: int) -> float:
    """Time of a sweep whose workers are there already."""
    start = time.perf_counter()
    spread_out(run_plain, tasks, workers=workers)
    return time.perf_counter() - start


def cluster_rows() -> list[Row]:
    """Cost of a task on processes and on a cluster of two workers here; nothing where the extra is missing."""
    try:
        from dask import config
        from distributed import LocalCluster
    except ImportError:
        return []
    values = [float(k) for k in range(SMALL)]
    start = time.perf_counter()
    spread_out(operator.neg, values, workers=2)
    local = time.perf_counter() - start
    with (
        TemporaryDirectory() as room,
        config.set({"temporary-directory": room}),
        LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
    ):
        address = cluster.scheduler_address
        spread_out(operator.neg, values[:50], cluster=address)
        start = time.perf_counter()
        spread_out(operator.neg, values, cluster=address)
        far = time.perf_counter() - start
    return [
        ("grouped empty task on processes", 1e3 * local / SMALL, "ms"),
        ("grouped empty task on a cluster (Dask, two workers here)", 1e3 * far / SMALL, "ms"),
        ("cluster over processes, ratio", far / local, "x"),
    ]


def run() -> list[Row]:
    """Rows (label, value, unit)."""
    tasks = cases(COUNT)
    duties = len(tasks[0].duties)
    seconds(tasks[:1], 1)
    seconds(tasks[:2] * 2, 2)  # workers started, kernels loaded in each
    pairs = [(seconds(tasks, 1), seconds(tasks + tasks, 2)) for _ in range(REPEATS)]
    one, two = (min(times) for times in zip(*pairs, strict=True))
    runs = 2 * COUNT * duties
    processor = time.process_time()
    seconds(tasks, 1)
    processor = time.process_time() - processor
    return [
        ("variant-duty runs a second, one process", COUNT * duties / one, "1/s"),
        ("variant-duty runs a second, two processes", runs / two, "1/s"),
        ("parallel efficiency, two processes over one (wanted: 0.9)", one / two, ""),
        (
            f"{WANTED} variant-duty runs on two processes, projected (wanted: 10)",
            two / runs * WANTED / 60.0,
            "min",
        ),
        (
            "the same by processor time alone, halved",
            processor / (COUNT * duties) * WANTED / 2.0 / 60.0,
            "min",
        ),
        (
            "load of this machine while measured, over its cores",
            os.getloadavg()[0] / (os.cpu_count() or 1),
            "",
        ),
        *cluster_rows(),
    ]
