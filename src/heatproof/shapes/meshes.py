"""Parts from mesh files: STL, GLB, glTF, OBJ, and STEP where its reader is installed."""

import io
import subprocess
import sys
import warnings
from pathlib import Path
from typing import Any

import numpy as np

from heatproof.shapes.errors import ShapeError, ShapeFinding
from heatproof.shapes.extras import has_step_reader, need
from heatproof.shapes.mesh_findings import edge_findings
from heatproof.shapes.mesh_guards import EXPORT, guard, inside, refuse_many
from heatproof.shapes.placement import AS_DRAWN, Placement
from heatproof.shapes.scene import Part, solid_part
from heatproof.shapes.winding import outward

UNITS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254}
STEP = (".step", ".stp")
STEP_DEFLECTION = 0.01  # relative sag of a curved surface's triangles
LONGEST_STEP = 300.0  # s
FARTHEST = 1000.0  # m from the origin: no part of a car lies there
STEP_TO_GLB = (
    "import os, sys, cascadio\n"
    "out = os.fdopen(os.dup(1), 'wb')\n"
    "os.dup2(2, 1)  # what the reader says besides is not the mesh\n"
    "try:\n import resource; resource.setrlimit(resource.RLIMIT_CPU, (int(sys.argv[2]),) * 2)\n"
    "except (ImportError, ValueError, OSError): pass\n"
    "data = open(sys.argv[1], 'rb').read()\n"
    f"out.write(cascadio.to_glb_bytes(data, tol_linear={STEP_DEFLECTION}, tol_relative=True))\n"
    "out.close()"
)
"""Run as a program of its own: on a damaged file the compiled reader may end the process it runs in."""


def read_part(
    name: str, path: Path | str, *, folder: Path | str, unit: str, placement: Placement = AS_DRAWN
) -> tuple[Part, list[ShapeFinding]]:
    """Part `name` from the mesh file `path` below `folder`, in bay axes and metres, with what was found.

    unit : "m", "cm", "mm" or "in": what one unit of the file is (STL and OBJ do not say). STEP files
    state their own, which is taken whatever is named here.
    The file's axes are taken as they are; turn them with `placement`. All bodies of the file become one part.
    A mesh turned inside out is turned back, and said so. Raises ShapeError for a file that is missing,
    outside the folder, too large, cut off, not of its kind, without area or with coordinates not finite.
    """
    if unit not in UNITS:
        raise ShapeError("no such length unit", where=name, got=unit, allowed=", ".join(UNITS))
    real = inside(path, folder)
    guard(real)
    mesh = _read(real)
    scale = 1.0 if real.suffix.lower() in STEP else UNITS[unit]
    return _part_from(name, real, mesh, scale, placement)


def _read(path: Path) -> Any:
    trimesh = need("trimesh")
    try:
        if path.suffix.lower() in STEP:
            return _read_step(path)
        options = {"skip_materials": True} if path.suffix.lower() == ".obj" else {}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what matters of them is checked below
            # Unprocessed: the reader's tidying would drop coordinates that are not finite without a word.
            return trimesh.load_scene(path, process=False, **options).to_mesh()
    except ShapeError:
        raise
    except MemoryError as bad:
        raise ShapeError("not enough memory to read the mesh", where=path.name, next_step=EXPORT) from bad
    except Exception as bad:  # the reader raises whatever its parsers raise
        raise ShapeError(
            "mesh cannot be read", where=path.name, got=str(bad)[:200], next_step=EXPORT
        ) from bad


def _read_step(path: Path) -> Any:
    if not has_step_reader():
        raise ShapeError(
            "STEP files need a reader that is not installed",
            where=path.name,
            next_step=f"pip install 'heatproof[step]', or {EXPORT}",
        )
    trimesh = need("trimesh")
    longest = 8 + 4 * (path.stat().st_size >> 20)  # s of processor time: on a damaged file it may never end
    command = [sys.executable, "-c", STEP_TO_GLB, str(path), str(longest)]
    try:
        ended = subprocess.run(command, capture_output=True, timeout=LONGEST_STEP, stdin=subprocess.DEVNULL)
    except subprocess.TimeoutExpired as late:
        got = f"no end after {LONGEST_STEP:.0f} s"
        raise ShapeError("STEP file cannot be read", where=path.name, got=got, next_step=EXPORT) from late
    if ended.returncode or not ended.stdout:
        raise ShapeError("STEP file holds no shape that could be read", where=path.name, next_step=EXPORT)
    return trimesh.load_scene(io.BytesIO(ended.stdout), file_type="glb").to_mesh()


def _part_from(
    name: str, path: Path, mesh: Any, scale: float, placement: Placement
) -> tuple[Part, list[ShapeFinding]]:
    if len(mesh.faces) == 0:
        raise ShapeError(
            "no triangles in the file", where=path.name, next_step=f"it may be cut off: {EXPORT}"
        )
    refuse_many(path, len(mesh.faces))
    _refuse_vertices(path, mesh, scale)
    try:
        mesh.merge_vertices(merge_tex=True, merge_norm=True)
    except (OverflowError, ValueError, IndexError) as bad:
        got = str(bad)[:200]
        raise ShapeError("vertices cannot be joined", where=path.name, got=got, next_step=EXPORT) from bad
    sized = mesh.area_faces > 1e-12 * max(float(mesh.extents.max()) ** 2, 1e-30)
    if not sized.any():
        raise ShapeError("every triangle has zero area", where=path.name, next_step=EXPORT)
    findings = []
    if dropped := int((~sized).sum()):
        findings.append(ShapeFinding("note", name, "triangles without area were left out", str(dropped)))
    vertices = placement.apply(mesh.vertices * scale)
    part, turned = outward(Part(name, vertices, mesh.faces[sized]))
    return part, findings + turned + edge_findings(part)


def _refuse_vertices(path: Path, mesh: Any, scale: float) -> None:
    """Triangles of vertices that are there, at places where a part can be."""
    if mesh.vertices.ndim != 2 or mesh.vertices.shape[1] != 3:
        raise ShapeError("vertices have no three coordinates", where=path.name, next_step=EXPORT)
    if mesh.faces.min() < 0 or mesh.faces.max() >= len(mesh.vertices):
        got = f"vertex {int(mesh.faces.max())} of {len(mesh.vertices)}"
        raise ShapeError(
            "triangles name vertices that are not there", where=path.name, got=got, next_step=EXPORT
        )
    if not np.isfinite(mesh.vertices).all():
        bad = int((~np.isfinite(mesh.vertices)).any(axis=1).sum())
        raise ShapeError(
            "coordinates are not finite", where=path.name, got=f"{bad} vertices", next_step=EXPORT
        )
    farthest = float(np.abs(mesh.vertices).max()) * scale
    if farthest > FARTHEST:
        raise ShapeError(
            "coordinates are too large",
            where=path.name,
            got=f"{farthest:.3g} m",
            allowed=f"up to {FARTHEST:.0f} m",
            next_step="check the unit and the file's origin",
        )


def part_from_mesh(name: str, mesh: Any) -> tuple[Part, list[ShapeFinding]]:
    """Part from a mesh already in memory (m, bay axes), turned outward, with what was found."""
    part, turned = outward(solid_part(name, mesh))
    return part, turned + edge_findings(part)
