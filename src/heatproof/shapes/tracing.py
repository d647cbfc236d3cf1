"""Rays of a whole scene: traced in full, or brought up to date after some parts changed, and kept on disk between runs.

The update is exact. A ray's end changes only if it ended on a part that changed or went, or if a new part
stands in its way: only those rays are traced again, in the whole new scene, so the answer is the one a full
run would give.

Two kinds of file lie below the cache folder, all written whole or not at all: `counts-<key>.npz`, the ray counts
of one exact scene; `hits-<key>.npz`, for one emitting part as it last stood, where each of its rays ended.
A file that cannot be read, or does not fit, is discarded with a note and never trusted. Zip checksums of
the file's members guard the arrays.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from heatproof._files import write_through
from heatproof.numerics.compiled import compiled
from heatproof.shapes.rays import BLOCKS, rays_of_patch
from heatproof.shapes.scene import Body, Ints, Scene
from heatproof.shapes.tracers import FAR, Hits, Singles, Tracer, make_tracer

# --- kept between runs ----------------------------------------------------------------------------------------
LAYOUT = "4"  # of the files; another layout is another name
MISSED = -1  # hit value of a ray that met nothing; −2 − t: it met the reverse side of triangle t


@dataclass(frozen=True)
class Settings:
    """What besides geometry decides where rays end."""

    log2_count: int
    seed: int
    tracer: str

    @property
    def text(self) -> str:
        """One line for keys."""
        return f"{LAYOUT}/{self.log2_count}/{self.seed}/{self.tracer}"


@dataclass(frozen=True, eq=False)
class Ended:
    """Where one part's rays ended: scene-wide triangle (or MISSED, or −2 − triangle) and distance m."""

    hit: Hits
    distance: Singles


def _key(*texts: str) -> str:
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()[:32]


def write_whole(path: Path, arrays: Mapping[str, NDArray[Any]]) -> None:
    """Write an npz file, whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_through(path, lambda stream: np.savez(stream, allow_pickle=False, **arrays))


def read_or_discard(path: Path, names: tuple[str, ...], notes: list[str]) -> dict[str, NDArray[Any]] | None:
    """Arrays of an npz file; None when there is none. A damaged file is removed and noted."""
    if not path.is_file():
        return None
    try:
        with path.open("rb") as stream, np.load(stream, allow_pickle=False) as stored:
            return {name: stored[name] for name in names}
    except Exception as damage:  # archive, header and data each have errors of their own
        discard(path, type(damage).__name__, notes)
        return None


def discard(path: Path, why: str, notes: list[str]) -> None:
    """Remove a cache file that cannot be trusted and say so."""
    path.unlink(missing_ok=True)
    notes.append(f"cache file {path.name} was damaged ({why}) and has been discarded; traced again")


class RayStore:
    """The cache folder of one project, or nothing at all when `folder` is None."""

    def __init__(self, folder: Path | None, settings: Settings) -> None:
        self.folder, self.settings = folder, settings
        self.notes: list[str] = []

    def _counts_path(self, scene: Scene) -> Path | None:
        return self.folder and self.folder / f"counts-{_key(scene.key, self.settings.text)}.npz"

    def _hits_path(self, part: Body) -> Path | None:
        return self.folder and self.folder / f"hits-{_key(part.name, self.settings.text)}.npz"

    def counts(self, scene: Scene, shape: tuple[int, ...]) -> NDArray[np.int64] | None:
        """Ray counts of exactly this scene, if kept."""
        path = self._counts_path(scene)
        stored = path and read_or_discard(path, ("counts",), self.notes)
        if not stored or path is None:
            return None
        if stored["counts"].shape != shape or stored["counts"].dtype != np.int64:
            discard(path, "wrong shape", self.notes)
            return None
        return stored["counts"]

    def keep_counts(self, scene: Scene, counts: NDArray[np.int64]) -> None:
        """Keep the ray counts of a scene."""
        if path := self._counts_path(scene):
            write_whole(path, {"counts": counts})

    def ended(self, scene: Scene, part: Body, rays: int) -> "Former | None":
        """Where this part's rays ended when it last stood exactly as now, whatever stood around it."""
        path = self._hits_path(part)
        names = ("emitter", "parts", "keys", "sizes", "hit", "distance")
        stored = path and read_or_discard(path, names, self.notes)
        if not stored or path is None or str(stored["emitter"]) != part.key:
            return None
        former = Former(
            tuple(map(str, stored["parts"])), tuple(map(str, stored["keys"])), stored["sizes"],
            Ended(stored["hit"], stored["distance"]),
        )  # fmt: skip
        if not former.fits(rays):
            discard(path, "wrong shape", self.notes)
            return None
        return former

    def keep_ended(self, scene: Scene, part: Body, ended: Ended) -> None:
        """Keep where this part's rays ended."""
        if path := self._hits_path(part):
            write_whole(path, {
                "emitter": np.array(part.key),
                "parts": np.array([p.name for p in scene.parts]),
                "keys": np.array([p.key for p in scene.parts]),
                "sizes": np.diff(scene.first_triangle),
                "hit": ended.hit,
                "distance": ended.distance,
            })  # fmt: skip


@dataclass(frozen=True, eq=False)
class Former:
    """Rays of one part as they ended in an earlier scene, with that scene's parts."""

    parts: tuple[str, ...]
    keys: tuple[str, ...]
    sizes: Ints
    ended: Ended

    def fits(self, rays: int) -> bool:
        """Whether all arrays have the shapes and ranges they must have."""
        hit, distance, total = self.ended.hit, self.ended.distance, int(np.sum(self.sizes))
        return (
            hit.shape == distance.shape == (rays,)
            and hit.dtype == np.int32
            and distance.dtype == np.float32
            and len(self.parts) == len(self.keys) == len(self.sizes)
            and bool(((hit >= -1 - total) & (hit < total)).all())
        )

    def same(self, scene: Scene) -> bool:
        """Whether the earlier scene had exactly these parts."""
        return self.keys == tuple(part.key for part in scene.parts)

    def new_index(self, scene: Scene) -> NDArray[np.int32]:
        """Earlier triangle index → index in `scene`; −1 where its part has gone or changed."""
        now = {part.key: first for part, first in zip(scene.parts, scene.first_triangle[:-1], strict=True)}
        pieces = [
            np.arange(size) + now[key] if key in now else np.full(size, -1)
            for key, size in zip(self.keys, self.sizes, strict=True)
        ]
        return np.concatenate(pieces).astype(np.int32)

    def newcomers(self, scene: Scene) -> list[int]:
        """Indices of parts of `scene` that the earlier scene did not have, or had elsewhere."""
        before = set(self.keys)
        return [k for k, part in enumerate(scene.parts) if part.key not in before]


# --- tracing --------------------------------------------------------------------------------------------------
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


def _trace_part(part: Body, whole: SceneTracer, settings: Settings) -> tuple[Ended, int]:
    pieces = []
    for patch in range(len(part.patches)):
        pieces.append(
            whole.ends(*rays_of_patch(part, patch, log2_count=settings.log2_count, seed=settings.seed))
        )
    ended = Ended(np.concatenate([p.hit for p in pieces]), np.concatenate([p.distance for p in pieces]))
    return ended, len(ended.hit)


def _update_part(
    part: Body,
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
