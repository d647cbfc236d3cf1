"""Rays that leave a patch: points spread evenly over its area, directions by Lambert's cosine law.

Low-discrepancy points (Sobol) fill the four dimensions; every patch gets its own random digital shift, so
that patches are independent and each of the `REPLICATES` scrambles is an unbiased estimate of its own: their
scatter is the stated error. Everything follows from names and the seed: the same patch, unmoved, sends the
same rays in every run.

Source of the method: Owen (1995), "Randomly permuted (t,m,s)-nets"; L'Ecuyer and Lemieux (2002), "Recent
advances in randomized quasi-Monte Carlo methods" (digital shift).
"""

import hashlib
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from heatproof.numerics.compiled import compiled
from heatproof.shapes.scene import Ints, Part
from heatproof.shapes.tracers import Singles

REPLICATES = 8
# Rays start this far off the surface: single precision in a bay of a metre or two loses none (measured).
OFFSET = 1e-5  # m
Words = NDArray[np.uint32]


@lru_cache(maxsize=4)
def base_points(log2_count: int, seed: int) -> Words:
    """Scrambled Sobol points (REPLICATES, 2**log2_count, 4) as 32-bit fractions."""
    from scipy.stats import qmc  # heavy to load: only where rays are cast, not where stored ones are read

    sets = []
    for replicate in range(REPLICATES):
        sobol = qmc.Sobol(4, scramble=True, bits=32, rng=np.random.default_rng([seed, replicate]))
        sets.append((sobol.random_base2(log2_count) * 2.0**32).astype(np.uint32))
    return np.stack(sets)


def _shift(part: str, patch: str, seed: int) -> Words:
    """The patch's own digital shift (REPLICATES, 4)."""
    digest = hashlib.sha256(f"{part}\0{patch}\0{seed}".encode()).digest()
    rng = np.random.default_rng(np.frombuffer(digest, dtype=np.uint32))
    return rng.integers(0, 2**32, (REPLICATES, 4), dtype=np.uint32)


def rays_of_patch(part: Part, patch: int, *, log2_count: int, seed: int) -> tuple[Singles, Singles]:
    """Origins and unit directions (REPLICATES · 2**log2_count, 3), replicate by replicate."""
    own = _near_after_near(part, np.flatnonzero(part.patch_of == patch))
    # Floor of share: the last value is exactly one, whatever the rounding of the sum.
    reach = np.cumsum(part.areas[own])
    points = base_points(log2_count, seed)
    shift = _shift(part.name, part.patches[patch], seed)
    return _leave(part.triangles[own], part.normals[own], reach / reach[-1], points, shift, OFFSET)  # type: ignore[no-any-return]


def _near_after_near(part: Part, own: Ints) -> Ints:
    """Triangles ordered along a space-filling (Morton) curve, so that an even spread of numbers is an even
    spread of places."""
    centre = part.centres[own]
    low, span = centre.min(axis=0), max(float(np.ptp(centre, axis=0).max()), 1e-9)
    cell = ((centre - low) / span * 1023.0).astype(np.uint64)
    code = np.zeros(len(own), dtype=np.uint64)
    for bit in range(10):
        for axis in range(3):
            code |= ((cell[:, axis] >> np.uint64(bit)) & np.uint64(1)) << np.uint64(3 * bit + axis)
    return own[np.argsort(code, kind="stable")]


def rays_of_triangles(part: Part, triangles: Ints, *, log2_count: int, seed: int) -> tuple[Singles, Singles]:
    """Origins and directions of 2**log2_count rays from each of some triangles (n · 2**log2_count, 3)."""
    points = base_points(log2_count, seed)[:1]
    origins, directions = [], []
    for t in triangles:
        shift = _shift(part.name, f"triangle {t}", seed)[:1]
        o, d = _leave(part.triangles[t : t + 1], part.normals[t : t + 1], np.ones(1), points, shift, OFFSET)
        origins.append(o)
        directions.append(d)
    return np.concatenate(origins), np.concatenate(directions)


@compiled
def _leave(corners, normals, reach, points, shift, offset):  # type: ignore[no-untyped-def]
    """Rays from triangles (n, 3, 3) with cumulative area shares `reach` (n,)."""
    replicates, count = points.shape[0], points.shape[1]
    origins = np.empty((replicates * count, 3), np.float32)
    directions = np.empty((replicates * count, 3), np.float32)
    scale = 1.0 / 4294967296.0
    for r in range(replicates):
        for k in range(count):
            a = ((points[r, k, 0] ^ shift[r, 0]) + 0.5) * scale
            b = ((points[r, k, 3] ^ shift[r, 3]) + 0.5) * scale
            c = ((points[r, k, 1] ^ shift[r, 1]) + 0.5) * scale
            e = ((points[r, k, 2] ^ shift[r, 2]) + 0.5) * scale
            t = min(np.searchsorted(reach, a, side="right"), len(reach) - 1)
            low = reach[t - 1] if t > 0 else 0.0
            # What is left of the first number places the point within the chosen triangle.
            root = np.sqrt(min(max((a - low) / (reach[t] - low), 0.0), 1.0))
            w0, w1, w2 = 1.0 - root, root * (1.0 - b), root * b
            nx, ny, nz = normals[t, 0], normals[t, 1], normals[t, 2]
            # Two unit vectors across the normal: Duff et al. (2017), JCGT 6(1).
            sign = 1.0 if nz >= 0.0 else -1.0
            f = -1.0 / (sign + nz)
            g = nx * ny * f
            radius, angle, up = np.sqrt(c), 2.0 * np.pi * e, np.sqrt(1.0 - c)
            x, y = radius * np.cos(angle), radius * np.sin(angle)
            row = r * count + k
            directions[row, 0] = x * (1.0 + sign * nx * nx * f) + y * g + up * nx
            directions[row, 1] = x * sign * g + y * (sign + ny * ny * f) + up * ny
            directions[row, 2] = -x * sign * nx - y * ny + up * nz
            for axis in range(3):
                point = w0 * corners[t, 0, axis] + w1 * corners[t, 1, axis] + w2 * corners[t, 2, axis]
                origins[row, axis] = point + offset * normals[t, axis]
    return origins, directions
