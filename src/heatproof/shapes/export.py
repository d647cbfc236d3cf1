"""The bay with its temperatures as a GLB file that other programs open."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from heatproof._files import write_whole
from heatproof.shapes.extras import need
from heatproof.shapes.placement import Floats
from heatproof.shapes.ramp import colours, ramp_data
from heatproof.shapes.raster import _triangle_values
from heatproof.shapes.scene import Ints, Part, Scene

TEMPERATURE = "_TEMPERATURE"
# glTF has y up; bay x stays x, bay z becomes y.
Y_UP = np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0], [0, 0, 0, 1.0]])


def corner_vertices(part: Part, values: Floats) -> tuple[Floats, Ints, Floats]:
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
