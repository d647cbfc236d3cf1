"""Nearest triangle along a ray: the fast ray library where its wheel exists, own compiled tree elsewhere.

Both work on the same rays and agree but for rays that graze an edge. The own tree works in double precision
and settles ties by the lower triangle, so its answer never depends on how the tree was built.
"""

from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from heatproof.numerics.compiled import compiled
from heatproof.shapes.errors import ShapeError, has_ray_library, need
from heatproof.shapes.placement import Floats

Singles = NDArray[np.float32]
Hits = NDArray[np.int32]
Ints = NDArray[np.int64]
FAR = np.float32(1e30)  # m, a ray that meets nothing
LEAF = 4


class Tracer(Protocol):
    """Finds the nearest triangle met by each ray."""

    name: str

    def nearest(self, origins: Singles, directions: Singles, far: Singles) -> tuple[Hits, Singles]:
        """Triangle index (−1: none nearer than `far`) and distance m of each ray (n,)."""
        ...


class LibraryTracer:
    """The embreex wheel; single precision, about 4 million rays a second on one core."""

    name = "embreex"

    def __init__(self, triangles: Floats) -> None:
        self._scene: Any = need("embreex.rtcore_scene").EmbreeScene()
        need("embreex.mesh_construction").TriangleMesh(self._scene, triangles.astype(np.float32))

    def nearest(self, origins: Singles, directions: Singles, far: Singles) -> tuple[Hits, Singles]:
        """Nearest triangle along each ray and its distance, as `Tracer` says."""
        hits = self._scene.run(origins, directions, dists=far.copy(), output=1)
        return hits["primID"], hits["tfar"]


class CompiledTracer:
    """Own bounding-box tree in compiled code; needs no wheel beyond the compiler."""

    name = "compiled"

    def __init__(self, triangles: Floats) -> None:
        # Rounded as the library rounds, so that both see the same corners.
        corners = triangles.astype(np.float32).astype(np.float64)
        self._corners = corners
        self._order, self._boxes, self._child = build_tree(corners)

    def nearest(self, origins: Singles, directions: Singles, far: Singles) -> tuple[Hits, Singles]:
        """Nearest triangle along each ray and its distance, as `Tracer` says."""
        return _trace(self._corners, self._order, self._boxes, self._child, origins, directions, far)  # type: ignore[no-any-return]


def make_tracer(triangles: Floats, kind: str = "auto") -> Tracer:
    """Tracer over triangles (n, 3, 3) m. `kind`: "auto", "embreex" or "compiled"."""
    if kind not in ("auto", "embreex", "compiled"):
        raise ShapeError("no such ray tracer", got=kind, allowed="auto, embreex, compiled")
    if kind == "embreex" or (kind == "auto" and has_ray_library()):
        return LibraryTracer(triangles)
    return CompiledTracer(triangles)


def chosen(kind: str) -> str:
    """The tracer "auto" stands for on this machine."""
    return ("embreex" if has_ray_library() else "compiled") if kind == "auto" else kind


def build_tree(corners: Floats) -> tuple[Ints, Floats, Ints]:
    """Balanced tree of bounding boxes over triangles (n, 3, 3), each level split at the median.

    Returns the triangles' order, the boxes (nodes, 6: low, high) and child (nodes, 2): indices of the two
    halves, or (−start − 1, stop) of a leaf in `order`. Node k has its halves at 2k + 1 and 2k + 2.
    """
    count = len(corners)
    low, high = corners.min(axis=1), corners.max(axis=1)
    middle, order = corners.sum(axis=1), np.arange(count)
    levels = max(0, int(np.ceil(np.log2(count / LEAF))))
    boxes, child = [], []
    for level in range(levels + 1):
        bounds = (count * np.arange(2**level + 1)) // 2**level
        box = np.concatenate(
            [np.minimum.reduceat(low[order], bounds[:-1]), np.maximum.reduceat(high[order], bounds[:-1])],
            axis=1,
        )
        first = 2 ** (level + 1) - 1 + 2 * np.arange(2**level)
        if level == levels:
            first, last = -bounds[:-1] - 1, bounds[1:]
        else:
            last = first + 1
            axis = np.argmax(box[:, 3:] - box[:, :3], axis=1)
            segment = np.repeat(np.arange(2**level), np.diff(bounds))
            order = order[np.lexsort((middle[order, axis[segment]], segment))]
        boxes.append(box)
        child.append(np.stack([first, last], axis=1))
    all_boxes = np.concatenate(boxes)
    # Widened a little: a box test must never lose a ray that the triangle test would keep.
    slack = 1e-9 + 1e-12 * np.abs(all_boxes)
    all_boxes += np.concatenate([-slack[:, :3], slack[:, 3:]], axis=1)
    return order, all_boxes, np.concatenate(child)


@compiled
def _meets_box(box, o, inverse, nearest):  # type: ignore[no-untyped-def]
    enter, leave = 0.0, nearest
    for axis in range(3):
        a = (box[axis] - o[axis]) * inverse[axis]
        b = (box[3 + axis] - o[axis]) * inverse[axis]
        enter = max(enter, min(a, b))
        leave = min(leave, max(a, b))
    return enter if enter <= leave * (1.0 + 1e-9) + 1e-12 else np.inf


@compiled
def _distance(corner, o, d):  # type: ignore[no-untyped-def]
    """Möller and Trumbore (1997), Journal of Graphics Tools 2(1): distance along the ray, or −1."""
    e1x, e1y, e1z = corner[1, 0] - corner[0, 0], corner[1, 1] - corner[0, 1], corner[1, 2] - corner[0, 2]
    e2x, e2y, e2z = corner[2, 0] - corner[0, 0], corner[2, 1] - corner[0, 1], corner[2, 2] - corner[0, 2]
    px, py, pz = d[1] * e2z - d[2] * e2y, d[2] * e2x - d[0] * e2z, d[0] * e2y - d[1] * e2x
    det = e1x * px + e1y * py + e1z * pz
    if det == 0.0:
        return -1.0
    tx, ty, tz = o[0] - corner[0, 0], o[1] - corner[0, 1], o[2] - corner[0, 2]
    u = (tx * px + ty * py + tz * pz) / det
    if u < -1e-12 or u > 1.0 + 1e-12:
        return -1.0
    qx, qy, qz = ty * e1z - tz * e1y, tz * e1x - tx * e1z, tx * e1y - ty * e1x
    v = (d[0] * qx + d[1] * qy + d[2] * qz) / det
    if v < -1e-12 or u + v > 1.0 + 1e-12:
        return -1.0
    return (e2x * qx + e2y * qy + e2z * qz) / det


@compiled
def _nearest(corners, order, boxes, child, o, d, inverse, limit, stack):  # type: ignore[no-untyped-def]
    best, hit = limit, -1
    stack[0] = 0
    waiting = 1
    while waiting > 0:
        waiting -= 1
        node = stack[waiting]
        if _meets_box(boxes[node], o, inverse, best) == np.inf:
            continue
        if child[node, 0] >= 0:
            left, right = child[node, 0], child[node, 1]
            a = _meets_box(boxes[left], o, inverse, best)
            b = _meets_box(boxes[right], o, inverse, best)
            first, second = (right, left) if a <= b else (left, right)
            stack[waiting], stack[waiting + 1] = first, second  # the nearer box is opened next
            waiting += 2
            continue
        for k in range(-child[node, 0] - 1, child[node, 1]):
            t = _distance(corners[order[k]], o, d)
            # Equal distances: the lower triangle wins, but never against the given limit.
            if t > 0.0 and (t < best or (t == best and hit >= 0 and order[k] < hit)):
                best, hit = t, order[k]
    return best, hit


@compiled
def _trace(corners, order, boxes, child, origins, directions, far):  # type: ignore[no-untyped-def]
    count = len(origins)
    hit = np.empty(count, np.int32)
    distance = np.empty(count, np.float32)
    stack = np.empty(256, np.int64)
    o, d, inverse = np.empty(3), np.empty(3), np.empty(3)
    for ray in range(count):
        for axis in range(3):
            o[axis], d[axis] = origins[ray, axis], directions[ray, axis]
            # A ray along a plane of the tree: a huge slope instead of infinity keeps 0 × inf away.
            inverse[axis] = 1.0 / d[axis] if abs(d[axis]) > 1e-30 else 1e30
        nearest_distance, triangle = _nearest(
            corners, order, boxes, child, o, d, inverse, float(far[ray]), stack
        )
        hit[ray], distance[ray] = triangle, nearest_distance
    return hit, distance
