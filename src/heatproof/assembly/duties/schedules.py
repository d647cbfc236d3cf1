"""Official speed schedules shipped with the program; sources in data/README.md."""

import csv
from functools import cache
from importlib.resources import files

import numpy as np

NAMES = ("udds", "us06", "hwfet", "wltc_3b")


@cache
def schedule(name: str) -> np.ndarray:
    """(2, points): time [s] and speed [m/s] of a schedule. ValueError where there is none of that name."""
    if name not in NAMES:
        raise ValueError(f"no schedule named {name!r}; there are {', '.join(NAMES)}")
    text = files("heatproof.assembly.duties").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    table = np.array([[float(r["time_s"]) for r in rows], [float(r["speed_m_per_s"]) for r in rows]])
    table.flags.writeable = False
    return table
