"""Rays and results kept on disk between runs, so that moving one part traces only what it must.

Two kinds of file below the cache folder, all written whole or not at all: `counts-<key>.npz`, the ray counts
of one exact scene; `hits-<key>.npz`, for one emitting part as it last stood, where each of its rays ended.
A file that cannot be read, or does not fit, is discarded with a note and never trusted. Zip checksums of
the file's members guard the arrays.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatproof._files import write_through
from heatproof.shapes.scene import Ints, Part, Scene
from heatproof.shapes.tracers import Hits, Singles

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

    def _hits_path(self, part: Part) -> Path | None:
        return self.folder and self.folder / f"hits-{_key(part.name, self.settings.text)}.npz"

    def counts(self, scene: Scene, shape: tuple[int, ...]) -> NDArray[np.int64] | None:
        """Ray counts of exactly this scene, if kept."""
        path = self._counts_path(scene)
        found = path and read_or_discard(path, ("counts",), self.notes)
        if not found or path is None:
            return None
        if found["counts"].shape != shape or found["counts"].dtype != np.int64:
            discard(path, "wrong shape", self.notes)
            return None
        return found["counts"]

    def keep_counts(self, scene: Scene, counts: NDArray[np.int64]) -> None:
        """Keep the ray counts of a scene."""
        if path := self._counts_path(scene):
            write_whole(path, {"counts": counts})

    def ended(self, scene: Scene, part: Part, rays: int) -> "Former | None":
        """Where this part's rays ended when it last stood exactly as now, whatever stood around it."""
        path = self._hits_path(part)
        names = ("emitter", "parts", "keys", "sizes", "hit", "distance")
        found = path and read_or_discard(path, names, self.notes)
        if not found or path is None or str(found["emitter"]) != part.key:
            return None
        former = Former(
            tuple(map(str, found["parts"])), tuple(map(str, found["keys"])), found["sizes"],
            Ended(found["hit"], found["distance"]),
        )  # fmt: skip
        if not former.fits(rays):
            discard(path, "wrong shape", self.notes)
            return None
        return former

    def keep_ended(self, scene: Scene, part: Part, ended: Ended) -> None:
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
