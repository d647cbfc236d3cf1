"""The bay and its temperatures to look at: a picture without a screen or graphics card, and a GLB file for other programs.

Parallel projection, depth buffer, ink edges. Surfaces are drawn from their front only, so the bay's walls, which look
inward, do not hide what they hold. Colours of temperatures are stops given as data (`ramp.json`), mixed in OKLab.
"""

import json
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatproof._files import write_whole
from heatproof.numerics.compiled import compiled
from heatproof.shapes.errors import ShapeError, need
from heatproof.shapes.placement import Floats
from heatproof.shapes.scene import Body, Ints, Scene

# --- colours --------------------------------------------------------------------------------------------------
# Ottosson (2020), "A perceptual color space for image processing": linear sRGB → cone response → Lab.
CONES = np.array(
    [[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566],
     [0.0883024619, 0.2817188376, 0.6299787005]]
)  # fmt: skip
LAB = np.array(
    [[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099],
     [0.0259040371, 0.7827717662, -0.8086757660]]
)  # fmt: skip


@cache
def ramp_data() -> dict[str, Any]:
    """The file's content: `stops` 0…1, `light` and `dark` hex colours, default scale of surfaces in °C."""
    return dict(json.loads(files("heatproof.shapes").joinpath("ramp.json").read_text(encoding="utf-8")))


def _linear(hexes: Sequence[str]) -> Floats:
    try:
        values = np.array([[int(h.lstrip("#")[k : k + 2], 16) for k in (0, 2, 4)] for h in hexes]) / 255.0
    except ValueError:
        raise ShapeError(
            "a colour stop is not a hex colour", got=", ".join(hexes), allowed="#RRGGBB"
        ) from None
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)  # IEC 61966-2-1


def colours(share: ArrayLike, hexes: Sequence[str], *, stops: Sequence[float] | None = None) -> Floats:
    """sRGB colours (…, 3) 0…1 at `share` 0…1 of the ramp; beyond it, its end colours."""
    if len(hexes) < 2 or (stops is not None and len(stops) != len(hexes)):
        raise ShapeError("a ramp needs two or more colours, one per stop", got=f"{len(hexes)} colours")
    at = np.linspace(0.0, 1.0, len(hexes)) if stops is None else np.asarray(stops)
    lab = np.cbrt(_linear(hexes) @ CONES.T) @ LAB.T
    mixed = np.stack([np.interp(np.asarray(share, dtype=float), at, lab[:, k]) for k in range(3)], axis=-1)
    linear = np.clip((mixed @ np.linalg.inv(LAB).T) ** 3 @ np.linalg.inv(CONES).T, 0.0, 1.0)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


# --- the scale ------------------------------------------------------------------------------------------------
# Figures of five rows by three columns, one octal digit a row.
GLYPHS = {
    "0": "75557", "1": "26227", "2": "71747", "3": "71717", "4": "55711", "5": "74717", "6": "74757",
    "7": "71111", "8": "75757", "9": "75717", "−": "00700", "°": "75700", "C": "74447",
    " ": "00000",
}  # fmt: skip
DOT = 2  # pixels per dot of a figure
BAR_HEIGHT, STEP_WIDTH, GAP = 10, 14, 8


def text_mask(text: str) -> NDArray[np.bool_]:
    """Dots (5 · DOT, width) of a text made of the known figures."""
    columns = []
    for letter in text:
        rows = [[bool(int(row) >> (2 - k) & 1) for k in range(3)] for row in GLYPHS[letter]]
        columns.append(np.pad(np.array(rows), ((0, 0), (0, 1))))
    return np.kron(np.concatenate(columns, axis=1), np.ones((DOT, DOT), dtype=bool)).astype(bool)


def draw_scale(image: NDArray[np.uint8], steps: Floats, low: float, high: float, ink: str) -> None:
    """Draw the scale at the lower left, in place; left out where the picture is too small for it."""
    masks = [text_mask(f"{value:.0f}".replace("-", "−") + " °C") for value in (low, high)]
    bar = np.repeat((steps * 255.0).astype(np.uint8), STEP_WIDTH, axis=0)
    width = len(bar) + masks[0].shape[1] + masks[1].shape[1] + 4 * GAP
    if image.shape[1] < width or image.shape[0] < 4 * BAR_HEIGHT:
        return
    colour = (colours([0.0], [ink, ink])[0] * 255.0).astype(np.uint8)
    top, x = image.shape[0] - GAP - BAR_HEIGHT, GAP
    for mask, body in ((masks[0], bar), (masks[1], None)):
        area = image[top : top + mask.shape[0], x : x + mask.shape[1]]
        area[mask] = colour
        x += mask.shape[1] + GAP
        if body is not None:
            image[top : top + BAR_HEIGHT, x : x + len(body)] = body
            x += len(body) + GAP


# --- the picture ----------------------------------------------------------------------------------------------
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
        near, two = [slice(None), slice(None)], [slice(None), slice(None)]
        near[axis], two[axis] = slice(None, -1), slice(1, None)
        a, b = tuple(near), tuple(two)
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


# --- the file for other programs ------------------------------------------------------------------------------
TEMPERATURE = "_TEMPERATURE"
# glTF has y up; bay x stays x, bay z becomes y.
Y_UP = np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0], [0, 0, 0, 1.0]])


def corner_vertices(part: Body, values: Floats) -> tuple[Floats, Ints, Floats]:
    """Vertices parted at patch borders, faces, and the area-weighted mean of `values` (n,) at each vertex."""
    code = part.faces * len(part.patches) + part.patch_of[:, None]
    used, faces = np.unique(code, return_inverse=True)
    faces = faces.reshape(part.faces.shape)
    weight = np.maximum(part.areas, 1e-30)
    total = np.bincount(faces.ravel(), np.repeat(weight, 3), len(used))
    mean = np.bincount(faces.ravel(), np.repeat(weight * values, 3), len(used)) / total
    return part.vertices[used // len(part.patches)], faces, mean


def glb_bytes(
    scene: Scene, temperatures: ArrayLike, *, low: float, high: float, ramp: Sequence[str] = ()
) -> bytes:
    """GLB (glTF 2.0) with one named node per part, y up, metres.

    temperatures : K, per patch or per triangle. Each vertex carries `_TEMPERATURE` (float, K) and COLOR_0
    (linear, as the format asks) from `ramp` between `low` and `high` (K).
    """
    trimesh = need("trimesh")
    hexes = list(ramp) or ramp_data()["light"]
    values = _triangle_values(scene, temperatures)
    out: Any = trimesh.Scene()
    for part, first in zip(scene.parts, scene.first_triangle[:-1], strict=True):
        points, faces, mean = corner_vertices(part, values[first : first + len(part.faces)])
        shown = colours(np.clip((mean - low) / (high - low), 0.0, 1.0), hexes)
        linear = np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4)
        paint = np.column_stack([linear * 255.0 + 0.5, np.full(len(linear), 255.0)]).astype(np.uint8)
        mesh = trimesh.Trimesh(points, faces, vertex_colors=paint, process=False)
        mesh.vertex_attributes[TEMPERATURE] = mean.astype(np.float32)
        out.add_geometry(mesh, node_name=part.name, geom_name=part.name, transform=Y_UP)
    content = out.export(file_type="glb")
    return bytes(content)


def write_glb(
    path: Path | str,
    scene: Scene,
    temperatures: ArrayLike,
    *,
    low: float,
    high: float,
    ramp: Sequence[str] = (),
) -> None:
    """Write the GLB, whole or not at all."""
    Path(path).parent.mkdir(parents=True, exist_ok=True)
    write_whole(Path(path), glb_bytes(scene, temperatures, low=low, high=high, ramp=ramp))
