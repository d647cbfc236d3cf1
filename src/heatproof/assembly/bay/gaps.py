"""Air between close faces: where it cannot turn over, heat crosses by conduction.

Looked for along the normals of every triangle. In an open gap only air closer than `STILL_GAP` counts as
still. Behind a plate that is not ventilated the whole gap is a closed pocket: neither face gives heat to the
zone's air there, and heat crosses by conduction or, where the gap is wide, by the slow turning of the air.
"""

from contextlib import suppress
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from heatproof.assembly.bay.factors import folder
from heatproof.assembly.bay.kept import per_variant
from heatproof.assembly.bay.scene import WALLS, scene_of
from heatproof.assembly.covers import BACK
from heatproof.kit.faces import gas_walls
from heatproof.kit.records.variant import Variant
from heatproof.media.air import conductivity_air
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Ints, Scene
from heatproof.shapes.tracing import read_or_discard, write_whole

Bools = NDArray[np.bool_]
STILL_GAP = 0.015  # m; air between closer faces conducts, it does not turn over
TOUCHING = 0.0015  # m; closer faces are taken to touch: a link of the kit speaks for them
POCKET = 0.060  # m; a plate that is not ventilated closes gaps up to this width
T_GAP, T_HOT_GAP = 350.0, 450.0
"""K at which still air's conductivity is taken: between parts of the bay; where exhaust gas heats one of the two, metal at
600 to 1000 K faces one near 350. Within 9 % for means of 400 to 500 K; at 350 it would be 12 to 20 % low."""
POCKET_COEFFICIENT = 2.0  # W/m2/K across a wide closed pocket: two natural films of 4 in series; estimate


class Normals(NamedTuple):
    """For each triangle of a scene: the triangle its normal meets (−1: none near) and the distance, m."""

    met: Ints
    distance: Floats


class Gaps(NamedTuple):
    """Conductance between patches, W/K (n, n), symmetric; share of each patch inside a closed pocket (n,)."""

    conductance: Floats
    sheltered: Floats


@lru_cache(maxsize=256)
def normals_of(scene: Scene) -> Normals:
    """What each triangle's normal meets within a pocket's width; kept in the user's cache folder."""
    path = folder() / f"normals-{scene.key[:32]}.npz"
    kept = read_or_discard(path, ("met", "distance"), [])
    if kept is not None and kept["met"].shape == (len(scene.patch_of),):
        return Normals(kept["met"], kept["distance"])
    found = _traced(scene)
    with suppress(OSError):  # a cache that cannot be written costs time, nothing else
        write_whole(path, found._asdict())
    return found


def _traced(scene: Scene) -> Normals:
    from heatproof.shapes.rays import OFFSET  # brings the ray tracing: only where it is needed
    from heatproof.shapes.tracing import SceneTracer

    centres = scene.triangles.mean(axis=1)
    start = (centres + OFFSET * scene.normals).astype(np.float32)
    ends = SceneTracer(scene, "auto").ends(start, np.ascontiguousarray(scene.normals, dtype=np.float32))
    near = (ends.hit >= 0) & (ends.distance < POCKET)
    return Normals(np.where(near, ends.hit, -1).astype(np.int64), ends.distance.astype(float))


@per_variant
def gaps_of(variant: Variant) -> Gaps:
    """Still gaps and closed pockets of a variant's bay."""
    scene = scene_of(variant)
    met, distance = normals_of(scene)
    owner = np.repeat(np.arange(len(scene.parts)), np.diff(scene.first_triangle))
    area = np.concatenate([part.areas for part in scene.parts])
    patch, n = scene.patch_of, len(scene.patch_names)
    closes = _closed_backs(variant, scene)
    other = np.where(met >= 0, patch[met], -1)
    apart = (met >= 0) & (distance > TOUCHING) & (owner != owner[met]) & _not_walls(scene, owner, met)
    pocket = apart & (closes[patch] | ((met >= 0) & closes[other]))
    still = apart & (pocket | (distance < STILL_GAP))
    hot = _by_exhaust(variant, scene)
    k = np.where(hot[patch] | hot[other], still_air(hot=True), still_air(hot=False))
    h = k / np.maximum(distance, TOUCHING)
    h = np.where(pocket, np.maximum(h, POCKET_COEFFICIENT), h)
    G = np.zeros((n, n))
    np.add.at(G, (patch[still], other[still]), (area * h)[still])
    sheltered = np.bincount(patch[pocket], area[pocket], n) / scene.patch_areas
    # Both faces look at the same gap: the mean of what each sees of it, the finer face counting more.
    looks = np.zeros((n, n))
    np.add.at(looks, (patch[still], other[still]), 1.0)
    both = np.maximum(looks + looks.T, 1.0)
    return Gaps((looks * G + looks.T * G.T) / both, np.minimum(sheltered, 1.0))


def still_air(*, hot: bool) -> float:
    """W/m/K of air in a gap; hot: beside a part that exhaust gas heats."""
    return conductivity_air(T_HOT_GAP if hot else T_GAP)


def _by_exhaust(variant: Variant, scene: Scene) -> Bools:
    """Which patches belong to parts that exhaust gas heats."""
    sources = gas_walls(variant)
    return np.array([name in sources for name, _ in scene.patch_names])


def _not_walls(scene: Scene, owner: Ints, met: Ints) -> Bools:
    wall = np.array([part.name == WALLS for part in scene.parts])
    return ~(wall[owner] | wall[owner[met]])


def _closed_backs(variant: Variant, scene: Scene) -> Bools:
    """Which patches are the back of a plate that is not ventilated."""
    return np.array(
        [
            patch == BACK and name in variant.parts and not variant.parts[name].ventilated
            for name, patch in scene.patch_names
        ]
    )
