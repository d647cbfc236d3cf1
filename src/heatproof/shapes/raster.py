"""A picture of the bay without a screen or graphics card: parallel projection, depth buffer, ink edges.

Surfaces are drawn from their front only, so the bay's walls, which look inward, do not hide what they hold.
"""

import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatproof._files import write_whole
from heatproof.numerics.compiled import compiled
from heatproof.shapes.errors import ShapeError
from heatproof.shapes.placement import Floats
from heatproof.shapes.ramp import colours, ramp_data
from heatproof.shapes.scale_bar import draw_scale
from heatproof.shapes.scene import Scene

Image = NDArray[np.uint8]
FINE = 2  # drawn this many times larger, then averaged
MARGIN = 0.05  # of the picture, free on each side
CREASE = np.cos(np.radians(35.0))  # neighbouring pixels turned more than this get an edge line
SIDE_LIGHT = 0.20  # share of brightness that depends on the way a surface looks
ZERO_C = 273.15


@dataclass(frozen=True)
class View:
    """Where the eye is: degrees round z from the car's front towards its right, and above the horizon."""

    around: float = 40.0
    above: float = 35.0

    def axes(self) -> Floats:
        """Rows: right and up on the picture, towards the eye (bay axes)."""
        a, e = np.radians([self.around, self.above])
        eye = np.array([-np.cos(e) * np.cos(a), np.cos(e) * np.sin(a), np.sin(e)])
        right = np.array([np.sin(a), np.cos(a), 0.0])
        # From the front (a = 0) the car's right side, +y, is on the picture's left.
        right = -right
        return np.stack([right, np.cross(eye, right), eye])


def render(
    scene: Scene,
    temperatures: ArrayLike,
    *,
    low: float,
    high: float,
    size: tuple[int, int] = (1280, 800),
    view: View = View(),
    ramp: Sequence[str] = (),
    ground: str = "#EAE8E1",
    ink: str = "#1B2025",
    hide: Sequence[str] = (),
) -> Image:
    """Picture (height, width, 3) of the scene with its temperatures (K) of patches or triangles.

    low, high : ends of the scale, K; hotter than `high` shows the end colour. ramp : hex colours from cold to
    hot (default: the light ramp). hide : names of parts left out. Raises ShapeError.
    """
    hexes = list(ramp) or ramp_data()["light"]
    values = _triangle_values(scene, temperatures)
    if not high > low:
        raise ShapeError("the scale's upper end must be above its lower end", got=f"{low:g} to {high:g} K")
    if not all(16 <= s <= 8192 for s in size):
        raise ShapeError(
            "picture size out of range", got=f"{size[0]} × {size[1]}", allowed="16 to 8192 pixels"
        )
    shown = np.concatenate([np.full(len(p.faces), p.name not in hide) for p in scene.parts])
    if not shown.any():
        raise ShapeError("every part is hidden", next_step="hide fewer parts")
    owner = np.repeat(np.arange(len(scene.parts)), np.diff(scene.first_triangle))
    front = _front_triangles(scene, view, size, shown)
    picture = _painted(front, scene.normals, owner, values, view, low, high, hexes, ground, ink)
    fine = picture.reshape(size[1], FINE, size[0], FINE, 3).mean(axis=(1, 3))
    image: Image = (np.clip(fine, 0.0, 1.0) * 255.0 + 0.5).astype(np.uint8)
    draw_scale(image, colours(np.linspace(0, 1, 12), hexes), low - ZERO_C, high - ZERO_C, ink)
    return image


def _triangle_values(scene: Scene, temperatures: ArrayLike) -> Floats:
    values = np.asarray(temperatures, dtype=float)
    if values.shape == (len(scene.patch_names),):
        return values[scene.patch_of]
    if values.shape != (len(scene.patch_of),):
        raise ShapeError(
            "one temperature per patch or per triangle", got=str(values.shape),
            allowed=f"{len(scene.patch_names)} patches or {len(scene.patch_of)} triangles",
        )  # fmt: skip
    return values


def _front_triangles(
    scene: Scene, view: View, size: tuple[int, int], shown: NDArray[np.bool_]
) -> NDArray[np.int32]:
    """Triangle seen at each fine pixel (height, width), −1 for none."""
    axes = view.axes()
    width, height = size[0] * FINE, size[1] * FINE
    corners = scene.triangles @ axes.T
    seen = np.flatnonzero(shown & (scene.normals @ axes[2] > 0.0))
    flat = corners[shown].reshape(-1, 3)
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = (1.0 - 2.0 * MARGIN) * np.array([width, height]) / np.maximum((high - low)[:2], 1e-9)
    zoom = float(room.min())
    screen = corners[seen].copy()
    screen[:, :, 0] = (screen[:, :, 0] - 0.5 * (low[0] + high[0])) * zoom + 0.5 * width
    screen[:, :, 1] = 0.5 * height - (screen[:, :, 1] - 0.5 * (low[1] + high[1])) * zoom
    index: NDArray[np.int32] = _nearest_to_eye(screen, height, width)
    return np.where(index >= 0, seen[np.maximum(index, 0)] if len(seen) else -1, -1).astype(np.int32)


@compiled
def _nearest_to_eye(screen, height, width):  # type: ignore[no-untyped-def]
    """Depth buffer: the triangle of largest z at each pixel's middle."""
    depth = np.full((height, width), -np.inf)
    index = np.full((height, width), -1, np.int32)
    for t in range(len(screen)):
        ax, ay, az = screen[t, 0]
        bx, by, bz = screen[t, 1]
        cx, cy, cz = screen[t, 2]
        det = (by - cy) * (ax - cx) + (cx - bx) * (ay - cy)
        if det == 0.0:
            continue
        x0, x1 = max(0, int(min(ax, bx, cx) - 0.5)), min(width - 1, int(max(ax, bx, cx) + 0.5))
        y0, y1 = max(0, int(min(ay, by, cy) - 0.5)), min(height - 1, int(max(ay, by, cy) + 0.5))
        for y in range(y0, y1 + 1):
            for x in range(x0, x1 + 1):
                px, py = x + 0.5 - cx, y + 0.5 - cy
                u = ((by - cy) * px + (cx - bx) * py) / det
                v = ((cy - ay) * px + (ax - cx) * py) / det
                if u < 0.0 or v < 0.0 or u + v > 1.0:
                    continue
                z = u * az + v * bz + (1.0 - u - v) * cz
                if z > depth[y, x]:
                    depth[y, x] = z
                    index[y, x] = t
    return index


def _painted(
    front: NDArray[np.int32],
    normals: Floats,
    owner: NDArray[np.int64],
    values: Floats,
    view: View,
    low: float,
    high: float,
    hexes: Sequence[str],
    ground: str,
    ink: str,
) -> Floats:
    """Colours (height, width, 3): ramp, light from over the eye's left shoulder, ink at edges."""
    axes = view.axes()
    light = axes.T @ np.array([-0.4, 0.6, 0.7])
    brightness = 1.0 - SIDE_LIGHT * (1.0 - np.clip(normals @ (light / np.linalg.norm(light)), 0.0, 1.0))
    own = colours(np.clip((values - low) / (high - low), 0.0, 1.0), hexes) * brightness[:, None]
    table = np.concatenate([own, colours([0.0], [ground, ground])])  # −1 reads the ground
    picture = table[front]
    picture[_edges(front, normals, owner)] = colours([0.0], [ink, ink])[0]
    return picture


def _edges(front: NDArray[np.int32], normals: Floats, owner: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Pixels where the part changes, or the surface folds, against the pixel to the right or below."""
    part = np.append(owner, -1)[front]
    looks = np.concatenate([normals, np.zeros((1, 3))])[front]
    edge = np.zeros(front.shape, dtype=bool)
    for axis in range(2):
        one, two = [slice(None), slice(None)], [slice(None), slice(None)]
        one[axis], two[axis] = slice(None, -1), slice(1, None)
        a, b = tuple(one), tuple(two)
        fold = (np.einsum("ijk,ijk->ij", looks[a], looks[b]) < CREASE) & (part[a] >= 0)
        line = (part[a] != part[b]) | fold
        edge[a] |= line
        edge[b] |= line
    return edge


def png_bytes(image: Image) -> bytes:
    """The picture as a PNG file (ISO/IEC 15948: 8-bit RGB, no filter)."""
    height, width = image.shape[:2]
    rows = np.concatenate([np.zeros((height, 1), np.uint8), image.reshape(height, -1)], axis=1).tobytes()

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows, 6)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunks


def write_png(path: Path | str, image: Image) -> None:
    """Write the picture, whole or not at all."""
    Path(path).parent.mkdir(parents=True, exist_ok=True)
    write_whole(Path(path), png_bytes(image))
