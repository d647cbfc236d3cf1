"""From a variant to a scene of shapes: bodies cut into patches, walled in."""

from functools import lru_cache

from heatproof.assembly.bay.bodies import Built, bare_shape, whole_shape
from heatproof.assembly.bay.kept import per_variant
from heatproof.assembly.bay.splits import patches_of
from heatproof.assembly.cores import in_use
from heatproof.assembly.covers import cover_thickness
from heatproof.kit.records.parts import Part
from heatproof.kit.records.shapes import (
    Bay,
    Patches,
    Plate,
)
from heatproof.kit.records.variant import Variant
from heatproof.shapes.errors import ShapeError
from heatproof.shapes.patches import bay_walls, split_along, split_by_side, split_facing
from heatproof.shapes.scene import Body, Scene

WALLS = "walls of the bay"
WALL_EDGE = 0.1  # m, triangles of the bay's walls
SIDES = ("front", "rear", "left", "right", "top", "bottom")


def shape_of(variant: Variant, name: str) -> Built:
    """A part's shape, grown and cut. Raises ShapeError, with the part's name."""
    record = variant.parts[name]
    assert record.shape is not None
    built = whole_shape(variant, name, record.shape, cover_thickness(record))
    patches = patches_of(variant, name)
    if patches is None:
        return built
    target = None
    if patches.split == "facing" and patches.towards is not None:
        target = bare_shape(variant, patches.towards)
    return Built(_cut(built.part, patches, target), built.findings)


def patch_shares(variant: Variant, name: str) -> dict[str, float]:
    """Area share of each patch of a part."""
    part = shape_of(variant, name).part
    total = float(part.patch_areas.sum())
    return {patch: float(area) / total for patch, area in zip(part.patches, part.patch_areas, strict=True)}


@lru_cache(maxsize=2048)
def _cut(part: Body, patches: Patches, target: Body | None) -> Body:
    if patches.split == "facing" and target is not None:
        return split_facing(part, target)
    if patches.split == "along" and patches.direction is not None:
        return split_along(part, patches.direction, count=patches.count)
    return split_by_side(part)


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
            parts.append(whole_shape(variant, core_mass(name), core.shape, 0.0).part)
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
