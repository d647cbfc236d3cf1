"""Looks at a mesh file before it is read whole: place, size, kind, triangle count, truncation."""

import json
import struct
from pathlib import Path
from typing import Any

from heatproof.shapes.errors import ShapeError

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
