"""Triangles of simple shapes: boxes, plates, cones, cylinders, spheres, and tubes along a path."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatproof.shapes.errors import ShapeError, need
from heatproof.shapes.placement import AS_DRAWN, Floats, Placement, axis_turn

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


# --- tubes ----------------------------------------------------------------------------------------------------
LARGEST_BEND_STEP = np.radians(22.5)  # an arc is drawn with at least one ring per this angle


def _path(points: ArrayLike) -> Floats:
    path = np.asarray(points, dtype=float)
    if path.ndim != 2 or path.shape[1] != 3 or len(path) < 2 or not np.isfinite(path).all():
        raise ShapeError("tube: the path needs two or more points [x, y, z]", got=f"shape {path.shape}")
    legs = np.linalg.norm(np.diff(path, axis=0), axis=1)
    if (legs == 0.0).any():
        at = int(np.argmin(legs)) + 1
        raise ShapeError("tube: two following points are the same", got=f"points {at} and {at + 1}")
    return path


def _bend_angles(path: Floats) -> Floats:
    way = np.diff(path, axis=0)
    way /= np.linalg.norm(way, axis=1)[:, None]
    cross = np.linalg.norm(np.cross(way[:-1], way[1:]), axis=1)
    angle: Floats = np.arctan2(cross, np.einsum("ij,ij->i", way[:-1], way[1:]))
    if (angle > np.radians(175.0)).any():
        at = int(np.argmax(angle)) + 2
        raise ShapeError(
            "tube: the path turns back on itself", got=f"at point {at}", next_step="add a point there"
        )
    return angle


def _corner_lengths(path: Floats, radius: float, bend_radius: float | None) -> tuple[Floats, Floats]:
    """Bend radius of each corner and the length it takes from both legs; refused when legs are too short."""
    angle = _bend_angles(path)
    legs = np.linalg.norm(np.diff(path, axis=0), axis=1)
    tangent = np.tan(0.5 * angle)
    bend = np.full(len(angle), 3.0 * radius if bend_radius is None else bend_radius)
    # A corner may take its whole leg at a free end, and its fair share of a leg between two corners.
    share = np.ones((2, len(angle)))
    between = tangent[:-1] + tangent[1:]
    part = np.divide(tangent[:-1], between, out=np.full(len(between), 0.5), where=between > 0)
    share[1, :-1], share[0, 1:] = part, 1.0 - part
    room = np.minimum(share[0] * legs[:-1], share[1] * legs[1:])
    largest = np.divide(room, tangent, out=np.full(len(angle), np.inf), where=tangent > 1e-9)
    if bend_radius is None:
        bend = np.minimum(bend, largest)
    short = (bend > largest * (1 + 1e-9)) | ((bend < radius) & (tangent > 1e-3))
    if short.any():
        at = int(np.argmax(short))
        raise ShapeError(
            f"tube: bend at point {at + 2} does not fit",
            got=f"bend radius {bend[at] * 1e3:.1f} mm, tube radius {radius * 1e3:.1f} mm",
            allowed=f"{radius * 1e3:.1f} to {largest[at] * 1e3:.1f} mm with these legs",
            next_step="move the points apart or change the bend radius",
        )
    return bend, bend * tangent


def smoothed_path(
    points: ArrayLike, *, radius: float, bend_radius: float | None = None, edge: float = EDGE
) -> tuple[Floats, Floats]:
    """Centre line points (m, 3) and unit directions (m, 3) with every corner an arc of `bend_radius` (m).

    Without a bend radius: three tube radii, less where legs are short.
    """
    path = _path(points)
    way = np.diff(path, axis=0)
    way /= np.linalg.norm(way, axis=1)[:, None]
    bends, cuts = _corner_lengths(path, radius, bend_radius) if len(path) > 2 else (np.empty(0), np.empty(0))
    ends = [path[0]]
    lines: list[tuple[Floats, Floats]] = []
    for k, (bend, cut) in enumerate(zip(bends, cuts, strict=True)):
        corner, a, b = path[k + 1], way[k], way[k + 1]
        lines.append(_straight(ends[-1], corner - cut * a, a, edge))
        lines.append(_arc(corner - cut * a, a, b, bend, edge))
        ends.append(corner + cut * b)
    lines.append(_straight(ends[-1], path[-1], way[-1], edge))
    centre = np.concatenate([line[0] for line in lines])
    direction = np.concatenate([line[1] for line in lines])
    apart = np.ones(len(centre), dtype=bool)
    apart[1:] = np.linalg.norm(np.diff(centre, axis=0), axis=1) > 1e-7
    return centre[apart], direction[apart]


def _straight(start: Floats, end: Floats, way: Floats, edge: float) -> tuple[Floats, Floats]:
    rings = np.linspace(start, end, _steps(float(np.linalg.norm(end - start)), edge) + 1)
    return rings, np.broadcast_to(way, rings.shape)


def _arc(start: Floats, a: Floats, b: Floats, bend: float, edge: float) -> tuple[Floats, Floats]:
    axis = np.cross(a, b)
    if np.linalg.norm(axis) < 1e-9:
        return start[None], a[None]
    angle = float(np.arctan2(np.linalg.norm(axis), a @ b))
    steps = max(_steps(bend * angle, edge), int(np.ceil(angle / LARGEST_BEND_STEP)))
    inward = np.cross(axis / np.linalg.norm(axis), a)
    turns = np.stack([axis_turn(axis, angle * k / steps) for k in range(steps + 1)])
    return start + bend * inward - bend * turns @ inward, turns @ a


def _transported_frames(direction: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors across each direction, carried along without twist."""
    seed = np.eye(3)[int(np.argmin(np.abs(direction[0])))]
    u = np.empty_like(direction)
    across = seed
    for k, d in enumerate(direction):
        across = across - (across @ d) * d
        across = across / np.linalg.norm(across)
        u[k] = across
    return u, np.cross(direction, u)


def _end_cap(ring: Floats, centre: Floats, edge: float, outward: bool) -> tuple[Floats, np.ndarray]:
    steps = _steps(float(np.linalg.norm(ring[0] - centre)), edge)
    scale = np.linspace(0.0, 1.0, steps + 1)[:, None, None]
    points = centre + scale * (ring - centre)
    faces = _grid_faces(steps, len(ring) - 1)
    return points.reshape(-1, 3), faces if outward else faces[:, ::-1]


def tube(
    points: ArrayLike,
    *,
    radius: float,
    bend_radius: float | None = None,
    edge: float = EDGE,
    capped: bool = True,
    placement: Placement = AS_DRAWN,
) -> Triangles:
    """Round tube of outer `radius` (m) along a path of points (m), corners rounded, ends closed.

    Raises ShapeError for fewer than two points, a path that turns back, or a bend that does not fit its legs.
    """
    _positive("tube", radius=radius, edge=edge)
    centre, direction = smoothed_path(points, radius=radius, bend_radius=bend_radius, edge=edge)
    u, v = _transported_frames(direction)
    segments = _segments(radius, edge)
    angle = 2.0 * np.pi * np.arange(segments + 1) / segments
    angle[-1] = 0.0
    r = radius * _perimeter_true(segments)
    wheel = np.cos(angle)[:, None] * u[:, None] + np.sin(angle)[:, None] * v[:, None]
    rings = centre[:, None] + r * wheel
    pieces = [(rings.reshape(-1, 3), _grid_faces(len(centre) - 1, segments)[:, ::-1])]
    if capped:
        pieces += [_end_cap(rings[0], centre[0], edge, False), _end_cap(rings[-1], centre[-1], edge, True)]
    return _welded(pieces, placement)
