"""What deserves a look in parts' shapes: open or tangled skins, scale, place, overlap."""

from collections.abc import Sequence

import numpy as np

from heatproof.shapes.errors import ShapeFinding
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Part, Scene
from heatproof.shapes.tracing import SceneTracer
from heatproof.shapes.winding import shared_edges
from heatproof.units.amount import Amount

TOUCH = 0.001  # m, parts that sink less than this into each other are taken as touching
HUGE, TINY = 5.0, 0.002  # part size over bay size beyond which the unit is doubted
# Directions no modeller aligns a part with; a point is inside when most of them meet a reverse side.
PROBES = np.array([[0.36, 0.48, 0.80], [-0.64, 0.48, -0.60], [0.48, -0.80, 0.36]])


def edge_findings(part: Part) -> list[ShapeFinding]:
    """Open and non-manifold edges of a solid part; a thin sheet is open by nature."""
    if (part.twin >= 0).any():
        return []
    counts = shared_edges(part.faces)[2]
    found = []
    if opened := int((counts == 1).sum()):
        found.append(
            ShapeFinding("warning", part.name, "the mesh is open", f"{opened} edges with one triangle",
                    "close it, or declare the part a thin sheet; rays that get inside exchange nothing")
        )  # fmt: skip
    if tangled := int((counts > 2).sum()):
        found.append(
            ShapeFinding("warning", part.name, "the mesh is not manifold",
                    f"{tangled} edges with 3 or more triangles",
                    "remove inner faces and double walls before exporting")
        )  # fmt: skip
    return found


def place_findings(part: Part, *, lower: Sequence[float], upper: Sequence[float]) -> list[ShapeFinding]:
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


def _corners(part: Part) -> str:
    low, high = (", ".join(f"{v:.3f}" for v in corner) for corner in part.bounds)
    return f"[{low}] to [{high}] m"


def overlap_findings(scene: Scene, *, walls: Sequence[str] = (), tracer: str = "auto") -> list[ShapeFinding]:
    """Pairs of solid parts that sink into each other by more than a touch; `walls` are not tested."""
    solid = [k for k, part in enumerate(scene.parts) if part.name not in walls and not (part.twin >= 0).any()]
    probes = {k: SceneTracer(scene, tracer, [k]) for k in solid}
    found = []
    for n, a in enumerate(solid):
        for b in solid[n + 1 :]:
            one, other = scene.parts[a], scene.parts[b]
            if not _boxes_meet(one, other):
                continue
            share = max(_sunk(one, probes[b], other), _sunk(other, probes[a], one))
            if share > 0.0:
                found.append(ShapeFinding("warning", one.name, f"the part overlaps with {other.name}",
                                     f"{max(share, 0.001):.1%} of one's surface lies inside the other",
                                     "move one of them, or join them into one part"))  # fmt: skip
    return found


def _boxes_meet(a: Part, b: Part) -> bool:
    return bool((a.bounds[0] < b.bounds[1]).all() and (b.bounds[0] < a.bounds[1]).all())


def _sunk(part: Part, probe: SceneTracer, other: Part) -> float:
    """Share of a part's triangle corners that lie deeper than a touch inside the other part's skin."""
    points = np.concatenate([part.vertices[np.unique(part.faces)], part.centres])
    within = ((points > other.bounds[0]) & (points < other.bounds[1])).all(axis=1)
    if not within.any():
        return 0.0
    return float((_depth(points[within], probe) > TOUCH).sum() / len(points))


def _depth(points: Floats, probe: SceneTracer) -> Floats:
    """Least distance to the skin along the probing directions for points inside it, 0 outside (n,)."""
    votes, depth = np.zeros(len(points)), np.full(len(points), np.inf)
    for way in np.concatenate([PROBES, -PROBES]):
        directions = np.broadcast_to(way, points.shape).astype(np.float32)
        ends = probe.ends(points.astype(np.float32), np.ascontiguousarray(directions))
        votes += ends.hit < -1
        depth = np.minimum(depth, ends.distance)
    return np.where(votes > len(PROBES), depth, 0.0)
