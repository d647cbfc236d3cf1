"""Every main verb as its own process on a fresh copy of the example: seconds, processor seconds, peak memory.

Results are stored beside the project as the verbs run, as they are for a person: later verbs find what earlier ones
left. Memory is that of the largest process.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from bench.logs import values_of_an_hour, write_messy

Row = tuple[str, float, str]
TARGETS = {"explain": 5.0, "check": 30.0, "check --no-spread": 4.0, "choose": 120.0}
GAP = "air.passages.gap_round_radiator.area=20 cm2..120 cm2"
VERBS: tuple[tuple[str, ...], ...] = (
    ("check", "--no-spread"),
    ("check",),
    ("check", "(stored)"),
    ("explain", "brake_line"),
    ("compare", "none", "turbo_shield"),
    ("tolerance", "--no-spread"),
    ("rating", "--no-spread"),
    ("size", "--vary", GAP, "--no-spread", "--generations", "3"),
    ("sweep", "--vary", GAP + ":40"),
    ("bay", "--clearances"),
    ("plan",),
    ("choose", "--no-spread"),
    ("choose",),
    ("release",),
    ("sheets",),
)


# Started from a small process of its own: a child is charged with what its parent held when it was split off.
LAUNCH = """
import json, os, resource, subprocess, sys, time
began = time.perf_counter()
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(json.dumps([time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0, code]))
"""


def measured(call: list[str], folder: Path) -> tuple[float, float, float, int]:
    """Wall seconds, processor seconds, MB at most, exit code of one process and its children."""
    done = subprocess.run(
        [sys.executable, "-S", "-c", LAUNCH, *call], cwd=folder, check=True, capture_output=True
    )
    wall, processor, memory, code = json.loads(done.stdout)
    return wall, processor, memory, int(code)


def rows_of(name: str, call: list[str], folder: Path) -> list[Row]:
    """Three rows; one that says so where the verb failed (1 is a verdict that does not hold)."""
    wall, processor, memory, code = measured(call, folder)
    if code not in (0, 1):
        return [(f"{name}: failed with exit code", code, "")]
    target = f" (wanted: {TARGETS[name]:g})" if name in TARGETS else ""
    return [
        (f"{name}{target}", wall, "s"),
        ("  processor", processor, "s"),
        ("  memory at most", memory, "MB"),
    ]


def run() -> list[Row]:
    """Rows (label, value, unit)."""
    line = [sys.executable, "-m", "heatproof.doors.cli"]
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        place, demo = Path(folder), Path(folder) / "demo"
        subprocess.run([*line, "new", str(demo)], check=True, capture_output=True)
        for verb, *rest in VERBS:
            name = " ".join([verb, *[r for r in rest if r.startswith(("--no", "("))]])
            options = [r for r in rest if not r.startswith("(")]
            rows += rows_of(name, [*line, verb, str(demo), *options], place)
        log = place / "hour.csv"
        write_messy(log, values_of_an_hour())
        rows += rows_of("log, 60 channels, 1 h", [*line, "log", str(log)], place)
    rows += rows_of("correct, eight values", [sys.executable, "-m", "bench", "test_days"], Path.cwd())
    return rows
