"""Grey-enclosure exchange areas between the masses of a bay.

Every patch sends by its own area; where a cover lies on part of it, the patch counts as two surfaces that see
the same: F between surface a of patch i and surface b of patch j is F_ij times b's share of j, which keeps
reciprocity and row sums. The surroundings are one black surface at ambient temperature.
"""

from typing import NamedTuple

import numpy as np

from heatproof.assembly.bay.factors import Factors, factors_of
from heatproof.assembly.bay.kept import per_variant
from heatproof.assembly.bay.lumps import faces_of
from heatproof.assembly.bay.scene import WALLS, bay_of, scene_of, wall_parts
from heatproof.kit.faces import gas_walls, two_faced
from heatproof.kit.records.variant import Variant
from heatproof.laws.radiation import exchange_areas
from heatproof.shapes.placement import Floats

AMBIENT = "ambient"
CORE_EMISSIVITY = 0.9  # face of a finned core seen from a distance: cavities; common practice, no source
TINY = 1e-6  # m2, exchange areas below are left out; the rest is scaled so that no surface radiates less
MINOR = 0.02
"""Share of its exchange below which two parts that are not hot exchange through the bay's mean surface. Against
all pairs kept, peaks in the demo's long hill differ by 0.5 K at most, at a third less time (measured)."""
MEAN_ROUNDS = 100
BALANCING_ROUNDS = 50


class Surface(NamedTuple):
    """One grey surface: its mass, patch of the scene, share of that patch, emissivity."""

    mass: str
    patch: int
    share: float
    emissivity: float


class Exchange(NamedTuple):
    """Exchange areas (m, m) m2 between masses (`ambient` last), symmetric, zero diagonal; and of each mass with
    the bay's mean surface (m,) m2, through which pairs exchange that count for little one by one."""

    masses: tuple[str, ...]
    area: Floats
    mean: Floats

    def in_all(self) -> Floats:
        """What the mean surface stands for, added to the pairs: X_i X_j/ΣX (m, m) m2."""
        total = max(float(self.mean.sum()), 1e-30)
        both = self.area + np.outer(self.mean, self.mean) / total
        np.fill_diagonal(both, 0.0)
        return both


@per_variant
def surfaces_of(variant: Variant) -> tuple[Surface, ...]:
    """Every grey surface of a scene."""
    index = {pair: k for k, pair in enumerate(scene_of(variant).patch_names)}
    found: list[Surface] = []
    for name, part in variant.parts.items():
        if part.shape is not None:
            faces = faces_of(variant, name)
            found += [Surface(f.mass, index[name, f.patch], f.of_patch, f.emissivity) for f in faces]
    walls = wall_parts(bay_of(variant)) if variant.bay is not None else {}
    for (owner, patch), k in index.items():
        if owner == WALLS:
            wall = walls[patch]
            found.append(Surface(wall, k, 1.0, variant.parts[wall].emissivity))
        elif owner not in variant.parts:
            found.append(Surface(owner, k, 1.0, CORE_EMISSIVITY))
    return tuple(found)


def surface_exchange(surfaces: tuple[Surface, ...], factors: Factors, areas: Floats) -> Floats:
    """Exchange areas (k + 1, k + 1) m2 between surfaces, surroundings last."""
    at = np.array([s.patch for s in surfaces])
    share = np.array([s.share for s in surfaces])
    A = areas[at] * share
    n = len(surfaces)
    F = np.zeros((n + 1, n + 1))
    F[:n, :n] = factors.factor[np.ix_(at, at)] * share
    F[:n, n] = factors.to_surroundings[at]
    open_area = max(float(A @ F[:n, n]), 1e-12)
    F[n, :n] = A * F[:n, n] / open_area
    F[n, n] = 1.0 - F[n, :n].sum()
    eps = np.append([s.emissivity for s in surfaces], 1.0)
    return exchange_areas(F, np.append(A, open_area), eps)


def exchange_of(variant: Variant, *, tiny: float = TINY, minor: float = MINOR) -> Exchange:
    """Exchange areas between the masses of a variant's bay. Raises ShapeError.

    Two parts that exhaust gas does not heat exchange through the mean surface where either would have less
    than the share `minor` of its exchange with the other. Other pairs below `tiny` (m2) are left out.
    """
    scene, surfaces = scene_of(variant), surfaces_of(variant)
    G = surface_exchange(surfaces, factors_of(variant), scene.patch_areas)
    masses = tuple(dict.fromkeys([s.mass for s in surfaces] + [AMBIENT]))
    place = {mass: k for k, mass in enumerate(masses)}
    own = np.array([place[s.mass] for s in surfaces] + [place[AMBIENT]])
    joined = np.zeros((len(masses), len(masses)))
    np.add.at(joined, (own[:, None], own[None, :]), G)
    np.fill_diagonal(joined, 0.0)
    hot = hot_masses(variant)
    cool = np.array([mass not in hot and mass != AMBIENT for mass in masses])
    total = joined.sum(axis=1)
    weak = np.logical_and.outer(cool, cool) & (joined < minor * np.minimum.outer(total, total))
    mean = mean_surface(np.where(weak, joined, 0.0).sum(axis=1))
    return Exchange(masses, pruned(np.where(weak, 0.0, joined), tiny), mean)


def mean_surface(wanted: Floats) -> Floats:
    """X (m,) m2 of each mass with one common node, so that all it then exchanges, X_i (ΣX − X_i)/ΣX, is
    `wanted` (m2). A star of links in place of a net; exact where all that is joined so has one temperature."""
    X = wanted.copy()
    for _ in range(MEAN_ROUNDS):
        total = float(X.sum())
        if total <= 0.0:
            break
        X = wanted * total / np.maximum(total - X, 0.5 * total)
    return X


def hot_masses(variant: Variant) -> set[str]:
    """Masses of parts that exhaust gas heats, of their covers, and of plates that stand before them."""
    sources = gas_walls(variant)
    found: set[str] = set()
    for name, part in variant.parts.items():
        if part.shape is not None and (name in sources or two_faced(part)):
            found |= {face.mass for face in faces_of(variant, name)}
    return found


def pruned(G: Floats, smallest: float) -> Floats:
    """Without entries below `smallest`; the rest is scaled by d_i d_j so that every row keeps its sum,
    as nearly as what is left allows."""
    want = G.sum(axis=1)
    kept = np.where(smallest > G, 0.0, G)
    live = kept.sum(axis=1) > 0.0
    d = np.ones(len(G))
    for _ in range(BALANCING_ROUNDS):
        have = d * (kept @ d)
        d[live] *= np.sqrt(want[live] / have[live])
        if np.abs(have[live] / want[live] - 1.0).max(initial=0.0) < 1e-9:
            break
    return kept * np.outer(d, d)
