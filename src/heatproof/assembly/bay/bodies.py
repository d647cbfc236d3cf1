"""A part's shape as a body of triangles: placed, grown by what covers it.

Shapes are kept between calls by what they depend on, so that another variant builds only what is new.
"""

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from heatproof.kit.records.shapes import AnyShape, Box, Cone, Cylinder, Mesh, Plate, Sphere, Tube
from heatproof.kit.records.variant import Variant
from heatproof.shapes import primitives
from heatproof.shapes.errors import ShapeError, ShapeFinding
from heatproof.shapes.placement import Placement, place, place_along
from heatproof.shapes.primitives import tube
from heatproof.shapes.scene import Body, solid_part, thin_part

DEGREE = np.pi / 180.0


class Built(NamedTuple):
    """A part's shape and what was found while building it."""

    part: Body
    findings: tuple[ShapeFinding, ...]


def bare_shape(variant: Variant, name: str) -> Body:
    """A part's shape without what covers it and without patches."""
    shape = variant.parts[name].shape
    assert shape is not None
    return whole_shape(variant, name, shape, 0.0).part


def whole_shape(variant: Variant, name: str, shape: AnyShape, grow: float) -> Built:
    """A part's shape, its outline moved outward by `grow` (m), in one patch. Raises ShapeError."""
    if isinstance(shape, Mesh):
        file = Path(variant.folder) / shape.file
        stamp = (file.stat().st_mtime_ns, file.stat().st_size) if file.is_file() else (0, 0)
        return _from_file(name, shape, variant.folder, stamp, grow)
    return _from_primitive(name, shape, grow)


@lru_cache(maxsize=2048)
def _from_primitive(name: str, shape: AnyShape, grow: float) -> Built:
    try:
        mesh = _MAKERS[type(shape)](shape, grow)
    except ShapeError as error:
        raise ShapeError(
            error.what, where=name, got=error.got, allowed=error.allowed, next_step=error.next_step
        ) from error
    both = isinstance(shape, Plate) and shape.faces == "both"
    return Built(thin_part(name, mesh) if both else solid_part(name, mesh), ())


@lru_cache(maxsize=256)
def _from_file(name: str, shape: Mesh, folder: str, stamp: tuple[int, int], grow: float) -> Built:
    from heatproof.shapes.meshes import read_part  # brings the ray tracing: only where a mesh is read

    part, findings = read_part(
        name,
        Path(folder) / shape.file,
        folder=folder,
        unit=shape.unit,
        placement=place(shape.position, turn_deg=np.array(shape.turn) / DEGREE),
    )
    return Built(_swollen(part, grow), tuple(findings))


def _swollen(part: Body, grow: float) -> Body:
    """Every vertex moved outward by `grow` along the area-weighted mean normal round it."""
    if grow <= 0.0:
        return part
    normal = np.zeros_like(part.vertices)
    for k in range(3):
        np.add.at(normal, part.faces[:, k], part.normals * part.areas[:, None])
    length = np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-30)
    return Body(part.name, part.vertices + grow * normal / length, part.faces, part.patches, part.patch_of)


# --- one maker a kind ---------------------------------------------------------------------------------------


def _turned(shape: Box) -> Placement:
    return place(shape.position, turn_deg=np.array(shape.turn) / DEGREE)


def _box(s: Box, grow: float) -> primitives.Triangles:
    x, y, z = (side + 2.0 * grow for side in s.size)
    return primitives.box((x, y, z), edge=s.edge, placement=_turned(s))


def _plate(s: Plate, grow: float) -> primitives.Triangles:
    at = place_along(s.looks, position=s.position, roll_deg=s.roll / DEGREE)
    return primitives.plate(s.size, edge=s.edge, placement=at)


def _cylinder(s: Cylinder, grow: float) -> primitives.Triangles:
    # Not at its ends: there a round body joins what it is part of.
    at = place_along(s.along, position=s.position)
    return primitives.cylinder(0.5 * s.diameter + grow, s.length, edge=s.edge, placement=at)


def _tube(s: Tube, grow: float) -> primitives.Triangles:
    return tube(s.path, radius=0.5 * s.diameter + grow, bend_radius=s.bend_radius, edge=s.edge)


def _sphere(s: Sphere, grow: float) -> primitives.Triangles:
    return primitives.sphere(0.5 * s.diameter + grow, edge=s.edge, placement=place(s.position))


def _cone(s: Cone, grow: float) -> primitives.Triangles:
    at = place_along(s.along, position=s.position)
    return primitives.cone(
        0.5 * s.base_diameter + grow,
        0.5 * s.top_diameter + grow,
        s.length,
        edge=s.edge,
        placement=at,
    )


_MAKERS: dict[type, Callable[[Any, float], primitives.Triangles]] = {
    Box: _box,
    Plate: _plate,
    Cylinder: _cylinder,
    Tube: _tube,
    Sphere: _sphere,
    Cone: _cone,
}
