"""Which parts are cut in two because something hot shines on one side and the wall spreads heat poorly.

A hose, boot, loom or plastic cover that faces a turbine is not at one temperature: its hot face may be tens of kelvins over
its mean. By default such a part has two masses, the face that looks at the hottest thing near it and the rest, and its limit
is judged at the hotter of them. `patches:` in the file says otherwise; `patches: {split: none}` keeps a part whole.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from heatproof.assembly.bay.bodies import bare_shape
from heatproof.assembly.bay.kept import per_variant
from heatproof.assembly.covers import round_of
from heatproof.assembly.facing import view_of
from heatproof.kit.faces import fluid_walls, gas_walls, two_faced
from heatproof.kit.records.parts import Facing, Part
from heatproof.kit.records.shapes import Box, Cylinder, Patches, Plate, Sphere, Tube
from heatproof.kit.records.variant import Variant
from heatproof.media.solids import FINISH_FAMILY, material
from heatproof.shapes.scene import Body

SOFT = ("plastic", "EPDM rubber")
SOFT_BELOW = 473.15  # K: a part of no stated material with a lower limit is taken for plastic or rubber
T_WALL = 400.0  # K at which a wall's properties are taken
RUBBER, RUBBER_DENSITY = 0.25, 1200.0  # W/m/K, kg/m3 where no material is named; typical of filled rubber
THINNEST = 0.5e-3  # m
THICKEST_SHELL = 12e-3
"""m of wall up to which a part of no stated material counts as a shell or a hose; a heavier one (alternator, battery) is
made of many things, and only a stated material or `patches:` splits it."""
COOLING = 20.0  # W/m2/K by which a face gives heat away, air and radiation together
EVENS_OUT = 0.5
"""Value of COOLING d²/(k t), d half the girth, up to which a wall carries so much heat round that one temperature serves."""
LEAST_SEEN = 0.02  # share of what a small body sees that the hot part must fill, nothing between them
LEAST_FACE, MOST_FACE = 0.1, 0.5  # share of a part's surface that its hot face may be where it has no shape


@dataclass(frozen=True)
class Wall:
    """What a poor conductor's wall is taken for: thickness m, conductivity W/m/K, and whether a liquid or gas washes it."""

    thickness: float
    conductivity: float
    washed: bool


def is_soft(part: Part) -> bool:
    """Whether a part is of plastic or rubber, or must be taken for it."""
    if part.material is not None:
        return FINISH_FAMILY.get(part.material, part.material) in SOFT
    allowed = part.limit.continuous if part.limit is not None else None
    return allowed is not None and allowed < SOFT_BELOW


def default_wall(variant: Variant, name: str) -> Wall:
    """Wall of a part that is split by default: as thick as its mass allows, half its size at most."""
    part = variant.parts[name]
    k, density = RUBBER, RUBBER_DENSITY
    if part.material is not None:
        solid = material(part.material)
        k, density = solid.conductivity.at(T_WALL).value, solid.density.at(T_WALL).value
    thickness = part.mass / (density * max(part.surface, 1e-6))
    return Wall(min(max(thickness, THINNEST), 0.5 * part.size), k, name in fluid_walls(variant))


def half_girth(part: Part) -> float:
    """m round a part from its hot side to its far side."""
    shape = part.shape
    if isinstance(shape, Tube | Cylinder | Sphere):
        return 0.5 * math.pi * shape.diameter
    if isinstance(shape, Box):
        return sum(sorted(shape.size)[:2])
    return 0.5 * math.pi * min(part.size, math.sqrt(max(part.surface, 1e-9) / math.pi))


def splits_poorly(variant: Variant, name: str) -> bool:
    """Whether a part is a poor conductor that may be split: soft, not a plate of two faces, not too small to matter."""
    part = variant.parts[name]
    if not is_soft(part) or two_faced(part) or part.surface <= 0.0 or name in gas_walls(variant):
        return False
    wall = default_wall(variant, name)
    if part.material is None and wall.thickness > THICKEST_SHELL:
        return False
    return unevenness(half_girth(part), wall.conductivity, wall.thickness) > EVENS_OUT


def unevenness(d: float, k: float, t: float) -> float:
    """h d²/(k t): what a face half a girth d (m) away loses on the way over what the wall (k W/m/K, t m) carries there.

    Of a fin the square of m L (Incropera/DeWitt eq. 3.75); h is COOLING.
    """
    return COOLING * d**2 / (k * t)


@per_variant
def default_splits(variant: Variant) -> dict[str, str]:
    """Part → the hot part its face looks at, for all that are split by default."""
    splits = {}
    for name, part in variant.parts.items():
        if part.patches is None and splits_poorly(variant, name):
            hot = (
                _faced_by_shape(variant, name) if _in_space(variant, name) else _faced_by_link(variant, name)
            )
            if hot is not None:
                splits[name] = hot
    return splits


def patches_of(variant: Variant, name: str) -> Patches | None:
    """How a part's surface is cut: as the file says, else by default; None where it is one."""
    own = variant.parts[name].patches
    if own is not None:
        return own if own.split != "none" else None
    hot = default_splits(variant).get(name)
    if hot is None or not _in_space(variant, name):
        return None
    wall = default_wall(variant, name)
    return Patches(split="facing", towards=hot, wall=wall.thickness, conductivity=wall.conductivity)


def face_share(variant: Variant, name: str) -> float:
    """Share of a part without a shape that its hot face is: the areas of the links that heat it.

    Where a link's area is the part's own face, that area as seen; of a round part the half that looks is π/2 times what is
    seen of it. Where it is the hot part's, all that looks back.
    """
    sources, part = gas_walls(variant), variant.parts[name]
    bulge = 0.5 * math.pi if round_of(part).bends else 1.0
    area = 0.0
    for link in variant.links.values():
        if isinstance(link, Facing) and name in (link.from_, link.to) and {link.from_, link.to} & sources:
            view = view_of(variant, link)
            area += bulge * view.area if view.small == name else view.other_area
    return min(max(area / part.surface, LEAST_FACE), MOST_FACE)


def _in_space(variant: Variant, name: str) -> bool:
    return variant.bay is not None and variant.bay.geometry == "on" and variant.parts[name].shape is not None


def _faced_by_link(variant: Variant, name: str) -> str | None:
    """The hot part that its largest facing link joins it to."""
    sources = gas_walls(variant)
    faced = [
        (link.area / link.distance**2, other)
        for link in variant.links.values()
        if isinstance(link, Facing)
        for one, other in ((link.from_, link.to), (link.to, link.from_))
        if one == name and other in sources
    ]
    return max(faced)[1] if faced else None


def _faced_by_shape(variant: Variant, name: str) -> str | None:
    """The hot part that fills most of what it sees, nothing thought between them."""
    if isinstance(variant.parts[name].shape, Plate):
        return None  # one face in the bay: cut it by hand where it is large
    body = bare_shape(variant, name)
    seen = {
        hot: _share_seen(body, bare_shape(variant, hot))
        for hot in gas_walls(variant)
        if hot in variant.parts and _in_space(variant, hot)
    }
    best = max(seen, key=lambda hot: (seen[hot], hot), default=None)
    return best if best is not None and seen[best] >= LEAST_SEEN else None


@lru_cache(maxsize=4096)
def _share_seen(body: Body, hot: Body) -> float:
    """Share of all directions that a hot body fills, from the nearest point of another: ½(1 − d/√(d² + R²)), R of the disc
    it is seen as (a quarter of its surface, Cauchy). Source: sphere to disc, Rohsenow et al., Handbook of Heat Transfer."""
    near = _nearest(body, hot)
    R2 = float(hot.patch_areas.sum()) / (4.0 * math.pi)
    return 0.5 * (1.0 - near / math.sqrt(near**2 + R2))


def _nearest(body: Body, hot: Body) -> float:
    """Least distance between the middles of their triangles, m."""
    from scipy.spatial import cKDTree

    distances, _ = cKDTree(hot.centres).query(body.centres)
    return float(np.min(distances))
