"""The bay's layer: radiation between all shapes, air in close gaps, heat along split surfaces."""

import math

import numpy as np

from heatproof.assembly.bay.exchange import exchange_of
from heatproof.assembly.bay.gaps import gaps_of
from heatproof.assembly.bay.lumps import Face, faces_of, geometry_on, lumps_of
from heatproof.assembly.bay.scene import scene_of, shape_of
from heatproof.assembly.bay.splits import default_splits, default_wall
from heatproof.kit.records.parts import Conduction, Contact, Link, Part
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import material
from heatproof.network.builder import NetworkBuilder

T_CONDUCTIVITY = 400.0  # K at which a wall's conductivity is taken
MEAN = "other surfaces of the bay"
MEAN_CAPACITY = 0.5  # J/K of the mean surface: follows within a second
SMALLEST_GAP = 1e-3  # W/K, air gaps below are left out


def in_scene(variant: Variant, name: str) -> bool:
    """Whether a part's radiation is decided by its shape, or by its being a wall of the bay."""
    return geometry_on(variant) and variant.parts[name].shape is not None


def decided_by_shapes(variant: Variant, link: Link) -> bool:
    """Whether a radiation link joins two parts whose shapes say what they see of each other."""
    return in_scene(variant, link.from_) and in_scene(variant, link.to)


def lay_bay(b: NetworkBuilder, variant: Variant) -> None:
    """Radiation, gaps and lateral conduction; nothing where geometry is off. Raises ShapeError."""
    if not geometry_on(variant):
        return
    lay_exchange(b, variant)
    lay_gaps(b, variant)
    for name, part in variant.parts.items():
        if part.shape is not None and part.patches is not None and part.patches.split != "none":
            lay_lateral(b, variant, name, part)


def lay_exchange(b: NetworkBuilder, variant: Variant) -> None:
    """A radiation link for each pair of masses that see each other, reflections counted, and the mean surface."""
    found = exchange_of(variant)
    masses = found.masses
    for i, j in np.argwhere(np.triu(found.area) > 0.0):
        b.radiation(masses[i], masses[j], float(found.area[i, j]), name=f"{masses[i]} – {masses[j]}")
    if found.mean.any():
        b.mass(MEAN, MEAN_CAPACITY, kind="gas")
    for i in np.flatnonzero(found.mean):
        b.radiation(masses[i], MEAN, float(found.mean[i]), name=f"{masses[i]} – other surfaces")


def lay_gaps(b: NetworkBuilder, variant: Variant) -> None:
    """Conduction through the air of close gaps, between what shows on both sides."""
    names = scene_of(variant).patch_names
    conductance = gaps_of(variant).conductance
    linked = touching(variant)
    for i, j in np.argwhere(np.triu(conductance) > SMALLEST_GAP):
        (one, patch1), (two, patch2) = names[i], names[j]
        if frozenset((one, two)) in linked:
            continue
        for f1 in _showing(variant, one, patch1):
            for f2 in _showing(variant, two, patch2):
                if f1.mass != f2.mass:
                    G = float(conductance[i, j]) * f1.of_patch * f2.of_patch
                    b.conduction(f1.mass, f2.mass, G, name=f"air between {one} and {two}")


def _showing(variant: Variant, name: str, patch: str) -> list[Face]:
    if name not in variant.parts:
        return [Face(name, patch, 1.0, 1.0, 1.0)]
    return [face for face in faces_of(variant, name) if face.patch == patch]


def touching(variant: Variant) -> set[frozenset[str]]:
    """Pairs of parts that the kit joins itself: their closeness is spoken for."""
    pairs = {
        frozenset((link.from_, link.to))
        for link in variant.links.values()
        if isinstance(link, Conduction | Contact)
    }
    if (turbo := variant.turbo) is not None:
        pairs |= {
            frozenset((turbo.part_turbine, turbo.part_bearing)),
            frozenset((turbo.part_bearing, turbo.part_compressor)),
        }
    return pairs


def sheltered_share(variant: Variant, name: str, patch: str) -> float:
    """Share of a patch in a closed pocket, where the zone's air does not reach it."""
    if not in_scene(variant, name):
        return 0.0
    names = scene_of(variant).patch_names
    return float(gaps_of(variant).sheltered[names.index((name, patch))])


def wall_conductivity(part: Part) -> float:
    """W/m/K in which heat spreads along a split surface."""
    assert part.patches is not None
    if part.patches.conductivity is not None:
        return part.patches.conductivity
    assert part.material is not None  # the kit's checks refuse patches without either
    return material(part.material).conductivity.at(T_CONDUCTIVITY).value


def lay_lateral(b: NetworkBuilder, variant: Variant, name: str, part: Part) -> None:
    """k t L/d between neighbouring patches: L their common border, d between their middles."""
    assert part.patches is not None
    shape = shape_of(variant, name).part
    kt = wall_conductivity(part) * part.patches.wall
    borders = border_lengths(shape.vertices, shape.faces, shape.patch_of, len(shape.patches))
    mass = {patch: lump.mass for lump in lumps_of(variant, name) for patch, _ in lump.patches}
    for i, j in np.argwhere(np.triu(borders, 1) > 0.0):
        d = math.sqrt(0.5 * (shape.patch_areas[i] + shape.patch_areas[j]))
        G = kt * float(borders[i, j]) / d
        b.conduction(mass[shape.patches[i]], mass[shape.patches[j]], G, name=f"along {name}")


def lay_hot_faces(b: NetworkBuilder, variant: Variant) -> None:
    """Heat between the hot face and the body of every part that is split by default.

    Round a dry wall k t L/d, L the face's border, d the root of the mean area. Through a washed one k A/t, less what the
    flow's own link has of the wall already: (1 − s/2) of it where the face is the share s of the surface.
    """
    for name in default_splits(variant):
        body, face = lumps_of(variant, name)
        wall, (_, share) = default_wall(variant, name), face.patches[0]
        area = share * variant.parts[name].surface
        if wall.washed:
            G = wall.conductivity * area / (wall.thickness * (1.0 - 0.5 * share))
        else:
            between = math.sqrt(0.5 * variant.parts[name].surface)
            G = wall.conductivity * wall.thickness * face_border(variant, name, area) / between
        b.conduction(face.mass, body.mass, G, name=f"along {name}")


def face_border(variant: Variant, name: str, area: float) -> float:
    """m: border of a hot face, by the part's shape; where it has none, that of a disc of its area."""
    if not in_scene(variant, name):
        return 2.0 * math.sqrt(math.pi * area)
    shape = shape_of(variant, name).part
    return float(border_lengths(shape.vertices, shape.faces, shape.patch_of, len(shape.patches))[0, 1])


def border_lengths(vertices: np.ndarray, faces: np.ndarray, patch_of: np.ndarray, n: int) -> np.ndarray:
    """Length (m) of the edges that two patches share, (n, n) symmetric."""
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    owner = np.tile(patch_of, 3)
    order = np.lexsort((edges[:, 1], edges[:, 0]))
    edges, owner = edges[order], owner[order]
    same = (edges[1:] == edges[:-1]).all(axis=1) & (owner[1:] != owner[:-1])
    length = np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)
    total = np.zeros((n, n))
    np.add.at(total, (owner[:-1][same], owner[1:][same]), length[:-1][same])
    return total + total.T
