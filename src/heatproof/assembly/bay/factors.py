"""View factors of a bay, kept in memory and in the user's cache folder by a hash of the geometry.

The finished factors of a scene are kept beside the rays they came from: a bay that has been seen before needs
neither the ray tracing nor its libraries, and one that differs in a part traces only the rays concerned.
"""

from contextlib import suppress
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple
from zipfile import BadZipFile

import numpy as np

from heatproof._compiled_cache import cache_home
from heatproof._files import write_through
from heatproof.assembly.bay.scene import bay_of, scene_of
from heatproof.kit.records.variant import Variant
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Scene

LAYOUT = "3"
ARRAYS = ("factor", "to_surroundings", "error", "area")


class Factors(NamedTuple):
    """F (n, n) rows sending, share to the surroundings (n,), one standard error (n, n + 1), areas m2 (n,)."""

    factor: Floats
    to_surroundings: Floats
    error: Floats
    area: Floats


def factors_of(variant: Variant) -> Factors:
    """View factors of a variant's scene, in the order of its patches. Raises ShapeError."""
    bay = bay_of(variant)
    return _factors(scene_of(variant), bay.rays_per_patch, bay.seed)


def folder() -> Path:
    """Where factors and rays are kept; safe to delete."""
    return cache_home() / "bay"


@lru_cache(maxsize=256)
def _factors(scene: Scene, rays: int, seed: int) -> Factors:
    key = sha256(f"{LAYOUT}/{rays}/{seed}/{scene.key}".encode()).hexdigest()[:32]
    path = folder() / f"factors-{key}.npz"
    kept = _read(path, len(scene.patch_names))
    return kept if kept is not None else _traced(scene, rays, seed, path)


def _read(path: Path, n: int) -> Factors | None:
    """Kept factors, or None where there are none that fit and close."""
    try:
        with np.load(path, allow_pickle=False) as stored:
            found = Factors(*(np.array(stored[name], dtype=float) for name in ARRAYS))
    except (OSError, ValueError, KeyError, EOFError, BadZipFile, NotImplementedError):
        return None
    if tuple(array.shape for array in found) != ((n, n), (n,), (n, n + 1), (n,)):
        return None
    closed = np.allclose(found.factor.sum(axis=1) + found.to_surroundings, 1.0, atol=1e-9)
    return found if closed else None


def _traced(scene: Scene, rays: int, seed: int, path: Path) -> Factors:
    from heatproof.shapes.view_factors import view_factors  # brings the ray tracing: only where it is needed

    result = view_factors(scene, rays_per_patch=rays, seed=seed, cache=_writable(path.parent))
    found = Factors(result.factor, result.to_surroundings, result.error, result.area)
    with suppress(OSError):  # a cache that cannot be written costs time, nothing else
        arrays = dict(zip(ARRAYS, found, strict=True))
        path.parent.mkdir(parents=True, exist_ok=True)
        write_through(path, lambda stream: np.savez(stream, allow_pickle=False, **arrays))
    return found


def _writable(where: Path) -> Path | None:
    try:
        where.mkdir(parents=True, exist_ok=True)
        probe = where / ".probe"
        probe.touch()
        probe.unlink()
    except OSError:
        return None
    return where
