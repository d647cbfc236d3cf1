"""Rays that leave a patch: points spread evenly over its area, directions by Lambert's cosine law.

Low-discrepancy points (Sobol) fill the four dimensions, one set for all rays of a patch; every patch gets its
own random digital shift, so that patches are independent. Each of the set's `BLOCKS` blocks is evenly spread
by itself: their scatter tells the error (`view_factors`). Everything follows from names and the seed: the same
patch, unmoved, sends the same rays in every run.

Points of the unit square come onto a patch by its area tree. Its triangles are halved again and again, in turn by
where they lie and by which way they look; a point of the square walks down those halvings, its first number deciding
the first kind and its second the other, each in proportion to the areas. Neighbours in the square are then neighbours
on the surface with like normals, so an even spread over the square is an even spread over places and normals, whatever
the shape: along a hose and round it, along a wall and up it.

Sources of the method: Owen (1995), "Randomly permuted (t,m,s)-nets"; L'Ecuyer and Lemieux (2002), "Recent
advances in randomized quasi-Monte Carlo methods" (digital shift); recursive geometric partitions, Basu and Owen
(2015), "Scrambled geometric net integration over general product spaces" (from memory).
"""

import hashlib
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from heatproof.numerics.compiled import compiled
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Body, Ints
from heatproof.shapes.tracers import Singles

# --- from the unit square onto a patch ------------------------------------------------------------------------
FLAT = 0.2  # spread of the normals' components below which the place alone decides


def area_tree(part: Body, patch: int) -> tuple[Ints, Floats]:
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


# --- rays -----------------------------------------------------------------------------------------------------
BLOCKS = 8
# Rays start this far off the surface: single precision in a bay of a metre or two loses none (measured).
OFFSET = 1e-5  # m
Words = NDArray[np.uint32]


@lru_cache(maxsize=4)
def base_points(log2_count: int, seed: int) -> Words:
    """Scrambled Sobol points (2**log2_count, 4) as 32-bit fractions."""
    from scipy.stats import qmc  # heavy to load: only where rays are cast, not where stored ones are read

    sobol = qmc.Sobol(4, scramble=True, bits=32, rng=np.random.default_rng([seed, 0]))
    return (sobol.random_base2(log2_count) * 2.0**32).astype(np.uint32)  # type: ignore[no-any-return]


def _shift(part: str, patch: str, seed: int) -> Words:
    """The patch's own digital shift (4,)."""
    digest = hashlib.sha256(f"{part}\0{patch}\0{seed}".encode()).digest()
    rng = np.random.default_rng(np.frombuffer(digest, dtype=np.uint32))
    return rng.integers(0, 2**32, 4, dtype=np.uint32)


def rays_of_patch(part: Body, patch: int, *, log2_count: int, seed: int) -> tuple[Singles, Singles]:
    """Origins and unit directions (2**log2_count, 3), block by block."""
    order, reach = area_tree(part, patch)
    points, shift = base_points(log2_count, seed), _shift(part.name, part.patches[patch], seed)
    return _leave(part.triangles[order], part.normals[order], reach, points, shift, OFFSET)  # type: ignore[no-any-return]


def rays_of_triangles(part: Body, triangles: Ints, *, log2_count: int, seed: int) -> tuple[Singles, Singles]:
    """Origins and directions of 2**log2_count rays from each of some triangles (n · 2**log2_count, 3)."""
    points = base_points(log2_count, seed)
    origins, directions = [], []
    for t in triangles:
        shift, single = _shift(part.name, f"triangle {t}", seed), slice(t, t + 1)
        o, d = _leave(
            part.triangles[single], part.normals[single], np.array([0.0, 1.0]), points, shift, OFFSET
        )
        origins.append(o)
        directions.append(d)
    return np.concatenate(origins), np.concatenate(directions)


@compiled
def _leaf(reach, a, b):  # type: ignore[no-untyped-def]
    """Leaf that the point (a, b) of the unit square walks to, and what is left of both numbers."""
    start, stop, by_place = 0, len(reach) - 1, True
    below_one = 1.0 - 1e-12
    while stop - start > 1:
        middle = (start + stop) // 2
        whole = reach[stop] - reach[start]
        share = (reach[middle] - reach[start]) / whole if whole > 0.0 else 0.5
        left = a < share if by_place else b < share
        low, width = (0.0, share) if left else (share, 1.0 - share)
        if by_place:
            a = min(max((a - low) / width, 0.0), below_one)
        else:
            b = min(max((b - low) / width, 0.0), below_one)
        if left:
            stop = middle
        else:
            start = middle
        by_place = not by_place
    return start, a, b


@compiled
def _leave(corners, normals, reach, points, shift, offset):  # type: ignore[no-untyped-def]
    """Rays from triangles (n, 3, 3) that stand as in `area_tree`, with the area up to each (n + 1,)."""
    origins = np.empty((len(points), 3), np.float32)
    directions = np.empty((len(points), 3), np.float32)
    scale = 1.0 / 4294967296.0
    for row in range(len(points)):
        a = ((points[row, 0] ^ shift[0]) + 0.5) * scale
        b = ((points[row, 3] ^ shift[3]) + 0.5) * scale
        c = ((points[row, 1] ^ shift[1]) + 0.5) * scale
        e = ((points[row, 2] ^ shift[2]) + 0.5) * scale
        # What the walk leaves of the two numbers places the point within its triangle.
        t, a, b = _leaf(reach, a, b)
        root = np.sqrt(a)
        w0, w1, w2 = 1.0 - root, root * (1.0 - b), root * b
        nx, ny, nz = normals[t, 0], normals[t, 1], normals[t, 2]
        # Two unit vectors across the normal: Duff et al. (2017), JCGT 6(1).
        sign = 1.0 if nz >= 0.0 else -1.0
        f = -1.0 / (sign + nz)
        g = nx * ny * f
        radius, angle, up = np.sqrt(c), 2.0 * np.pi * e, np.sqrt(1.0 - c)
        x, y = radius * np.cos(angle), radius * np.sin(angle)
        directions[row, 0] = x * (1.0 + sign * nx * nx * f) + y * g + up * nx
        directions[row, 1] = x * sign * g + y * (sign + ny * ny * f) + up * ny
        directions[row, 2] = -x * sign * nx - y * ny + up * nz
        for axis in range(3):
            point = w0 * corners[t, 0, axis] + w1 * corners[t, 1, axis] + w2 * corners[t, 2, axis]
            origins[row, axis] = point + offset * normals[t, axis]
    return origins, directions
