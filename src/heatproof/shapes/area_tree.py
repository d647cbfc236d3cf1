"""A patch's triangles in an order that takes the unit square onto its surface, area for area.

The triangles are halved again and again, in turn by where they lie and by which way they look; a point of
the square walks down those halvings, its first number deciding the first kind and its second the other, each
in proportion to the areas. Neighbours in the square are then neighbours on the surface with like normals, so
an even spread over the square is an even spread over places and normals, whatever the shape: along a hose and
round it, along a wall and up it.

Source of the idea: recursive geometric partitions, Basu and Owen (2015), "Scrambled geometric net integration
over general product spaces" (from memory).
"""

import numpy as np

from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Ints, Part

FLAT = 0.2  # spread of the normals' components below which the place alone decides


def area_tree(part: Part, patch: int) -> tuple[Ints, Floats]:
    """Triangles of a patch (n,) as the tree's leaves stand, and the area up to each m2 (n + 1,), from zero.

    The halves of leaves start … stop meet at (start + stop) // 2.
    """
    order = np.flatnonzero(part.patch_of == patch)
    places, looks = part.centres, part.normals
    bounds, by_place = np.array([0, len(order)]), True
    while (np.diff(bounds) > 1).any():
        axes = places[order] if by_place else np.where(
            _narrow(looks[order], bounds)[:, None], places[order], looks[order]
        )  # fmt: skip
        segment = np.repeat(np.arange(len(bounds) - 1), np.diff(bounds))
        widest = np.argmax(_spread(axes, bounds), axis=1)[segment]
        order = order[np.lexsort((axes[np.arange(len(order)), widest], segment))]
        bounds, by_place = np.union1d(bounds, (bounds[:-1] + bounds[1:]) // 2), not by_place
    return order, np.append(0.0, np.cumsum(part.areas[order]))


def _spread(values: Floats, bounds: Ints) -> Floats:
    """Largest less least of each column in each segment (segments, columns)."""
    return np.maximum.reduceat(values, bounds[:-1]) - np.minimum.reduceat(values, bounds[:-1])  # type: ignore[no-any-return]


def _narrow(looks: Floats, bounds: Ints) -> Ints:
    """Whether the normals of a triangle's segment hardly differ (n,)."""
    return np.repeat(_spread(looks, bounds).max(axis=1) < FLAT, np.diff(bounds))
