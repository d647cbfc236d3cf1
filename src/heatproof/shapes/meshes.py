"""Parts from mesh files: STL, GLB, glTF, OBJ, and STEP where its reader is installed.

A file is looked at before it is read whole (place, size, kind, count, truncation); its triangles are then made to look
outward over each connected skin.
"""

import io
import json
import struct
import subprocess
import sys
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from heatproof.shapes.errors import ShapeError, ShapeFinding, has_step_reader, need
from heatproof.shapes.placement import AS_DRAWN, Placement
from heatproof.shapes.scene import Body, Ints, solid_part

# --- before a file is read ------------------------------------------------------------------------------------
MAX_BYTES = 256 * 2**20
MAX_TRIANGLES = 2_000_000
READABLE = (".stl", ".glb", ".gltf", ".obj", ".step", ".stp")
MOST_BELIEVED = 500_000_000  # a higher count in an STL head is not a count
EXPORT = "export the part again as binary STL or GLB"
COARSER = "export a coarser mesh, or only the surface that other parts see"


def inside(path: Path | str, folder: Path | str) -> Path:
    """The real path of `path`, which must lie in `folder` after following links; ShapeError otherwise."""
    root = Path(folder).resolve()
    try:
        real = (root / path).resolve()
        real.is_file()
    except (OSError, ValueError, RuntimeError) as bad:  # no name a file can have, links in a circle
        raise ShapeError(
            "no such mesh file", where=str(path)[:100], got=str(bad)[:100], next_step="correct the name"
        ) from bad
    if not real.is_relative_to(root):
        raise ShapeError(
            "mesh file lies outside the project folder",
            where=str(path),
            allowed="a path inside the project, links included",
            next_step="copy the file into the project's parts folder",
        )
    return real


def guard(path: Path) -> None:
    """Refuse a file that is missing, too large, cut off, or not what its name says."""
    kind = path.suffix.lower()
    if kind not in READABLE:
        raise ShapeError(
            "not a mesh file this program reads", where=path.name, got=kind or "no extension",
            allowed=", ".join(READABLE), next_step=EXPORT,
        )  # fmt: skip
    if not path.is_file():
        near = sorted(p.name for p in path.parent.glob("*") if p.suffix.lower() in READABLE)[:8]
        raise ShapeError("no such mesh file", where=path.name, allowed=", ".join(near))
    size = path.stat().st_size
    if size > MAX_BYTES:
        raise ShapeError(
            "mesh file is too large", where=path.name, got=f"{size / 2**20:.0f} MiB",
            allowed=f"up to {MAX_BYTES // 2**20} MiB", next_step=COARSER,
        )  # fmt: skip
    if size == 0:
        raise ShapeError("mesh file is empty", where=path.name, next_step=EXPORT)
    {".stl": _guard_stl, ".glb": _guard_glb, ".gltf": _guard_gltf, ".obj": _guard_obj}.get(kind, _guard_step)(
        path
    )


def refuse_many(path: Path, count: int) -> None:
    """ShapeError when a file announces more triangles than are allowed."""
    if count > MAX_TRIANGLES:
        raise ShapeError(
            "mesh has too many triangles", where=path.name, got=f"{count:,}",
            allowed=f"up to {MAX_TRIANGLES:,}", next_step=COARSER,
        )  # fmt: skip


def _wrong_content(path: Path, what: str) -> ShapeError:
    return ShapeError(
        f"content is not {what}", where=path.name, next_step=f"check the extension, or {EXPORT}"
    )


def _cut_off(path: Path, got: str) -> ShapeError:
    return ShapeError("file is cut off", where=path.name, got=got, next_step="copy or export it again")


def _guard_stl(path: Path) -> None:
    """Binary: 84 bytes of head with the triangle count, then 50 bytes each. Text: solid … endsolid."""
    size = path.stat().st_size
    with path.open("rb") as stream:
        head = stream.read(512)
        count = struct.unpack("<I", head[80:84])[0] if size >= 84 else -1
        if count >= 0 and size == 84 + 50 * count:
            return refuse_many(path, count)
        if head.lstrip()[:5].lower() == b"solid" and b"\0" not in head:
            stream.seek(max(0, size - 512))
            if b"endsolid" not in stream.read().lower():
                raise _cut_off(path, "a text STL without its endsolid line")
            return refuse_many(path, size // 300)  # at least 300 characters a triangle in practice
    if 0 < count <= MOST_BELIEVED and _normal_like(head[84:96]):
        refuse_many(path, count)
        if size < 84 + 50 * count:
            raise _cut_off(path, f"{size:,} bytes for {count:,} triangles, which need {84 + 50 * count:,}")
        return None
    raise _wrong_content(path, "STL")


def _normal_like(record: bytes) -> bool:
    """Whether the first triangle's normal of a binary STL is one: three numbers of size one at most."""
    return len(record) == 12 and all(abs(x) <= 1.001 for x in struct.unpack("<3f", record))


def _guard_glb(path: Path) -> None:
    with path.open("rb") as stream:
        head = stream.read(20)
        if len(head) < 20 or head[:4] != b"glTF":
            raise _wrong_content(path, "GLB")
        version, total, chunk, kind = struct.unpack("<III4s", head[4:])
        if version != 2:
            raise ShapeError("GLB version is not 2", where=path.name, got=str(version), next_step=EXPORT)
        if path.stat().st_size < total or chunk > total:
            raise _cut_off(path, f"{path.stat().st_size:,} of {total:,} bytes")
        _guard_tree(path, stream.read(chunk) if kind == b"JSON" else b"")


def _guard_gltf(path: Path) -> None:
    _guard_tree(path, path.read_bytes())


def _guard_tree(path: Path, text: bytes) -> None:
    """The JSON of a glTF asset: triangle count, compression, files it points at."""
    try:
        tree: Any = json.loads(text)
        if not isinstance(tree, dict) or "asset" not in tree:
            raise ValueError("no asset")
        meshes = [sum(_triangles(tree, p) for p in mesh["primitives"]) for mesh in tree.get("meshes", [])]
        uses = [meshes[node["mesh"]] for node in tree.get("nodes", []) if "mesh" in node]
        uris = [item["uri"] for kind in ("buffers", "images") for item in tree.get(kind, []) if "uri" in item]
    except (ValueError, LookupError, TypeError, AttributeError, OverflowError, RecursionError) as bad:
        raise _wrong_content(path, "glTF") from bad
    refuse_many(path, max(sum(uses), sum(meshes)))
    packed = [name for name in tree.get("extensionsRequired", []) if "compression" in str(name)]
    if packed:
        raise ShapeError(
            "mesh is compressed",
            where=path.name,
            got=", ".join(packed),
            next_step="export it without compression",
        )
    for uri in uris:
        if not str(uri).startswith("data:"):
            inside(str(uri), path.parent)


def _triangles(tree: Any, primitive: Any) -> int:
    accessor = primitive.get("indices", primitive["attributes"]["POSITION"])
    return int(tree["accessors"][accessor]["count"]) // 3


def _guard_obj(path: Path) -> None:
    count = 0
    with path.open("rb") as stream:
        for line in stream:
            if b"\0" in line:
                raise _wrong_content(path, "OBJ")
            if line.startswith(b"f "):
                count += max(1, len(line.split()) - 3)
                if count > MAX_TRIANGLES:
                    refuse_many(path, count)
    if count == 0:
        raise ShapeError(
            "no faces in the file", where=path.name, next_step=f"it may be cut off or not an OBJ: {EXPORT}"
        )


def _guard_step(path: Path) -> None:
    with path.open("rb") as stream:
        if b"ISO-10303-21" not in stream.read(256):
            raise _wrong_content(path, "STEP (ISO 10303-21)")
        stream.seek(max(0, path.stat().st_size - 256))
        if b"END-ISO-10303-21" not in stream.read():
            raise _cut_off(path, "no END-ISO-10303-21 at the end")


# --- which way triangles look ---------------------------------------------------------------------------------
def directed_edges(faces: Ints) -> tuple[Ints, Ints]:
    """Edges (3n, 2) of triangles (n, 3) in their own sense, and the triangle of each."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    return edges, np.tile(np.arange(len(faces)), 3)


def shared_edges(faces: Ints) -> tuple[Ints, Ints, Ints]:
    """Pairs (m, 2) of triangles that share an edge with exactly one other, the edge's end vertices (m, 2),
    and how many triangles meet at each edge of the mesh."""
    edges, owner = directed_edges(faces)
    ends = np.sort(edges, axis=1)
    _, inverse, counts = np.unique(ends, axis=0, return_inverse=True, return_counts=True)
    order = np.argsort(inverse, kind="stable")
    start = np.cumsum(counts) - counts
    first = start[counts == 2]
    pairs = np.stack([owner[order[first]], owner[order[first + 1]]], axis=1)
    return pairs, ends[order[first]], counts


def _same_sense(faces: Ints) -> tuple[Ints, Ints]:
    """Neighbouring pairs, and 1 where both run along their edge in the same sense (one is turned)."""
    edges, _ = directed_edges(faces)
    pairs, ends, _ = shared_edges(faces)
    n, span = len(faces), int(faces.max()) + 1
    forward = edges[:, 0] * span + edges[:, 1]

    def runs_forward(triangle: Ints) -> Ints:
        wanted = ends[:, 0] * span + ends[:, 1]
        own = np.stack([forward[triangle + k * n] for k in range(3)])
        return (own == wanted).any(axis=0).astype(np.int64)

    return pairs, (runs_forward(pairs[:, 0]) == runs_forward(pairs[:, 1])).astype(np.int64)


def _turned_parity(count: int, pairs: Ints, turned: Ints, skin: Ints, skins: int) -> Ints:
    """For every triangle, whether it must be turned to agree with the first triangle of its skin."""
    both = np.concatenate([pairs, pairs[:, ::-1]])
    graph = coo_array(
        (np.concatenate([turned, turned]) + 1, (both[:, 0], both[:, 1])), (count, count)
    ).tocsr()
    parity = np.zeros(count, dtype=np.int64)
    for first in np.unique(skin, return_index=True)[1][:skins]:
        order, before = breadth_first_order(graph, int(first), directed=False)
        if len(order) < 2:
            continue
        steps = np.asarray(graph[order[1:], before[order[1:]]]).ravel() - 1
        for triangle, step in zip(order[1:], steps, strict=True):
            parity[triangle] = parity[before[triangle]] ^ int(step)
    return parity


def outward(part: Body) -> tuple[Body, list[ShapeFinding]]:
    """The part with every closed skin looking outward, and findings saying what was turned."""
    faces = np.array(part.faces)
    count = len(faces)
    pairs, turned = _same_sense(faces)
    link = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), (count, count))
    skins, skin = connected_components(link, directed=False)
    findings = []
    if turned.any():
        flip = _turned_parity(count, pairs, turned, skin, skins).astype(bool)
        faces[flip] = faces[flip, ::-1]
        got = f"{int(min(flip.sum(), (~flip).sum()))} of {count} triangles"
        findings.append(
            ShapeFinding("note", part.name, "neighbouring triangles looked opposite ways; made to agree", got)
        )
    inverted = _inside_out(part, faces, skin, skins)
    if inverted.any():
        whole = inverted[skin]
        faces[whole] = faces[whole, ::-1]
        findings.append(ShapeFinding("note", part.name, "the mesh was inside out; turned outward",
                                f"{int(inverted.sum())} of {skins} bodies"))  # fmt: skip
    return (replace(part, faces=faces) if findings else part), findings


def _inside_out(part: Body, faces: Ints, skin: Ints, skins: int) -> np.ndarray:
    """Which skins enclose a negative volume, about their own middle so that small gaps matter little."""
    corners = part.vertices[faces]
    size = np.bincount(skin, minlength=skins)
    middle = np.stack(
        [np.bincount(skin, corners[:, :, k].mean(axis=1), skins) / size for k in range(3)], axis=1
    )
    a, b, c = (corners[:, k] - middle[skin] for k in range(3))
    volume = np.bincount(skin, np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0, skins)
    reach = np.ptp(corners.reshape(-1, 3), axis=0).max()
    return np.asarray(volume < -1e-9 * reach**3)


def edge_findings(part: Body) -> list[ShapeFinding]:
    """Open and non-manifold edges of a solid part; a thin sheet is open by nature."""
    if (part.twin >= 0).any():
        return []
    counts = shared_edges(part.faces)[2]
    findings = []
    if opened := int((counts == 1).sum()):
        findings.append(
            ShapeFinding("warning", part.name, "the mesh is open", f"{opened} edges with one triangle",
                    "close it, or declare the part a thin sheet; rays that get inside exchange nothing")
        )  # fmt: skip
    if tangled := int((counts > 2).sum()):
        findings.append(
            ShapeFinding("warning", part.name, "the mesh is not manifold",
                    f"{tangled} edges with 3 or more triangles",
                    "remove inner faces and double walls before exporting")
        )  # fmt: skip
    return findings


# --- reading --------------------------------------------------------------------------------------------------
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
) -> tuple[Body, list[ShapeFinding]]:
    """Body `name` from the mesh file `path` below `folder`, in bay axes and metres, with what was found.

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
) -> tuple[Body, list[ShapeFinding]]:
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
    part, turned = outward(Body(name, vertices, mesh.faces[sized]))
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


def part_from_mesh(name: str, mesh: Any) -> tuple[Body, list[ShapeFinding]]:
    """Body from a mesh already in memory (m, bay axes), turned outward, with what was found."""
    part, turned = outward(solid_part(name, mesh))
    return part, turned + edge_findings(part)
