"""How far apart parts are, surface to surface, what the trade asks for, and which parts stand in each other or out of place.

Exact distance between triangle meshes: two bounding-box trees walked together, nearest pair of triangles by
vertex-to-face and edge-to-edge distance (Ericson, Real-Time Collision Detection, 2005, sections 5.1.5 and 5.1.9).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.numerics.compiled import compiled
from heatproof.shapes.errors import ShapeError, ShapeFinding
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Body, Scene
from heatproof.shapes.tracers import build_tree
from heatproof.shapes.tracing import SceneTracer
from heatproof.units.quantity import Amount

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
    """What is asked of the distance between hot exhaust and one class of parts, m: advice, not a limit.

    bare, shielded: (least, comfortable), where the exhaust is bare or something stands between. source: of both.
    """

    case: str
    bare: tuple[float, float]
    shielded: tuple[float, float]
    source: str


PRACTICE = "common practice, no source"
REJECTED, REQUIRED = 0.038, 0.050
"""m to fuel and brake systems and whatever burns: a vehicle is rejected below the first (1 1/2 in, Code of Maryland
Regulations 11.22.02.11); the second is required of any exhaust part (Quebec, C-24.2 r. 32, section 92). Read by the project."""
LAW = f"{PRACTICE}; {REJECTED * 1e3:.0f} mm: COMAR 11.22.02.11, {REQUIRED * 1e3:.0f} mm: Quebec C-24.2 r. 32, s. 92"
ADVICE = {
    "soft": Advice("plastic or rubber", (0.075, 0.100), (0.025, 0.040), PRACTICE),
    "vital": Advice(
        "plastic or rubber of brakes, fuel, steering or electrics", (0.100, 0.150), (REJECTED, REQUIRED), LAW
    ),
    "line": Advice(
        "metal of brakes, fuel or steering", (REQUIRED, 1.5 * REQUIRED), (REJECTED, REQUIRED), LAW
    ),
    "battery": Advice("a battery", (0.150, 0.200), (0.050, 0.080), PRACTICE),
}
"""Class of part → what is asked. Movement of the engine (10 to 15 mm) and growth when hot come on top."""


class _Tree:
    def __init__(self, part: Body) -> None:
        self.corners = np.ascontiguousarray(part.triangles)
        self.order, self.boxes, self.child = build_tree(self.corners)


def clearance(part: Body, other: Body, *, within: float = np.inf) -> Clearance | None:
    """Closest distance and points of two parts; None when they are farther apart than `within` (m)."""
    return _between(part, other, _Tree(part), _Tree(other), within)


def _between(part: Body, other: Body, one: _Tree, two: _Tree, within: float) -> Clearance | None:
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
    gaps = []
    for n, part in enumerate(scene.parts):
        for other in scene.parts[n + 1 :]:
            if _box_gap(part, other) >= within:
                continue
            for p in (part, other):
                if p.name not in trees:
                    trees[p.name] = _Tree(p)
            pair = _between(part, other, trees[part.name], trees[other.name], within)
            gaps += [pair] if pair else []
    return sorted(gaps, key=lambda pair: pair.distance)


def _box_gap(a: Body, b: Body) -> float:
    gap = np.maximum(0.0, np.maximum(a.bounds[0] - b.bounds[1], b.bounds[0] - a.bounds[1]))
    return float(np.linalg.norm(gap))


@compiled
def _dot(a, b):  # type: ignore[no-untyped-def]
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@compiled
def _less(a, b):  # type: ignore[no-untyped-def]
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


@compiled
def _ahead(p, s, d):  # type: ignore[no-untyped-def]
    """p + s d"""
    return p[0] + s * d[0], p[1] + s * d[1], p[2] + s * d[2]


@compiled
def _cross(a, b):  # type: ignore[no-untyped-def]
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@compiled
def _corner(t, k):  # type: ignore[no-untyped-def]
    k = k % 3
    return t[k, 0], t[k, 1], t[k, 2]


@compiled
def _box_apart(a, b):  # type: ignore[no-untyped-def]
    """Squared gap between two boxes."""
    total = 0.0
    for axis in range(3):
        gap = max(0.0, max(a[axis] - b[3 + axis], b[axis] - a[3 + axis]))
        total += gap * gap
    return total


@compiled
def _on_triangle(p, t):  # type: ignore[no-untyped-def]
    """Point of triangle t nearest to p (Ericson 5.1.5)."""
    a, b, c = _corner(t, 0), _corner(t, 1), _corner(t, 2)
    ab, ac, ap, bp, cp = _less(b, a), _less(c, a), _less(p, a), _less(p, b), _less(p, c)
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
    return _ahead(_ahead(a, v, ab), w, ac)


@compiled
def _between_edges(p1, q1, p2, q2):  # type: ignore[no-untyped-def]
    """Closest points of two segments (Ericson 5.1.9)."""
    d1, d2, r = _less(q1, p1), _less(q2, p2), _less(p1, p2)
    a, e, f, c, b = _dot(d1, d1), _dot(d2, d2), _dot(d2, r), _dot(d1, r), _dot(d1, d2)
    if a <= 0.0 or e <= 0.0:  # an edge without length: its end is covered by vertex to face
        return p1, p2
    denominator = a * e - b * b
    s = min(max((b * f - c * e) / denominator, 0.0), 1.0) if denominator > 1e-14 * a * e else 0.0
    t = (b * s + f) / e
    if t < 0.0:
        t, s = 0.0, min(max(-c / a, 0.0), 1.0)
    elif t > 1.0:
        t, s = 1.0, min(max((b - c) / a, 0.0), 1.0)
    return _ahead(p1, s, d1), _ahead(p2, t, d2)


@compiled
def _pierced(p, q, t):  # type: ignore[no-untyped-def]
    """Share of segment pq at which it cuts triangle t, or −1 (Möller and Trumbore 1997)."""
    a = _corner(t, 0)
    d, e1, e2, s = _less(q, p), _less(_corner(t, 1), a), _less(_corner(t, 2), a), _less(p, a)
    h, g = _cross(d, e2), _cross(s, e1)
    det = _dot(e1, h)
    if det == 0.0:
        return -1.0
    u, v, along = _dot(s, h) / det, _dot(d, g) / det, _dot(e2, g) / det
    return along if u >= 0.0 and v >= 0.0 and u + v <= 1.0 and 0.0 <= along <= 1.0 else -1.0


@compiled
def _keep(best, points, p, q):  # type: ignore[no-untyped-def]
    """The lesser of `best` and the squared distance of p and q; better points go into `points`."""
    apart = _less(p, q)
    d = _dot(apart, apart)
    if d >= best:
        return best
    for axis in range(3):
        points[0, axis], points[1, axis] = p[axis], q[axis]
    return d


@compiled
def _between_triangles(a, b, best, points):  # type: ignore[no-untyped-def]
    """Improve `best` (squared) and `points` (2, 3) with the distance of two triangles."""
    for k in range(3):
        p, q = _corner(a, k), _corner(b, k)
        best = _keep(best, points, p, _on_triangle(p, b))
        best = _keep(best, points, _on_triangle(q, a), q)
        for m in range(3):
            on_a, on_b = _between_edges(p, _corner(a, k + 1), _corner(b, m), _corner(b, m + 1))
            best = _keep(best, points, on_a, on_b)
        along = _pierced(p, _corner(a, k + 1), b)
        if along >= 0.0:
            cut = _ahead(p, along, _less(_corner(a, k + 1), p))
            best = _keep(best, points, cut, cut)
        along = _pierced(q, _corner(b, k + 1), a)
        if along >= 0.0:
            cut = _ahead(q, along, _less(_corner(b, k + 1), q))
            best = _keep(best, points, cut, cut)
    return best


@compiled
def _span(box):  # type: ignore[no-untyped-def]
    return max(max(box[3] - box[0], box[4] - box[1]), box[5] - box[2])


@compiled
def _closest(ca, oa, ba, ka, cb, ob, bb, kb, limit):  # type: ignore[no-untyped-def]
    """Least squared distance below `limit` between two trees' triangles, and the points (2, 3)."""
    points = np.zeros((2, 3))
    best = limit
    stack = np.zeros((256, 2), np.int64)
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
                    best = _between_triangles(ca[oa[m]], cb[ob[n]], best, points)
            continue
        # Open the larger of the two; its nearer half is looked at first.
        open_a = leaf_b or (not leaf_a and _span(ba[i]) >= _span(bb[j]))
        i1, j1 = (ka[i, 0], j) if open_a else (i, kb[j, 0])
        i2, j2 = (ka[i, 1], j) if open_a else (i, kb[j, 1])
        if _box_apart(ba[i1], bb[j1]) < _box_apart(ba[i2], bb[j2]):
            i1, j1, i2, j2 = i2, j2, i1, j1
        stack[waiting, 0], stack[waiting, 1] = i1, j1
        stack[waiting + 1, 0], stack[waiting + 1, 1] = i2, j2
        waiting += 2
    return best, points


# --- what deserves a look -------------------------------------------------------------------------------------
TOUCH = 0.001  # m, parts that sink less than this into each other are taken as touching
MOST_STEPS = 24  # of the grid on one triangle
HUGE, TINY = 5.0, 0.002  # part size over bay size beyond which the unit is doubted
# Directions no modeller aligns a part with; a point is inside when most of them meet a reverse side.
PROBES = np.array([[0.36, 0.48, 0.80], [-0.64, 0.48, -0.60], [0.48, -0.80, 0.36]])


def place_findings(part: Body, *, lower: Sequence[float], upper: Sequence[float]) -> list[ShapeFinding]:
    """Scale and place against the bay box (corners, m)."""
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    bay = float(np.linalg.norm(high - low))
    size = float(np.linalg.norm(part.bounds[1] - part.bounds[0]))
    if size > HUGE * bay or size < TINY * bay:
        was, unit = ("far larger", "mm") if size > bay else ("far smaller", "m")
        across, whole = Amount(f"{size:.4g} m", size, "m"), Amount(f"{bay:.3g} m", bay, "m")
        what, got = f"the part is {was} than the bay: wrong unit?", f"{across} across, bay {whole}"
        step = f"if the file is in {unit}, say unit: {unit}"
        return [ShapeFinding("error", part.name, what, got, step, (across, whole))]
    beyond = np.maximum(low - part.bounds[0], part.bounds[1] - high).max()
    if (part.bounds[0] > high).any() or (part.bounds[1] < low).any():
        return [
            ShapeFinding(
                "error", part.name, "the part is outside the bay", _corners(part), "check its position"
            )
        ]
    if beyond > TOUCH:
        out = Amount(f"{beyond * 1e3:.0f} mm", float(beyond), "mm")
        return [ShapeFinding("warning", part.name, "the part reaches outside the bay", f"by {out}",
                             "check its position, or the bay's walls", (out,))]  # fmt: skip
    return []


def _corners(part: Body) -> str:
    low, high = (", ".join(f"{v:.3f}" for v in corner) for corner in part.bounds)
    return f"[{low}] to [{high}] m"


def overlap_findings(scene: Scene, *, walls: Sequence[str] = (), tracer: str = "auto") -> list[ShapeFinding]:
    """Pairs of parts that sink into each other by more than a touch, sheets that stand through a solid included: errors.

    `walls` are not tested.
    """
    tested = [k for k, part in enumerate(scene.parts) if part.name not in walls]
    solid = [k for k in tested if not (scene.parts[k].twin >= 0).any()]
    probes = {k: SceneTracer(scene, tracer, [k]) for k in solid}
    findings = []
    for n, a in enumerate(tested):
        for b in tested[n + 1 :]:
            first, other = scene.parts[a], scene.parts[b]
            if not _boxes_meet(first, other):
                continue
            share = max(
                _sunk(first, probes[b], other) if b in probes else 0.0,
                _sunk(other, probes[a], first) if a in probes else 0.0,
            )
            if share > 0.0:
                findings.append(ShapeFinding("error", first.name, f"the part overlaps with {other.name}",
                                     f"{max(share, 0.001):.1%} of one's surface lies inside the other",
                                     "move one of them, or join them into one part"))  # fmt: skip
    return findings


def _boxes_meet(a: Body, b: Body) -> bool:
    return bool((a.bounds[0] < b.bounds[1]).all() and (b.bounds[0] < a.bounds[1]).all())


def _sunk(part: Body, probe: SceneTracer, other: Body) -> float:
    """Share of points on a part's surface that lie deeper than a touch inside the other part's skin."""
    points = np.concatenate([part.vertices[np.unique(part.faces)], _spread_over(part, other)])
    within = ((points > other.bounds[0]) & (points < other.bounds[1])).all(axis=1)
    if not within.any():
        return 0.0
    return float((_depth(points[within], probe) > TOUCH).sum() / len(points))


def _spread_over(part: Body, other: Body) -> Floats:
    """Points on a part's triangles (n, 3): their middles, and a grid on those larger than the other part's least width."""
    triangles = part.triangles
    width = float((other.bounds[1] - other.bounds[0]).min())
    sides = np.linalg.norm(triangles - np.roll(triangles, 1, axis=1), axis=2).max(axis=1)
    near = (triangles.min(axis=1) < other.bounds[1]).all(axis=1) & (
        triangles.max(axis=1) > other.bounds[0]
    ).all(axis=1)
    coarse = near & (sides > 0.5 * width)
    steps = int(np.clip(np.ceil(2.0 * sides[coarse].max(initial=0.0) / max(width, TOUCH)), 1, MOST_STEPS))
    u, v = np.meshgrid(np.arange(steps + 1), np.arange(steps + 1))
    inside = u + v <= steps
    grid = np.stack([u[inside], v[inside], steps - (u + v)[inside]], axis=1) / steps
    return np.concatenate([part.centres, (grid @ triangles[coarse]).reshape(-1, 3)])


def _depth(points: Floats, probe: SceneTracer) -> Floats:
    """Least distance to the skin along the probing directions for points inside it, 0 outside (n,)."""
    votes, depth = np.zeros(len(points)), np.full(len(points), np.inf)
    for way in np.concatenate([PROBES, -PROBES]):
        directions = np.broadcast_to(way, points.shape).astype(np.float32)
        ends = probe.ends(points.astype(np.float32), np.ascontiguousarray(directions))
        votes += ends.hit < -1
        depth = np.minimum(depth, ends.distance)
    return np.where(votes > len(PROBES), depth, 0.0)
