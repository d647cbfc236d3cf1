"""Rays of a whole scene: traced in full, or brought up to date after some parts changed.

The update is exact. A ray's end changes only if it ended on a part that changed or went, or if a new part
stands in its way: only those rays are traced again, in the whole new scene, so the answer is the one a full
run would give.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from heatproof.numerics.compiled import compiled
from heatproof.shapes.ray_store import MISSED, Ended, Former, RayStore, Settings
from heatproof.shapes.rays import BLOCKS, rays_of_patch
from heatproof.shapes.scene import Ints, Part, Scene
from heatproof.shapes.tracers import FAR, Hits, Singles, Tracer, make_tracer


class SceneTracer:
    """A tracer over some parts of a scene, answering in scene-wide triangles and telling the faces apart."""

    def __init__(self, scene: Scene, kind: str, parts: list[int] | None = None) -> None:
        chosen = range(len(scene.parts)) if parts is None else parts
        first = scene.first_triangle
        own = np.concatenate([np.arange(first[k], first[k + 1]) for k in chosen])
        # A thin sheet's two faces coincide: trace one, then choose by the side the ray comes from.
        own = own[(scene.twin[own] < 0) | (scene.twin[own] > own)]
        self._own = own.astype(np.int32)
        self._normals, self._twin = scene.normals, scene.twin
        self._tracer: Tracer = make_tracer(scene.triangles[own], kind)

    def ends(self, origins: Singles, directions: Singles) -> Ended:
        """Where each ray ends."""
        far = np.full(len(origins), FAR, dtype=np.float32)
        hit, distance = self._tracer.nearest(origins, directions, far)
        return Ended(_faced(hit, directions, self._own, self._normals, self._twin), distance)

    def blocks(self, origins: Singles, directions: Singles, distance: Singles) -> NDArray[np.bool_]:
        """Which rays meet one of these parts no later than `distance`."""
        # One step further: a tie is traced again, and so decided as in a full run.
        far = np.minimum(np.nextafter(distance, np.float32(np.inf)), FAR)
        return self._tracer.nearest(origins, directions, far)[0] >= 0


@compiled
def _faced(hit, directions, own, normals, twin):  # type: ignore[no-untyped-def]
    """Triangle on the side the ray came from; −2 − triangle where only a reverse side is there."""
    out = np.empty(len(hit), np.int32)
    for k in range(len(hit)):
        if hit[k] < 0:
            out[k] = -1
            continue
        t = own[hit[k]]
        along = (
            directions[k, 0] * normals[t, 0]
            + directions[k, 1] * normals[t, 1]
            + directions[k, 2] * normals[t, 2]
        )
        if along < 0.0:
            out[k] = t
        else:
            out[k] = twin[t] if twin[t] >= 0 else -2 - t
    return out


@dataclass(frozen=True, eq=False)
class Counted:
    """Ray counts (BLOCKS, patches, patches + 2) and how they were got.

    Last two columns: rays that met nothing (the surroundings), and rays that met a reverse side, which
    starts inside another part: buried area, which exchanges nothing.
    """

    counts: NDArray[np.int64]
    how: Literal["cache", "updated", "traced"]
    traced: int
    notes: tuple[str, ...]


def count_rays(scene: Scene, settings: Settings, store: RayStore) -> Counted:
    """Ray counts of the scene from the cache, by an update, or traced in full."""
    shape = (BLOCKS, len(scene.patch_names), len(scene.patch_names) + 2)
    if (kept := store.counts(scene, shape)) is not None:
        return Counted(kept, "cache", 0, tuple(store.notes))
    whole = SceneTracer(scene, settings.tracer)
    newcomers: dict[tuple[int, ...], SceneTracer] = {}
    counts = np.zeros(shape, dtype=np.int64)
    traced, updated = 0, False
    for index, part in enumerate(scene.parts):
        former = store.ended(scene, part, len(part.patches) << settings.log2_count)
        if former is None:
            ended, number = _trace_part(part, whole, settings)
        else:
            ended, number = _update_part(part, scene, former, whole, newcomers, settings)
            updated = True
        traced += number
        if former is None or not former.same(scene):
            store.keep_ended(scene, part, ended)
        _count(counts, scene, index, ended)
    store.keep_counts(scene, counts)
    return Counted(counts, "updated" if updated else "traced", traced, tuple(store.notes))


def _trace_part(part: Part, whole: SceneTracer, settings: Settings) -> tuple[Ended, int]:
    pieces = []
    for patch in range(len(part.patches)):
        pieces.append(
            whole.ends(*rays_of_patch(part, patch, log2_count=settings.log2_count, seed=settings.seed))
        )
    ended = Ended(np.concatenate([p.hit for p in pieces]), np.concatenate([p.distance for p in pieces]))
    return ended, len(ended.hit)


def _update_part(
    part: Part,
    scene: Scene,
    former: Former,
    whole: SceneTracer,
    newcomers: dict[tuple[int, ...], SceneTracer],
    settings: Settings,
) -> tuple[Ended, int]:
    hit, lost = _renumbered(former.ended.hit, former.new_index(scene))
    distance = former.ended.distance.copy()
    new = tuple(former.newcomers(scene))
    if not new and not lost.any():
        return Ended(hit, distance), 0
    if new and new not in newcomers:
        newcomers[new] = SceneTracer(scene, settings.tracer, list(new))
    traced, size = 0, 1 << settings.log2_count
    for patch in range(len(part.patches)):
        span = slice(patch * size, (patch + 1) * size)
        again = lost[span].copy()
        if not new and not again.any():
            continue
        origins, directions = rays_of_patch(part, patch, log2_count=settings.log2_count, seed=settings.seed)
        if new:
            again |= newcomers[new].blocks(origins, directions, distance[span])
        ends = whole.ends(origins[again], directions[again])
        hit[span][again], distance[span][again] = ends.hit, ends.distance
        traced += int(again.sum())
    return Ended(hit, distance), traced


def _renumbered(hit: Hits, new_index: NDArray[np.int32]) -> tuple[Hits, NDArray[np.bool_]]:
    """Hits in the new scene's numbering, and which rays lost the triangle they ended on."""
    table = np.concatenate(
        [new_index, np.array([MISSED], dtype=np.int32)]
    )  # a missed ray (−1) reads the last entry
    met = np.where(hit < MISSED, -2 - hit, hit)
    moved = table[met]
    lost = (moved < 0) & (hit != MISSED)
    return np.where(hit < MISSED, -2 - moved, moved).astype(np.int32), lost


def _count(counts: NDArray[np.int64], scene: Scene, index: int, ended: Ended) -> None:
    """Add one part's rays to the counts."""
    first: Ints = scene.first_patch
    patches = len(scene.patch_names)
    # Read by hit: a triangle's patch; from the end (−1 and below): the surroundings, else buried.
    column = np.where(
        ended.hit >= 0,
        scene.patch_of[np.maximum(ended.hit, 0)],
        np.where(ended.hit == MISSED, patches, patches + 1),
    )
    own = first[index + 1] - first[index]
    row = np.arange(own * BLOCKS).repeat(len(ended.hit) // (own * BLOCKS))
    flat = np.bincount(row * (patches + 2) + column, minlength=own * BLOCKS * (patches + 2))
    table = flat.reshape(own, BLOCKS, patches + 2)
    counts[:, first[index] : first[index + 1]] += table.transpose(1, 0, 2)
