"""How far apart parts are, surface to surface, and what the trade asks for.

Exact distance between triangle meshes: two bounding-box trees walked together, nearest pair of
triangles by vertex-to-face and edge-to-edge distance (Ericson, Real-Time Collision Detection, 2005,
sections 5.1.5 and 5.1.9).
"""

from dataclasses import dataclass

import numpy as np

from heatproof.numerics.compiled import compiled
from heatproof.shapes.errors import ShapeError
from heatproof.shapes.scene import Part, Scene
from heatproof.shapes.tracers import _build_tree

WITHIN = 0.15  # m, pairs farther apart are not listed unless asked for


@dataclass(frozen=True)
class Clearance:
    """Closest approach of two parts: distance m (0: they touch or cut) and the point of each, m."""

    part: str
    other: str
    distance: float
    point: tuple[float, float, float]
    other_point: tuple[float, float, float]


@dataclass(frozen=True)
class Advice:
    """A minimum clearance as the trade uses it (m): advice, not a limit."""

    case: str
    least: float
    comfortable: float
    source: str


PRACTICE = "common practice, no source"
ADVICE = (
    Advice("bare turbine or exhaust to plastic or rubber", 0.075, 0.100, PRACTICE),
    Advice("shielded turbine or exhaust to plastic or rubber", 0.025, 0.040, PRACTICE),
    Advice("wastegate diaphragm to a heat source (do not wrap it)", 0.100, 0.100, PRACTICE),
)


class _Tree:
    def __init__(self, part: Part) -> None:
        self.corners = np.ascontiguousarray(part.triangles)
        self.order, self.boxes, self.child = _build_tree(self.corners)


def clearance(part: Part, other: Part, *, within: float = np.inf) -> Clearance | None:
    """Closest distance and points of two parts; None when they are farther apart than `within` (m)."""
    return _between(part, other, _Tree(part), _Tree(other), within)


def _between(part: Part, other: Part, one: _Tree, two: _Tree, within: float) -> Clearance | None:
    limit = within * within if np.isfinite(within) else 1e30
    best, points = _closest(
        one.corners, one.order, one.boxes, one.child, two.corners, two.order, two.boxes, two.child, limit
    )
    if best >= limit:
        return None
    p, q = (tuple(float(x) for x in point) for point in points)
    return Clearance(part.name, other.name, float(np.sqrt(best)), p, q)  # type: ignore[arg-type]


def clearance_table(scene: Scene, *, within: float = WITHIN) -> list[Clearance]:
    """All pairs of parts nearer than `within` (m), nearest first. Boxes are compared first."""
    if not within > 0.0:
        raise ShapeError("the clearance to look within must be above zero", got=f"{within:g} m")
    trees: dict[str, _Tree] = {}
    found = []
    for n, part in enumerate(scene.parts):
        for other in scene.parts[n + 1 :]:
            if _box_gap(part, other) >= within:
                continue
            for p in (part, other):
                if p.name not in trees:
                    trees[p.name] = _Tree(p)
            pair = _between(part, other, trees[part.name], trees[other.name], within)
            found += [pair] if pair else []
    return sorted(found, key=lambda pair: pair.distance)


def _box_gap(a: Part, b: Part) -> float:
    gap = np.maximum(0.0, np.maximum(a.bounds[0] - b.bounds[1], b.bounds[0] - a.bounds[1]))
    return float(np.linalg.norm(gap))


@compiled
def _dot(a, b):  # type: ignore[no-untyped-def]
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@compiled
def _box_apart(a, b):  # type: ignore[no-untyped-def]
    """Squared gap between two boxes."""
    total = 0.0
    for axis in range(3):
        gap = max(0.0, a[axis] - b[3 + axis], b[axis] - a[3 + axis])
        total += gap * gap
    return total


@compiled
def _on_triangle(p, t, out):  # type: ignore[no-untyped-def]
    """Point of triangle t nearest to p, into `out`; squared distance (Ericson 5.1.5)."""
    ab, ac, ap = t[1] - t[0], t[2] - t[0], p - t[0]
    bp, cp = p - t[1], p - t[2]
    d1, d2, d3, d4 = _dot(ab, ap), _dot(ac, ap), _dot(ab, bp), _dot(ac, bp)
    d5, d6 = _dot(ab, cp), _dot(ac, cp)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    v, w = 0.0, 0.0
    if d1 <= 0.0 and d2 <= 0.0:
        pass
    elif d3 >= 0.0 and d4 <= d3:
        v = 1.0
    elif d6 >= 0.0 and d5 <= d6:
        w = 1.0
    elif vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        v = d1 / (d1 - d3)
    elif vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        w = d2 / (d2 - d6)
    elif va <= 0.0 and d4 - d3 >= 0.0 and d5 - d6 >= 0.0:
        w = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        v = 1.0 - w
    elif va + vb + vc > 0.0:
        v, w = vb / (va + vb + vc), vc / (va + vb + vc)
    out[:] = t[0] + v * ab + w * ac
    apart = p - out
    return _dot(apart, apart)


@compiled
def _between_edges(p1, q1, p2, q2, out1, out2):  # type: ignore[no-untyped-def]
    """Closest points of two segments; squared distance (Ericson 5.1.9)."""
    d1, d2, r = q1 - p1, q2 - p2, p1 - p2
    a, e, f, c, b = _dot(d1, d1), _dot(d2, d2), _dot(d2, r), _dot(d1, r), _dot(d1, d2)
    if a <= 0.0 or e <= 0.0:
        return 1e30
    denominator = a * e - b * b
    s = min(max((b * f - c * e) / denominator, 0.0), 1.0) if denominator > 1e-14 * a * e else 0.0
    t = (b * s + f) / e
    if t < 0.0:
        t, s = 0.0, min(max(-c / a, 0.0), 1.0)
    elif t > 1.0:
        t, s = 1.0, min(max((b - c) / a, 0.0), 1.0)
    out1[:] = p1 + s * d1
    out2[:] = p2 + t * d2
    apart = out1 - out2
    return _dot(apart, apart)


@compiled
def _pierces(p, q, t, out):  # type: ignore[no-untyped-def]
    """Whether segment pq cuts triangle t; the point into `out` (Möller and Trumbore 1997)."""
    d, e1, e2 = q - p, t[1] - t[0], t[2] - t[0]
    h = np.array([d[1] * e2[2] - d[2] * e2[1], d[2] * e2[0] - d[0] * e2[2], d[0] * e2[1] - d[1] * e2[0]])
    det = _dot(e1, h)
    if det == 0.0:
        return False
    s = p - t[0]
    u = _dot(s, h) / det
    g = np.array([s[1] * e1[2] - s[2] * e1[1], s[2] * e1[0] - s[0] * e1[2], s[0] * e1[1] - s[1] * e1[0]])
    v, along = _dot(d, g) / det, _dot(e2, g) / det
    if u < 0.0 or v < 0.0 or u + v > 1.0 or along < 0.0 or along > 1.0:
        return False
    out[:] = p + along * d
    return True


@compiled
def _between_triangles(a, b, best, points, p, q):  # type: ignore[no-untyped-def]
    """Improve `best` (squared) and `points` (2, 3) with the distance of two triangles."""
    for k in range(3):
        p[:] = a[k]
        d = _on_triangle(p, b, q)
        if d < best:
            best = d
            points[0], points[1] = p, q
        q[:] = b[k]
        d = _on_triangle(q, a, p)
        if d < best:
            best = d
            points[0], points[1] = p, q
        for m in range(3):
            d = _between_edges(a[k], a[(k + 1) % 3], b[m], b[(m + 1) % 3], p, q)
            if d < best:
                best = d
                points[0], points[1] = p, q
    for k in range(3):
        if best > 0.0 and (_pierces(a[k], a[(k + 1) % 3], b, p) or _pierces(b[k], b[(k + 1) % 3], a, p)):
            best = 0.0
            points[0], points[1] = p, p
    return best


@compiled
def _closest(ca, oa, ba, ka, cb, ob, bb, kb, limit):  # type: ignore[no-untyped-def]
    """Least squared distance below `limit` between two trees' triangles, and the points (2, 3)."""
    points = np.zeros((2, 3))
    p, q = np.zeros(3), np.zeros(3)
    best = limit
    stack = np.empty((1024, 2), np.int64)
    stack[0] = (0, 0)
    waiting = 1
    while waiting > 0 and best > 0.0:
        waiting -= 1
        i, j = stack[waiting, 0], stack[waiting, 1]
        if _box_apart(ba[i], bb[j]) >= best:
            continue
        leaf_a, leaf_b = ka[i, 0] < 0, kb[j, 0] < 0
        if leaf_a and leaf_b:
            for m in range(-ka[i, 0] - 1, ka[i, 1]):
                for n in range(-kb[j, 0] - 1, kb[j, 1]):
                    best = _between_triangles(ca[oa[m]], cb[ob[n]], best, points, p, q)
            continue
        # Open the larger of the two; its nearer half is looked at first.
        size_a = 0.0 if leaf_a else np.max(ba[i, 3:] - ba[i, :3])
        size_b = 0.0 if leaf_b else np.max(bb[j, 3:] - bb[j, :3])
        for side in range(2):
            stack[waiting + side, 0] = ka[i, side] if size_a >= size_b and not leaf_a else i
            stack[waiting + side, 1] = j if size_a >= size_b and not leaf_a else kb[j, side]
        first = _box_apart(ba[stack[waiting, 0]], bb[stack[waiting, 1]])
        second = _box_apart(ba[stack[waiting + 1, 0]], bb[stack[waiting + 1, 1]])
        if first < second:
            stack[waiting, 0], stack[waiting + 1, 0] = stack[waiting + 1, 0], stack[waiting, 0]
            stack[waiting, 1], stack[waiting + 1, 1] = stack[waiting + 1, 1], stack[waiting, 1]
        waiting += 2
    return best, points
