"""From a variant to a scene of shapes: placed, grown by what covers them, cut into patches, walled in.

Shapes are kept between calls by what they depend on, so that another variant builds only what is new.
"""

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from heatproof.assembly.bay.kept import per_variant
from heatproof.assembly.cores import in_use
from heatproof.assembly.covers import cover_thickness
from heatproof.kit.records.parts import Part
from heatproof.kit.records.shapes import (
    AnyShape,
    Bay,
    Box,
    Cone,
    Cylinder,
    Mesh,
    Patches,
    Plate,
    Sphere,
    Tube,
)
from heatproof.kit.records.variant import Variant
from heatproof.shapes import primitives
from heatproof.shapes.errors import ShapeError, ShapeFinding
from heatproof.shapes.patches import bay_walls, split_along, split_by_side, split_facing
from heatproof.shapes.placement import Placement, place, place_along
from heatproof.shapes.primitives import tube
from heatproof.shapes.scene import Body, Scene, solid_part, thin_part

WALLS = "walls of the bay"
WALL_EDGE = 0.1  # m, triangles of the bay's walls
SIDES = ("front", "rear", "left", "right", "top", "bottom")
DEGREE = np.pi / 180.0


class Built(NamedTuple):
    """A part's shape and what was found while building it."""

    part: Body
    findings: tuple[ShapeFinding, ...]


def shape_of(variant: Variant, name: str) -> Built:
    """A part's shape, grown and cut. Raises ShapeError, with the part's name."""
    record = variant.parts[name]
    assert record.shape is not None
    built = _whole(variant, name, record.shape, cover_thickness(record))
    if record.patches is None:
        return built
    target = None
    if record.patches.split == "facing" and record.patches.towards is not None:
        target = bare_shape(variant, record.patches.towards)
    return Built(_cut(built.part, record.patches, target), built.findings)


def bare_shape(variant: Variant, name: str) -> Body:
    """A part's shape without what covers it and without patches."""
    shape = variant.parts[name].shape
    assert shape is not None
    return _whole(variant, name, shape, 0.0).part


def patch_shares(variant: Variant, name: str) -> dict[str, float]:
    """Area share of each patch of a part."""
    part = shape_of(variant, name).part
    total = float(part.patch_areas.sum())
    return {patch: float(area) / total for patch, area in zip(part.patches, part.patch_areas, strict=True)}


def _whole(variant: Variant, name: str, shape: AnyShape, grow: float) -> Built:
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


@lru_cache(maxsize=2048)
def _cut(part: Body, patches: Patches, target: Body | None) -> Body:
    if patches.split == "facing" and target is not None:
        return split_facing(part, target)
    if patches.split == "along" and patches.direction is not None:
        return split_along(part, patches.direction, count=patches.count)
    return split_by_side(part)


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


# --- the scene ----------------------------------------------------------------------------------------------


def core_mass(name: str) -> str:
    """Name of a core's metal, as mass and as part of the scene."""
    return f"core.{name}"


def wall_parts(bay: Bay) -> dict[str, str]:
    """Side of the bay → part that is its wall."""
    named = {side: getattr(bay, side) for side in SIDES}
    return {side: part for side, part in named.items() if part is not None}


def bay_of(variant: Variant) -> Bay:
    """The bay's record; ShapeError where the car has none."""
    if variant.bay is None:
        raise ShapeError("the car file has no bay", next_step="add bay: {lower: …, upper: …} and shapes")
    return variant.bay


@per_variant
def scene_of(variant: Variant) -> Scene:
    """Everything with a shape, and the walls. Raises ShapeError.

    By name: where two surfaces coincide a ray's end hangs on their order, and the file's order shall not matter.
    """
    parts = [shape_of(variant, name).part for name, part in variant.parts.items() if part.shape is not None]
    for name, core in variant.cores.items():
        if core.shape is not None and in_use(variant, name, core):
            parts.append(_whole(variant, core_mass(name), core.shape, 0.0).part)
    bay = bay_of(variant)
    walls = wall_parts(bay)
    if walls:
        parts.append(_walls(bay.lower, bay.upper, tuple(side for side in SIDES if side not in walls)))
    return _scene(tuple(sorted(parts, key=lambda part: part.name)))


@lru_cache(maxsize=256)
def _scene(parts: tuple[Body, ...]) -> Scene:
    return Scene(parts)


@lru_cache(maxsize=64)
def _walls(lower: tuple[float, ...], upper: tuple[float, ...], open_sides: tuple[str, ...]) -> Body:
    return bay_walls(WALLS, lower, upper, open_sides=open_sides, edge=WALL_EDGE)


def one_sided(record: Part) -> bool:
    """Whether a part is a panel with its front alone in the bay."""
    return isinstance(record.shape, Plate) and record.shape.faces == "front"
