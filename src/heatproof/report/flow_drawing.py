"""A flow network drawn at its heights: boxes for places, arrows for ways, as wide as what flows."""

from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import minimize

from heatproof.report.flows import Flows, Place
from heatproof.report.plots import new_figure, svg
from heatproof.report.reader_units import ReaderUnits

Point = tuple[float, float]
COLD, HOT = "#3f6f8f", "#a3271b"
LEAST_SHARE = 0.004  # of the largest flow, less is drawn thin and without a figure


def flow_plot(
    flows: Flows, units: ReaderUnits, flow_text: Callable[[float], str], height: float = 4.2
) -> str:
    """The drawing as SVG. flow_text: kg/s to text."""
    figure, axes = new_figure(height, left=0.55, bottom=0.1, top=0.05)
    at = positions(flows)
    frame(axes, at)
    span = [min(p.temperature for p in flows.places), max(p.temperature for p in flows.places)]
    largest = max((abs(way.flow) for way in flows.ways), default=1.0) or 1.0
    taken = [axes.transData.transform(point) for point in at.values()]
    beside: dict[frozenset[str], int] = {}
    for way in sorted(flows.ways, key=lambda w: -abs(w.flow)):
        pair = frozenset((way.first, way.second))
        beside[pair] = beside.get(pair, -1) + 1
        share, colour = abs(way.flow) / largest, ink(way.temperature, span)
        a, b = (at[way.first], at[way.second]) if way.flow >= 0.0 else (at[way.second], at[way.first])
        bend = 0.10 + 0.20 * beside[pair]
        draw_way(axes, a, b, share, bend, colour)
        if share >= LEAST_SHARE:
            label(axes, a, b, bend, flow_text(abs(way.flow)), taken)
    for place in flows.places:
        draw_place(axes, place, at[place.key], units, ink(place.temperature, span))
    return svg(figure)


def frame(axes: Any, at: dict[str, tuple[float, float]]) -> None:
    """Limits and scales; fixed before anything is placed by its distance on paper."""
    xs, ys = zip(*at.values(), strict=True)
    axes.set_xlim(min(xs) - 0.45, max(xs) + 0.45)
    room = (0.09 if len(at) > 4 else 0.6) * max(max(ys) - min(ys), 0.2)
    axes.set_ylim(min(ys) - room, max(ys) + room)
    axes.set_ylabel("height above the road [m], about", fontsize=8)
    axes.set_xticks([])
    axes.spines[["bottom"]].set_visible(False)


def ink(kelvin: float, span: list[float]) -> tuple[float, ...]:
    """Colour between cold and hot of this drawing."""
    from matplotlib.colors import to_rgb

    share = float(np.clip((kelvin - span[0]) / max(span[1] - span[0], 1.0), 0.0, 1.0))
    a, b = np.array(to_rgb(COLD)), np.array(to_rgb(HOT))
    return tuple(a + share * (b - a))


def draw_place(axes: Any, place: Place, at: tuple[float, float], units: ReaderUnits, colour: Any) -> None:
    """A box with title and temperature; openings to the outside are plain text."""
    text = f"{wrapped(place.title)}\n{units.temperature(place.temperature)}"
    if place.kind == "outside":
        axes.text(
            *at, wrapped(place.title), ha="center", va="center", fontsize=6.2, color="#444444", zorder=5
        )
        return
    box = {"boxstyle": "round,pad=0.25", "facecolor": "white", "edgecolor": colour, "linewidth": 1.3}
    axes.text(*at, text, ha="center", va="center", fontsize=6.6, bbox=box, zorder=6)


def wrapped(title: str, most: int = 15) -> str:
    """A title over two lines or three."""
    lines, line = [], ""
    for word in title.split():
        if line and len(line) + len(word) + 1 > most:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    return "\n".join([*lines, line])


def draw_way(axes: Any, a: Point, b: Point, share: float, bend: float, colour: Any) -> None:
    """An arrow from a to b, as wide as its share of the largest flow; next to nothing is dotted."""
    from matplotlib.patches import FancyArrowPatch

    small = share < LEAST_SHARE
    arrow = FancyArrowPatch(
        a,
        b,
        connectionstyle=f"arc3,rad={bend}",
        arrowstyle="-" if small else "-|>",
        mutation_scale=5 + 5 * share**0.5,
        lw=0.5 + 4.0 * share**0.5,
        color=colour,
        alpha=0.4 if small else 0.75,
        linestyle=":" if small else "-",
        shrinkA=12,
        shrinkB=12,
        zorder=2,
    )
    axes.add_patch(arrow)


def label(axes: Any, a: Point, b: Point, bend: float, text: str, taken: list[np.ndarray]) -> None:
    """A flow's figure on its arrow, where it lies farthest from what stands there already."""
    p, q = axes.transData.transform(a), axes.transData.transform(b)
    control = 0.5 * (p + q) + bend * np.array([q[1] - p[1], -(q[0] - p[0])])
    spots = [
        (1 - t) ** 2 * p + 2 * t * (1 - t) * control + t**2 * q
        for t in (0.5, 0.42, 0.58, 0.34, 0.66, 0.27, 0.73)
    ]
    reach = np.array([30.0, 9.0])  # points on paper a label takes, about

    def crowd(spot: np.ndarray) -> float:
        return float(sum(np.exp(-((((spot - other) / reach) ** 2).sum())) for other in taken))

    best = min(range(len(spots)), key=lambda k: crowd(spots[k]) + 0.02 * k)
    taken.append(spots[best])
    x, y = axes.transData.inverted().transform(spots[best])
    pad = {"boxstyle": "square,pad=0.08", "facecolor": "white", "edgecolor": "none", "alpha": 0.85}
    axes.text(x, y, text, ha="center", va="center", fontsize=6, bbox=pad, zorder=4)


def positions(flows: Flows) -> dict[str, tuple[float, float]]:
    """x from how places hang together, y their heights, moved apart where boxes would lie on each other."""
    keys = [place.key for place in flows.places]
    heights = np.array([place.height for place in flows.places])
    index = {key: k for k, key in enumerate(keys)}
    ends = np.array([(index[w.first], index[w.second]) for w in flows.ways])
    x = spread_x(len(keys), ends, heights)
    y = apart(x, heights)
    return {key: (float(x[k]), float(y[k])) for key, k in index.items()}


def spread_x(n: int, ends: np.ndarray, heights: np.ndarray) -> np.ndarray:
    """Columns: ways about one column long, places of like height apart. Deterministic."""
    start = depth_first(n, ends)
    a, b = ends[:, 0], ends[:, 1]
    near = np.exp(-((np.subtract.outer(heights, heights) / 0.11) ** 2))
    np.fill_diagonal(near, 0.0)

    def cost(x: np.ndarray) -> float:
        length = ((np.abs(x[a] - x[b]) - 1.0) ** 2).sum()
        close = (near * np.exp(-((np.subtract.outer(x, x) / 0.7) ** 2))).sum()
        return float(0.35 * length + 3.0 * close + 0.02 * ((x - start) ** 2).sum())

    return np.asarray(minimize(cost, start, method="L-BFGS-B", options={"maxiter": 200}).x)


def depth_first(n: int, ends: np.ndarray) -> np.ndarray:
    """First guess: steps from the first place that only sends, else from the first of all; a little apart."""
    senders = [k for k in range(n) if (ends[:, 0] == k).any() and not (ends[:, 1] == k).any()]
    depth = np.full(n, -1.0)
    front = senders or [0]
    depth[front] = 0.0
    while front:
        following = []
        for k in front:
            for a, b in ends:
                other = b if a == k else a if b == k else -1
                if other >= 0 and depth[other] < 0.0:
                    depth[other] = depth[k] + 1.0
                    following.append(int(other))
        front = following
    depth[depth < 0.0] = 0.0
    return depth + 0.07 * np.arange(n) % 0.3


def apart(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Heights nudged until no two boxes overlap; order kept."""
    y = y.astype(float).copy()
    span = max(float(np.ptp(y)), 0.2)
    for _ in range(200):
        moved = False
        for i in range(x.size):
            for j in range(i):
                gap = 0.115 * span
                if abs(x[i] - x[j]) < 0.6 and abs(y[i] - y[j]) < gap:
                    push = 0.5 * (gap - abs(y[i] - y[j])) + 1e-4
                    sign = 1.0 if (y[i], i) > (y[j], j) else -1.0
                    y[i] += sign * push
                    y[j] -= sign * push
                    moved = True
        if not moved:
            break
    return y
