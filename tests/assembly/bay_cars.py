"""The invented hatchback with its shapes deciding, and single changes to it."""

import dataclasses
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

import heatproof
from heatproof.assembly.bay.lumps import masses_of
from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.parts import Part
from heatproof.kit.records.shapes import Plate
from heatproof.kit.records.variant import Variant
from heatproof.network.engine import RUNNING
from heatproof.network.paths import paths_at
from heatproof.network.transient import Stepping

HATCHBACK = Path(heatproof.__file__).parent / "examples" / "hatchback"
PROTECTION = ("turbine_blanket", "turbo_shield", "brake_line_sleeve", "loom_sleeve", "gas_side_coating")
RAYS = 4096
DUTY = "long_hill"


@cache
def hatchback() -> Project:
    return read_project(HATCHBACK)


def with_measures(*measures: str) -> Variant:
    """The kit without any protection but these measures, geometry on."""
    project = hatchback()
    fitted = [name for name in project.fitted if name not in PROTECTION]
    variant = project.variant([*fitted, *measures])
    return variant.with_value("bay.geometry", "on").with_value("bay.rays_per_patch", RAYS)


def changed(variant: Variant, path: str, value: object) -> Variant:
    return variant.with_value(path, value)


def with_part(variant: Variant, name: str, part: Part) -> Variant:
    parts = {**variant.parts, name: part}
    return dataclasses.replace(variant, assembly=variant.assembly.model_copy(update={"parts": parts}))


def steel_plate(
    position: tuple[float, float, float], size: tuple[float, float], *, ventilated: bool, emissivity: float
) -> Part:
    """A sheet 0.8 mm thick that looks forward, oxidised on both faces."""
    area = size[0] * size[1]
    return Part(
        mass=7900.0 * 0.0008 * area,
        material="stainless steel",
        surface=2.0 * area,
        zone="bay_rear",
        size=0.1,
        emissivity=emissivity,
        ventilated=ventilated,
        shape=Plate(size=size, position=position, looks=(-1.0, 0.0, 0.0), edge=0.02),
    )


@dataclass(frozen=True)
class Peaks:
    """K, hottest of a part's masses: while the engine runs, and after key-off."""

    running: float
    soak: float


def solved(variant: Variant) -> Solved:
    network = lay_network(variant)
    return solve(variant, hatchback().duties[DUTY], network, Stepping(tolerance=1.0))


def key_off(one: Solved) -> float:
    return float(np.count_nonzero(one.run.duty.samples[:, RUNNING]))


def peaks(one: Solved, part: str) -> Peaks:
    run = one.run
    T = run.state[:, [run.network.mass(m) for m in masses_of(one.variant, part)]].max(axis=1)
    running = run.time <= key_off(one)
    return Peaks(float(T[running].max()), float(T[~running].max()))


def radiated(one: Solved, source: str, part: str) -> float:
    """W that `part` takes up by radiation from `source` and what covers it, at the end of running."""
    row = int(np.count_nonzero(one.run.time <= key_off(one))) - 1
    ours = set(masses_of(one.variant, part))
    theirs = {source, f"{source}.skin"}
    total = 0.0
    for path in paths_at(one.run, row):
        if path.kind == "radiation" and path.first in theirs and path.second in ours:
            total += path.heat
        if path.kind == "radiation" and path.second in theirs and path.first in ours:
            total -= path.heat
    return total
