"""Simple shapes as triangle meshes in metres, outward normals, triangles about `edge` long.

Round shapes are drawn with a radius such that a ring's perimeter (a sphere's area) equals that of the true
circle: exchange follows area, and an inscribed polygon would lose up to 1 %.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.extras import need
from heatproof.shapes.placement import AS_DRAWN, Floats, Placement

Ints = NDArray[np.int64]
EDGE = 0.02  # m, default triangle size
MIN_SEGMENTS = 12  # round shapes have at least this many sides
WELD = 1e-9  # m, vertices closer than this are one


class Triangles(NamedTuple):
    """A skin: corner points (m, 3) m and, for each triangle, three of them (n, 3), anticlockwise from outside."""

    vertices: Floats
    faces: Ints


def _positive(shape: str, **sizes: float) -> None:
    for name, value in sizes.items():
        if not (np.isfinite(value) and value > 0.0):
            raise ShapeError(
                f"{shape}: {name} must be above zero", got=f"{value:g} m", next_step="give a length in metres"
            )


def _steps(length: float, edge: float) -> int:
    return max(1, int(np.ceil(length / edge - 1e-9)))


def _segments(radius: float, edge: float) -> int:
    return max(MIN_SEGMENTS, _steps(2.0 * np.pi * radius, edge))


def _grid_faces(rows: int, columns: int) -> Ints:
    """Two triangles per cell of a (rows + 1) × (columns + 1) vertex grid, seen anticlockwise."""
    i, j = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    a = (i * (columns + 1) + j).ravel()
    b, c, d = a + columns + 1, a + columns + 2, a + 1
    return np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def _sheet(corner: ArrayLike, u: Floats, v: Floats, edge: float) -> tuple[Floats, Ints]:
    """Flat rectangle from `corner` along u and v; its normal is u × v."""
    rows, columns = _steps(float(np.linalg.norm(u)), edge), _steps(float(np.linalg.norm(v)), edge)
    s, t = np.meshgrid(np.linspace(0, 1, rows + 1), np.linspace(0, 1, columns + 1), indexing="ij")
    points = np.asarray(corner, dtype=float) + s.reshape(-1, 1) * u + t.reshape(-1, 1) * v
    return points, _grid_faces(rows, columns)


def _welded(pieces: Sequence[tuple[Floats, Ints]], placement: Placement) -> Triangles:
    """Join pieces, merge equal vertices, drop triangles that collapsed, place."""
    shift = np.cumsum([0] + [len(points) for points, _ in pieces[:-1]])
    points = np.concatenate([piece[0] for piece in pieces])
    faces = np.concatenate([piece[1] + s for piece, s in zip(pieces, shift, strict=True)])
    _, first, index = np.unique(np.round(points / WELD), axis=0, return_index=True, return_inverse=True)
    faces = index.reshape(-1)[faces]
    whole = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Triangles(placement.apply(points[first]), faces[whole])


def box(size: Sequence[float], *, edge: float = EDGE, placement: Placement = AS_DRAWN) -> Triangles:
    """Box of `size` (x, y, z) m about its centre."""
    _positive("box", edge=edge, **dict(zip(("length", "width", "height"), size, strict=True)))
    x, y, z = np.diag(np.asarray(size, dtype=float))
    low = -0.5 * (x + y + z)
    sides = [(low, y, x), (low + z, x, y), (low, x, z), (low + y, z, x), (low, z, y), (low + x, y, z)]
    return _welded([_sheet(corner, u, v, edge) for corner, u, v in sides], placement)


def plate(
    size: Sequence[float], *, thickness: float = 0.0, edge: float = EDGE, placement: Placement = AS_DRAWN
) -> Triangles:
    """Plate of `size` (x, y) m about its centre, front along its +z.

    With a thickness it is a closed box. Without, it is one open sheet: make a part of it with
    `scene.thin_part`, which gives it its two faces.
    """
    if thickness > 0.0:
        return box((*size, thickness), edge=edge, placement=placement)
    if thickness < 0.0:
        raise ShapeError("plate: thickness is negative", got=f"{thickness:g} m", allowed="0 or more")
    _positive("plate", edge=edge, **dict(zip(("length", "width"), size, strict=True)))
    x, y = np.array([size[0], 0.0, 0.0]), np.array([0.0, size[1], 0.0])
    return _welded([_sheet(-0.5 * (x + y), x, y, edge)], placement)


def _revolved(profile: Floats, segments: int, edge: float) -> tuple[Floats, Ints]:
    """Profile (m, 2) of radius and height, bottom to top, revolved about z; normals away from the axis."""
    pieces = [
        np.linspace(a, b, _steps(float(np.linalg.norm(b - a)), edge) + 1)[:-1] for a, b in pairwise(profile)
    ]
    line = np.concatenate([*pieces, profile[-1:]])
    angle = 2.0 * np.pi * np.arange(segments + 1) / segments
    angle[-1] = 0.0
    r = line[:, :1] * _perimeter_true(segments)
    points = np.stack(
        [r * np.cos(angle), r * np.sin(angle), np.broadcast_to(line[:, 1:], (len(line), len(angle)))], 2
    )
    return points.reshape(-1, 3), _grid_faces(len(line) - 1, segments)[:, ::-1]


def _perimeter_true(segments: int) -> float:
    """Factor on the radius that makes a polygon's perimeter that of the circle."""
    return float((np.pi / segments) / np.sin(np.pi / segments))


def cone(
    radius_base: float,
    radius_top: float,
    length: float,
    *,
    edge: float = EDGE,
    capped: bool = True,
    placement: Placement = AS_DRAWN,
) -> Triangles:
    """Cone or frustum (m) about its own z axis, centred; base at −z. `capped=False` leaves the ends open."""
    _positive("cone", edge=edge, length=length, **{"larger radius": max(radius_base, radius_top)})
    if min(radius_base, radius_top) < 0.0:
        raise ShapeError(
            "cone: a radius is negative", got=f"{min(radius_base, radius_top):g} m", allowed="0 or more"
        )
    half = 0.5 * length
    profile = [(radius_base, -half), (radius_top, half)]
    if capped:
        profile = [(0.0, -half), *profile, (0.0, half)]
    # A pointed end adds a profile leg of no length: drop it.
    kept = [profile[0]] + [b for a, b in pairwise(profile) if a != b]
    segments = _segments(max(radius_base, radius_top), edge)
    return _welded([_revolved(np.array(kept, dtype=float), segments, edge)], placement)


def cylinder(
    radius: float,
    length: float,
    *,
    edge: float = EDGE,
    capped: bool = True,
    placement: Placement = AS_DRAWN,
) -> Triangles:
    """Cylinder (m) about its own z axis, centred."""
    _positive("cylinder", radius=radius, length=length)
    return cone(radius, radius, length, edge=edge, capped=capped, placement=placement)


def sphere(radius: float, *, edge: float = EDGE, placement: Placement = AS_DRAWN) -> Triangles:
    """Sphere (m) about its centre, from an icosahedron; its mesh area is 4πr²."""
    _positive("sphere", radius=radius, edge=edge)
    trimesh = need("trimesh")  # heavy to load: only where a sphere is drawn
    halvings = min(6, max(1, int(np.ceil(np.log2(1.0515 * radius / edge)))))
    ball = trimesh.creation.icosphere(subdivisions=halvings)
    grown = ball.vertices * radius * np.sqrt(4.0 * np.pi / ball.area)
    return Triangles(placement.apply(grown), np.asarray(ball.faces))
