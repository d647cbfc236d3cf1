"""View factors: seconds and measured error, cold, from cache, and after one part moved."""

import tempfile
import time
from pathlib import Path

import numpy as np

from heatproof.shapes.clearance import clearance_table
from heatproof.shapes.errors import has_ray_library
from heatproof.shapes.patches import bay_walls, split_along, split_facing
from heatproof.shapes.placement import Floats, place, place_along
from heatproof.shapes.primitives import box, cylinder, plate, sphere, tube
from heatproof.shapes.scene import Body, Scene, solid_part, thin_part
from heatproof.shapes.view_factors import view_factors

Row = tuple[str, float, str]
RAYS = 4_000_000
SEEDS = range(1, 25)
PARALLEL_SQUARES = 0.1998249  # Howell C-11, unit squares one apart


def bay() -> Scene:
    """About 26,000 triangles, 19 parts, some close together. Invented."""
    fine = 0.0135
    parts: list[Body] = [bay_walls("walls", (0, -0.7, 0), (1.0, 0.7, 0.8), open_sides=("front",), edge=0.1)]
    turbine = cylinder(0.06, 0.1, edge=fine, placement=place_along((0, 1, 0), position=(0.4, 0.2, 0.5)))
    parts.append(split_facing(solid_part("turbine", turbine), (0.4, -0.5, 0.5)))
    parts.append(solid_part("block", box((0.5, 0.6, 0.4), edge=0.04, placement=place((0.7, -0.35, 0.3)))))
    sheet = plate((0.2, 0.2), edge=fine, placement=place_along((-1, 0, 0), position=(0.32, 0.2, 0.5)))
    parts.append(thin_part("shield", sheet))
    pipe = tube([(0.4, 0.12, 0.55), (0.4, -0.1, 0.7), (0.55, -0.1, 0.7)], radius=0.03, edge=fine)
    parts.append(split_along(solid_part("manifold", pipe), (0, 1, 0), count=2))
    for k in range(8):
        line = [(0.05, -0.6, 0.1 + 0.08 * k), (0.2, 0.1, 0.12 + 0.08 * k), (0.6, 0.6, 0.1 + 0.08 * k)]
        parts.append(solid_part(f"hose {k}", tube(line, radius=0.012, edge=fine)))
    for k in range(6):
        ball = sphere(0.05, edge=0.027, placement=place((0.1 + 0.15 * k, 0.45, 0.12 + 0.1 * (k % 2))))
        parts.append(split_facing(solid_part(f"ball {k}", ball), (0.4, 0.2, 0.5)))
    return Scene(tuple(parts))


def analytic_error(rays: int) -> float:
    """Root mean square error over 32 seeds, unit squares one apart."""
    low = solid_part("low", plate((1, 1), edge=0.1))
    high = solid_part("high", plate((1, 1), edge=0.1, placement=place((0, 0, 1), turn_deg=(180, 0, 0))))
    scene = Scene((low, high))
    errors = [
        view_factors(scene, rays_per_patch=rays, seed=s).factor[0, 1] - PARALLEL_SQUARES for s in range(32)
    ]
    return float(np.sqrt(np.mean(np.square(errors))))


def run() -> list[Row]:
    """Rows (label, value, unit)."""
    scene = bay()
    rays = RAYS // len(scene.patch_names)
    view_factors(scene, rays_per_patch=512)  # kernels loaded
    found = view_factors(scene, rays_per_patch=rays)
    fine = view_factors(scene, rays_per_patch=2**21, seed=99)
    error = found.factor - fine.factor
    rows: list[Row] = [
        ("view factors: triangles", len(scene.triangles), ""),
        ("view factors: rays", found.rays_traced / 1e6, "million"),
        (f"view factors: full run, one core, {found.tracer}", found.seconds, "s"),
        (
            "view factors: r.m.s. error against 16 or more times the rays",
            float(np.sqrt(np.mean(error**2))),
            "",
        ),
        ("view factors: entries within 1e-3", float(np.mean(np.abs(error) <= 1e-3)) * 100.0, "%"),
        ("view factors: largest error (≤ 1e-3)", float(np.abs(error).max()), ""),
        ("view factors: largest stated standard error", float(found.error.max()), ""),
        (
            "view factors: r.m.s. error, parallel squares, same rays a patch",
            analytic_error(found.rays_per_patch),
            "",
        ),
    ]
    double = view_factors(scene, rays_per_patch=2 * rays)
    rows += [
        ("view factors: twice the rays, one core", double.seconds, "s"),
        (
            "view factors: twice the rays, largest error",
            float(np.abs(double.factor - fine.factor).max()),
            "",
        ),
    ]
    rows += _seeds(scene, rays, fine.factor) + _cached(scene, rays)
    if has_ray_library():
        slow = view_factors(scene, rays_per_patch=rays, tracer="compiled")
        rows.append(("view factors: full run, one core, without the ray library", slow.seconds, "s"))
    start = time.perf_counter()
    pairs = clearance_table(scene)
    rows.append(
        (f"clearances: {len(pairs)} pairs of {len(scene.parts)} parts", time.perf_counter() - start, "s")
    )
    return rows


def _seeds(scene: Scene, rays: int, fine: Floats) -> list[Row]:
    """How the largest error falls from seed to seed: one seed alone may be lucky."""
    largest, within = [], []
    for seed in SEEDS:
        found = view_factors(scene, rays_per_patch=rays, seed=seed)
        off = np.abs(found.factor - fine)
        largest.append(float(off.max()))
        within.append(float(np.mean(off <= found.error[:, :-1])))
    return [
        (f"view factors: largest error, median of {len(SEEDS)} seeds", float(np.median(largest)), ""),
        (f"view factors: largest error, worst of {len(SEEDS)} seeds", max(largest), ""),
        (
            "view factors: seeds with every entry within 1e-3",
            float(np.mean(np.array(largest) <= 1e-3)) * 100.0,
            "%",
        ),
        ("view factors: entries within one stated standard error", float(np.mean(within)) * 100.0, "%"),
    ]


def _cached(scene: Scene, rays: int) -> list[Row]:
    moved = {name: scene.moved(name, place((0.02, 0.01, 0.01))) for name in ("shield", "turbine", "walls")}
    with tempfile.TemporaryDirectory() as folder:
        cold = view_factors(scene, rays_per_patch=rays, cache=Path(folder))
        again = view_factors(scene, rays_per_patch=rays, cache=Path(folder))
        rows: list[Row] = [
            ("bay: cold, cache written", cold.seconds, "s"),
            ("bay: from cache", again.seconds, "s"),
        ]
        for name, changed in moved.items():
            found = view_factors(changed, rays_per_patch=rays, cache=Path(folder))
            rows.append(
                (f"bay: {name} moved, {found.rays_traced / 1e6:.2f} million rays traced", found.seconds, "s")
            )
    return rows


if __name__ == "__main__":
    for label, value, unit in run():
        print(f"{label:75s} {value:12.4g} {unit}")
