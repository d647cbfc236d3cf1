"""Scenes used by several tests of this room. Invented geometry."""

import numpy as np

from heatproof.shapes.patches import bay_walls, split_along, split_facing
from heatproof.shapes.placement import place, place_along
from heatproof.shapes.primitives import box, cylinder, plate, sphere, tube
from heatproof.shapes.scene import Body, Scene, solid_part, thin_part


def square(
    name: str, side: float = 1.0, *, at=(0, 0, 0), looks=(0, 0, 1), edge: float = 0.25, width=None
) -> Body:
    """One-sided flat sheet."""
    return solid_part(
        name, plate((side, width or side), edge=edge, placement=place_along(looks, position=at))
    )


def small_bay() -> Scene:
    """A turbine, a shield, a hose and an engine block in a bay that is open in front."""
    turbine = solid_part(
        "turbine", cylinder(0.06, 0.10, placement=place_along((0, 1, 0), position=(0.4, 0.2, 0.5)))
    )
    shield = plate((0.2, 0.2), placement=place_along((-1, 0, 0), position=(0.30, 0.2, 0.5)))
    hose = solid_part("hose", tube([(0.1, -0.4, 0.3), (0.2, 0.2, 0.5), (0.6, 0.5, 0.6)], radius=0.012))
    return Scene(
        (
            bay_walls("walls", (0, -0.7, 0), (1.0, 0.7, 0.8), open_sides=("front",), edge=0.2),
            split_facing(turbine, (0.4, -0.5, 0.5)),
            solid_part("block", box((0.4, 0.5, 0.4), edge=0.05, placement=place((0.75, -0.35, 0.3)))),
            thin_part("shield", shield),
            split_along(hose, (0, 1, 0), count=3),
        )
    )


def random_scene(rng: np.random.Generator) -> Scene:
    """Three to six balls, boxes and thin sheets, apart from each other, with or without walls round them."""
    parts = []
    for k in range(int(rng.integers(3, 7))):
        at = place(
            np.add(((k % 3) * 0.5, (k // 3) * 0.5, 0.0), rng.uniform(-0.1, 0.1, 3)),
            turn_deg=rng.uniform(0, 360, 3),
        )
        kind, size = rng.integers(3), float(rng.uniform(0.05, 0.12))
        if kind == 0:
            parts.append(solid_part(f"ball {k}", sphere(size, edge=0.08, placement=at)))
        elif kind == 1:
            parts.append(solid_part(f"box {k}", box((size, 1.5 * size, size), edge=0.1, placement=at)))
        else:
            parts.append(thin_part(f"sheet {k}", plate((2 * size, size), edge=0.1, placement=at)))
    if rng.random() < 0.5:
        parts.append(bay_walls("walls", (-0.5, -0.5, -0.5), (1.5, 1.0, 0.5), edge=0.5))
    return Scene(tuple(parts))
