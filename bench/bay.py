"""The demo's bay: ready cold, from cache, after one part moved; what shapes cost in a run."""

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import heatproof
from heatproof.assembly.bay import exchange, factors, gaps, scene
from heatproof.assembly.model import lay_network, solve
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.shapes.clearance import clearance

Row = tuple[str, float, str]
HATCHBACK = Path(heatproof.__file__).parent / "examples" / "hatchback"


def forget() -> None:
    """As a new process: nothing of shapes or factors in memory."""
    for kept in (scene.scene_of, gaps.gaps_of, exchange.surfaces_of):
        kept.clear()  # type: ignore[attr-defined]
    for cached in (
        scene._from_primitive,
        scene._cut,
        scene._scene,
        factors._factors,
        gaps.normals_of,
    ):
        cached.cache_clear()


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def moved(variant: Variant) -> Variant:
    """The shield 5 mm further back."""
    x, y, z = variant.parts["turbo_shield"].shape.position  # type: ignore[union-attr]
    return variant.with_value("parts.turbo_shield.shape.position", (x + 0.005, y, z))


def all_duties(variant: Variant) -> float:
    """s to solve every duty, network laid, second time."""
    duties, network = read_project(HATCHBACK).duties, lay_network(variant)
    for duty in duties.values():
        solve(variant, duty, network)
    return sum(seconds(lambda duty=duty: solve(variant, duty, network)) for duty in duties.values())


def run() -> list[Row]:
    """Measured rows."""
    variant = read_project(HATCHBACK).variant()
    on = variant.with_value("bay.geometry", "on")
    off = variant.with_value("bay.geometry", "off")
    parts = scene.scene_of(on).parts
    clearance(parts[0], parts[1])  # compiles what is compiled once
    with tempfile.TemporaryDirectory() as folder:
        before = os.environ.get("HEATPROOF_CACHE")
        os.environ["HEATPROOF_CACHE"] = folder
        try:
            forget()
            cold = seconds(lambda: lay_network(on))
            forget()
            kept = seconds(lambda: lay_network(on))
            again = seconds(lambda: lay_network(on))
            one = seconds(lambda: lay_network(moved(on)))
        finally:
            os.environ.pop("HEATPROOF_CACHE")
            if before is not None:
                os.environ["HEATPROOF_CACHE"] = before
    found = scene.scene_of(on)
    with_shapes, with_links = all_duties(on), all_duties(off)
    return [
        ("bay: triangles", float(len(found.patch_of)), ""),
        ("bay: patches", float(len(found.patch_names)), ""),
        ("bay: network with shapes, cold (≤ 10)", cold, "s"),
        ("bay: the same from the cache folder (≤ 1)", kept, "s"),
        ("bay: the same from memory", again, "s"),
        ("bay: one part moved (≤ 3)", one, "s"),
        ("bay: all duties, shapes on", with_shapes, "s"),
        ("bay: all duties, typed links", with_links, "s"),
    ]


if __name__ == "__main__":
    for label, value, unit in run():
        print(f"{label:45s} {value:10.3g} {unit}")
