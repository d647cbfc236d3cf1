"""What a facing link's smaller face sees of the larger part: a disc, plate, cylinder or ball of that part's own size."""

import math
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.covers import ROD_SIZE
from heatproof.kit.records.parts import Facing, Part
from heatproof.kit.records.shapes import Box, Cone, Cylinder, Plate, Sphere, Tube
from heatproof.kit.records.variant import Variant
from heatproof.laws.view_factors import (
    coaxial_discs,
    face_to_cylinder,
    face_to_sphere,
    parallel_rectangles_centred,
)


@dataclass(frozen=True)
class View:
    """small: the part whose face the link's area is taken for; factor: what that face sees of the other, 0..1; area, other_area m2: of
    both faces."""

    small: str
    area: float
    factor: float
    other_area: float


def view_of(variant: Variant, link: Facing) -> View:
    """The link's view. The face looks squarely at the middle of the other part.

    The area is that of one part's face, and the file does not say of which: of both ways to read it the one that exchanges
    more counts. That is the smaller part's face in all but odd cases (a small hot part before a long thin one).
    """
    parts = variant.parts
    views = []
    for small, large in ((link.to, link.from_), (link.from_, link.to)):
        factor, other_area = seen_of(parts[large], link.area, link.distance)
        factor = min(factor, 1.0, other_area / link.area)
        views.append(View(small, link.area, factor, max(other_area, link.area * factor)))
    return max(views, key=lambda view: view.factor)


def seen_of(part: Part, area: float, distance: float) -> tuple[float, float]:
    """View factor from a square or round face of `area` (m2) to a part at `distance` (m), and the part's area that looks back.

    By the part's shape; where it has none, a part up to `ROD_SIZE` is a cylinder of that diameter and as long as its surface
    makes it, a larger one a disc of that diameter.
    """
    shape, side = part.shape, math.sqrt(area)
    if isinstance(shape, Plate | Box):
        a, b = sorted(shape.size)[-2:]
        return parallel_rectangles_centred(side, a, b, distance), a * b
    if isinstance(shape, Sphere):
        return face_to_sphere(area, 0.5 * shape.diameter, distance), 0.5 * math.pi * shape.diameter**2
    if isinstance(shape, Cylinder | Tube):
        length = shape.length if isinstance(shape, Cylinder) else path_length(shape)
        return _cylinder(side, shape.diameter, length, distance)
    if isinstance(shape, Cone):
        return _cylinder(side, 0.5 * (shape.base_diameter + shape.top_diameter), shape.length, distance)
    return seen_by_size(part.size, part.surface, area, distance)


def seen_by_size(size: float, surface: float, area: float, distance: float) -> tuple[float, float]:
    """The same of a part without a shape, by its size (m) and surface (m2)."""
    if size <= ROD_SIZE:
        return _cylinder(math.sqrt(area), size, max(surface, area) / (math.pi * size), distance)
    radius = max(0.5 * size, math.sqrt(area / math.pi))
    return coaxial_discs(math.sqrt(area / math.pi), radius, distance), math.pi * radius**2


def _cylinder(side: float, diameter: float, length: float, distance: float) -> tuple[float, float]:
    return face_to_cylinder(side, 0.5 * diameter, length, distance), 0.5 * math.pi * diameter * length


def path_length(shape: Tube) -> float:
    """m along a tube's path."""
    return float(np.linalg.norm(np.diff(np.asarray(shape.path), axis=0), axis=1).sum())
