"""Splitting a part into patches: the side that faces the turbine is not the side that faces away.

Triangles are assigned whole, by centroid and normal, never cut: the border follows triangle edges.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.placement import Floats
from heatproof.shapes.primitives import EDGE, box
from heatproof.shapes.scene import Body

FACING, AWAY = "facing", "away"
# Outward direction of each side of the bay, bay axes: x rearwards, y right, z up.
SIDES = {
    "front": (-1, 0, 0),
    "rear": (1, 0, 0),
    "left": (0, -1, 0),
    "right": (0, 1, 0),
    "top": (0, 0, 1),
    "bottom": (0, 0, -1),
}


def _labelled(part: Body, labels: Sequence[str], label_of: Any) -> Body:
    """Patches named by label; where a part has several patches already, `patch, label`."""
    if len(part.patches) == 1:
        return part.with_patches(labels, label_of)
    names = [f"{patch}, {label}" for patch in part.patches for label in labels]
    return part.with_patches(names, part.patch_of * len(labels) + np.asarray(label_of))


def split_facing(part: Body, towards: Body | ArrayLike) -> Body:
    """Two patches: triangles that look towards another part's centre (or a point, m), and the rest."""
    target = towards.centre if isinstance(towards, Body) else np.asarray(towards, dtype=float)
    looks = np.einsum("ij,ij->i", part.normals, target - part.centres) > 0.0
    return _labelled(part, (FACING, AWAY), np.where(looks, 0, 1))


def split_by_planes(part: Body, planes: Sequence[tuple[ArrayLike, ArrayLike]]) -> Body:
    """Patches cut by planes (point m, normal): named by the side of each plane, as `+-`."""
    code = np.zeros(len(part.faces), dtype=np.int64)
    for point, normal in planes:
        above = (part.centres - np.asarray(point, dtype=float)) @ np.asarray(normal, dtype=float) > 0.0
        code = 2 * code + above
    labels = [
        format(k, f"0{len(planes)}b").replace("0", "-").replace("1", "+") for k in range(2 ** len(planes))
    ]
    return _labelled(part, labels, code)


def split_along(part: Body, direction: ArrayLike, *, count: int) -> Body:
    """`count` slices of equal length along a direction, named `slice 1` … in that direction."""
    if count < 1:
        raise ShapeError("a part needs at least one slice", where=part.name, got=str(count))
    way: Floats = np.asarray(direction, dtype=float)
    if np.linalg.norm(way) == 0.0:
        raise ShapeError("the slicing direction has no length", where=part.name)
    along = part.centres @ way
    span = np.ptp(along) or 1.0
    index = np.clip(((along - along.min()) / span * count).astype(int), 0, count - 1)
    return _labelled(part, [f"slice {k + 1}" for k in range(count)], index)


def split_by_side(part: Body) -> Body:
    """Patches by the bay direction each triangle looks in most: front, rear, left, right, top, bottom."""
    looks = np.argmax(part.normals @ np.array(list(SIDES.values())).T, axis=1)
    return _labelled(part, list(SIDES), looks)


def bay_walls(
    name: str,
    lower: Sequence[float],
    upper: Sequence[float],
    *,
    open_sides: Sequence[str] = (),
    edge: float = EDGE,
) -> Body:
    """The bay's walls as one part looking inward, a patch per side; `open_sides` are left out.

    What leaves through an open side counts as seen by the surroundings. `lower`, `upper`: corners, m.
    """
    for side in open_sides:
        if side not in SIDES:
            raise ShapeError("no such side of the bay", where=name, got=side, allowed=", ".join(SIDES))
    if len(set(open_sides)) == len(SIDES):
        raise ShapeError(
            "a bay with every side open has no walls", where=name, next_step="leave the walls out"
        )
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    mesh = box(tuple(high - low), edge=edge)
    outward = split_by_side(Body(name, mesh.vertices + 0.5 * (low + high), mesh.faces))
    kept = ~np.isin(outward.patch_of, [outward.patches.index(side) for side in open_sides])
    inward = Body(name, outward.vertices, outward.faces[kept][:, ::-1])
    return inward.with_patches(outward.patches, outward.patch_of[kept])
