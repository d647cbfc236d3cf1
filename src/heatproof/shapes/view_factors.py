"""View factors between all patches of a scene, by ray casting with occlusion."""

import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatproof.shapes.closure import closed, error_of_mean, pooled
from heatproof.shapes.errors import ShapeError, ShapeFinding
from heatproof.shapes.placement import Floats
from heatproof.shapes.ray_store import RayStore, Settings
from heatproof.shapes.scene import Scene
from heatproof.shapes.tracers import chosen
from heatproof.shapes.tracing import Counted, count_rays

RAYS_PER_PATCH = 65536
BURIED_WORTH_SAYING = 0.02  # share of a patch's rays


@dataclass(frozen=True, eq=False)
class ViewFactors:
    """Patch-to-patch view factors; rows send. All arrays follow `patches`.

    `factor[i, j]` = F_ij, the share of what patch i sends that ends on patch j; `to_surroundings[i]`, what
    leaves through openings. factor.sum(1) + to_surroundings = 1 and area_i F_ij = area_j F_ji to rounding.
    `error` (n, n + 1): one standard error of each F, surroundings last, from the scatter of blocks of rays.
    `buried` (n,): share of a patch's rays that met a reverse side (area inside another part, or a wall seen
    from behind); such area exchanges only with itself.
    `largest_correction`: largest change that closing made.
    """

    patches: tuple[tuple[str, str], ...]
    area: Floats
    factor: Floats
    to_surroundings: Floats
    error: Floats
    buried: Floats
    largest_correction: float
    rays_per_patch: int
    rays_traced: int
    how: str
    tracer: str
    seconds: float
    notes: tuple[str, ...]

    def index(self, part: str, patch: str = "whole") -> int:
        """Row of a patch."""
        try:
            return self.patches.index((part, patch))
        except ValueError:
            known = ", ".join(f"{a}/{b}" for a, b in self.patches)
            raise ShapeError("no such patch", got=f"{part}/{patch}", allowed=known) from None

    def between(self, emitter: tuple[str, str], receiver: tuple[str, str]) -> tuple[float, float]:
        """F from one patch to another and its standard error."""
        i, j = self.index(*emitter), self.index(*receiver)
        return float(self.factor[i, j]), float(self.error[i, j])

    def findings(self) -> list[ShapeFinding]:
        """Patches that are partly buried, and notes of the cache."""
        found = [
            ShapeFinding("warning", part, f"{share:.0%} of patch {patch} looks at the reverse side of a surface",
                    next_step="parts overlap there, or a wall's front looks the wrong way")
            for (part, patch), share in zip(self.patches, self.buried, strict=True)
            if share > BURIED_WORTH_SAYING
        ]  # fmt: skip
        return found + [ShapeFinding("note", "", note) for note in self.notes]


def view_factors(
    scene: Scene,
    *,
    rays_per_patch: int = RAYS_PER_PATCH,
    seed: int = 1,
    cache: Path | str | None = None,
    tracer: str = "auto",
) -> ViewFactors:
    """View factors of all patches of `scene`.

    rays_per_patch : rounded to a power of two; the error falls a little faster than with its root.
    cache : folder for results and rays; after a part moved, only rays it sends, stopped or now stops are
        traced again, and the result equals a full run.
    tracer : "auto" (the library where present), "embreex" or "compiled".
    Valid for coordinates within ±10 m and gaps above 0.1 mm (single precision). Raises ShapeError.
    """
    start = time.perf_counter()
    if not 512 <= rays_per_patch <= 2**26:
        raise ShapeError("rays per patch out of range", got=str(rays_per_patch), allowed="512 to 67108864")
    log2_count = round(np.log2(rays_per_patch))
    settings = Settings(log2_count, seed, chosen(tracer))
    store = RayStore(Path(cache) if cache is not None else None, settings)
    counted = count_rays(scene, settings, store)
    return _from_counts(scene, counted, settings, start)


def _from_counts(scene: Scene, counted: Counted, settings: Settings, start: float) -> ViewFactors:
    n, areas = len(scene.patch_names), scene.patch_areas
    counts = counted.counts.astype(float)
    sent = counts.sum(axis=(0, 2))
    buried = counts[:, :, n + 1].sum(axis=0) / sent
    open_counts = _buried_to_itself(counts)
    raw = open_counts.sum(axis=0)
    factor = _closed_factors(raw, areas)
    scatter = np.stack([_closed_factors(one, areas) for one in open_counts])
    # No scatter seen is no proof of no error: one ray in the whole set is the least that can be told.
    error = np.maximum(error_of_mean(scatter), 1.0 / sent[:, None])
    return ViewFactors(
        patches=scene.patch_names,
        area=areas,
        factor=factor[:, :n],
        to_surroundings=factor[:, n],
        error=error,
        buried=buried,
        largest_correction=float(np.abs(factor - raw / sent[:, None]).max()),
        rays_per_patch=1 << settings.log2_count,
        rays_traced=counted.traced,
        how=counted.how,
        tracer=settings.tracer,
        seconds=time.perf_counter() - start,
        notes=counted.notes,
    )


def _buried_to_itself(counts: Floats) -> Floats:
    """Counts with the buried column added to each patch's own: (BLOCKS, n, n + 1)."""
    n = counts.shape[1]
    result = counts[:, :, : n + 1].copy()
    result[:, np.arange(n), np.arange(n)] += counts[:, :, n + 1]
    return result


def _closed_factors(counts: Floats, areas: Floats) -> Floats:
    exchange, variance = pooled(counts, areas)
    return closed(exchange, variance, areas) / areas[:, None]
