"""Mesh files: good ones read the same, bad ones refused in plain words, doubtful ones reported."""

import json
import struct
import tempfile
from pathlib import Path

import numpy as np
import pytest
import trimesh
from step_box import step_box

from heatproof.shapes import errors, meshes
from heatproof.shapes.clearance import overlap_findings, place_findings
from heatproof.shapes.errors import ShapeError
from heatproof.shapes.meshes import part_from_mesh, read_part
from heatproof.shapes.placement import place
from heatproof.shapes.primitives import box, sphere
from heatproof.shapes.scene import Scene, solid_part

BALL = trimesh.creation.icosphere(subdivisions=2, radius=50.0)  # millimetres


def read(folder: Path, name: str, unit: str = "mm"):
    return read_part("ball", name, folder=folder, unit=unit)


@pytest.mark.parametrize("name", ["ball.stl", "ball.glb", "ball.obj", "text.stl", "ball.gltf"])
def test_good_files_give_the_same_part(name: str, tmp_path: Path) -> None:
    if name == "text.stl":
        (tmp_path / name).write_text(BALL.export(file_type="stl_ascii"))
    elif name == "ball.gltf":
        for file, content in BALL.export(file_type="gltf").items():
            (tmp_path / file.replace("model", "ball")).write_bytes(content)
    else:
        BALL.export(tmp_path / name)
    part, findings = read(tmp_path, name)
    assert findings == []
    assert len(part.faces) == len(BALL.faces)
    assert part.areas.sum() == pytest.approx(BALL.area * 1e-6, rel=1e-5)
    assert (np.einsum("ij,ij->i", part.normals, part.centres) > 0).all()


def test_placement_and_unit(tmp_path: Path) -> None:
    BALL.export(tmp_path / "ball.stl")
    part, _ = read_part("ball", "ball.stl", folder=tmp_path, unit="cm", placement=place((1, 2, 3)))
    assert part.centre == pytest.approx((1, 2, 3), abs=1e-6)
    assert np.ptp(part.bounds, axis=0) == pytest.approx([1.0] * 3, rel=0.02)


def stl_with(triangles: np.ndarray) -> bytes:
    record = np.zeros(len(triangles), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
    record["v"] = triangles
    return b"\0" * 80 + struct.pack("<I", len(triangles)) + record.tobytes()


def bad_file(kind: str, folder: Path) -> str:
    stl = BALL.export(file_type="stl")
    glb = BALL.export(file_type="glb")
    broken = np.array(BALL.triangles)
    broken[3, 1, 1] = np.nan
    many = {"asset": {"version": "2.0"}, "accessors": [{"count": 30_000_000}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}]}  # fmt: skip
    packed = {"asset": {"version": "2.0"}, "extensionsRequired": ["KHR_draco_mesh_compression"]}
    away = {"asset": {"version": "2.0"}, "buffers": [{"uri": "../../secret.bin"}]}
    content = {
        "nan.stl": stl_with(broken),
        "flat.stl": stl_with(np.zeros((4, 3, 3))),
        "cut.stl": stl[: len(stl) // 2],
        "cut_text.stl": BALL.export(file_type="stl_ascii").encode()[:5000],
        "cut.glb": glb[: len(glb) // 2],
        "cut.obj": BALL.export(file_type="obj").encode()[:2000],
        "huge.stl": b"\0" * 80 + struct.pack("<I", 10_000_000) + b"\0" * 500,
        "huge.gltf": json.dumps(many).encode(),
        "packed.gltf": json.dumps(packed).encode(),
        "away.gltf": json.dumps(away).encode(),
        "stl_named.glb": stl,
        "glb_named.stl": glb,
        "text.stl": b"not a mesh at all, only words that go on for a while " * 4,
        "text.gltf": b"{]",
        "empty.stl": b"",
        "index.obj": b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n",
        "zero.obj": b"v 0 0 0\nv 1 1 1\nv 2 2 2\nf 1 2 3\n",
        "part.ply": b"ply\n",
        "part.step": b"ISO-10303-21;\nDATA;\nEND-ISO-10303-21;\n",
        "cut.step": b"ISO-10303-21;\nDATA;\n",
        "words.step": b"words",
    }
    if kind in content:
        (folder / kind).write_bytes(content[kind])
    return kind


BAD = {
    "nan.stl": "coordinates are not finite; got: 1 vertices",
    "flat.stl": "every triangle has zero area",
    "cut.stl": r"cut off; got: 8,042 bytes for 320 triangles, which need 16,084",
    "cut_text.stl": "cut off.*without its endsolid",
    "cut.glb": r"cut off; got: [\d,]+ of [\d,]+ bytes",
    "cut.obj": "no faces in the file.*cut off",
    "huge.stl": "too many triangles; got: 10,000,000; allowed: up to 2,000,000",
    "huge.gltf": "too many triangles; got: 10,000,000",
    "packed.gltf": "compressed; got: KHR_draco",
    "away.gltf": "outside the project folder",
    "stl_named.glb": "content is not GLB",
    "glb_named.stl": "content is not STL",
    "text.stl": "content is not STL",
    "text.gltf": "content is not glTF",
    "empty.stl": "mesh file is empty",
    "index.obj": "mesh cannot be read",
    "zero.obj": "every triangle has zero area",
    "part.ply": r"not a mesh file this program reads; got: \.ply; allowed: \.stl",
    "cut.step": "cut off.*END-ISO-10303-21",
    "words.step": "content is not STEP",
    "none.stl": "no such mesh file; allowed: .*there.stl",
    "../outside.stl": "outside the project folder",
    "/etc/hostname": "outside the project folder",
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_files_are_refused(kind: str, tmp_path: Path) -> None:
    (tmp_path / "there.stl").write_bytes(BALL.export(file_type="stl"))
    name = bad_file(kind, tmp_path)
    with pytest.raises(ShapeError, match=BAD[kind]) as refused:
        read(tmp_path, name)
    assert refused.value.where.endswith(Path(name).name) or "secret" in refused.value.where
    assert refused.value.next_step or refused.value.allowed


def test_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    inside, outside = tmp_path / "project", tmp_path / "elsewhere.stl"
    inside.mkdir()
    outside.write_bytes(BALL.export(file_type="stl"))
    (inside / "link.stl").symlink_to(outside)
    with pytest.raises(ShapeError, match="outside the project folder"):
        read(inside, "link.stl")


def test_large_file_is_refused_by_size(tmp_path: Path) -> None:
    with (tmp_path / "large.obj").open("wb") as stream:
        stream.truncate(300 * 2**20)  # sparse: takes no room
    with pytest.raises(ShapeError, match="too large; got: 300 MiB; allowed: up to 256 MiB"):
        read(tmp_path, "large.obj")


def test_unit_is_never_guessed(tmp_path: Path) -> None:
    with pytest.raises(ShapeError, match="no such length unit; got: furlong; allowed: m, cm, mm, in"):
        read(tmp_path, "ball.stl", unit="furlong")


@pytest.mark.parametrize(("size", "prefix"), [((120.0, 80.0, 50.0), "MILLI"), ((0.12, 0.08, 0.05), "")])
def test_step_brings_its_own_unit(tmp_path: Path, size: tuple[float, ...], prefix: str) -> None:
    """A box of 120 × 80 × 50 mm whether the file counts in mm or m, and whatever unit is named beside it."""
    pytest.importorskip("cascadio")
    (tmp_path / "box.step").write_text(step_box(size, prefix))
    for unit in ("m", "mm"):
        part, findings = read(tmp_path, "box.step", unit=unit)
        assert np.ptp(part.vertices, axis=0) == pytest.approx([0.12, 0.08, 0.05], rel=1e-6)
        assert part.areas.sum() == pytest.approx(2.0 * (0.12 * 0.08 + 0.08 * 0.05 + 0.05 * 0.12), rel=1e-6)
        assert np.einsum("ij,ij->", part.normals, part.centres * part.areas[:, None]) / 3.0 == pytest.approx(
            0.12 * 0.08 * 0.05, rel=1e-6
        )  # divergence theorem: faces look outward and close
        assert not [one for one in findings if one.level != "note"]


def test_step_is_read_without_a_file_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that a program killed meanwhile leaves nothing in the temporary folder."""
    pytest.importorskip("cascadio")
    (tmp_path / "box.step").write_text(step_box((120.0, 80.0, 50.0), "MILLI"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "nowhere"))
    monkeypatch.setenv("TMPDIR", str(tmp_path / "nowhere"))
    assert read(tmp_path, "box.step")[0].areas.sum() > 0.0


def test_step_without_a_shape_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("cascadio")
    with pytest.raises(ShapeError, match=r"no shape|cannot be read|no triangles"):
        read(tmp_path, bad_file("part.step", tmp_path))


def test_step_without_its_reader_says_how_to_export(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meshes, "has_step_reader", lambda: False)
    with pytest.raises(
        ShapeError, match=r"pip install 'heatproof\[step\]', or export the part again as binary STL or GLB"
    ):
        read(tmp_path, bad_file("part.step", tmp_path))


def test_missing_library_names_the_install_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str):
        raise ModuleNotFoundError(f"No module named {name!r}")

    monkeypatch.setattr(errors, "import_module", missing)
    with pytest.raises(ShapeError, match=r"needs the library trimesh.*pip install 'heatproof\[bay\]'"):
        sphere(0.1)


def test_inside_out_is_turned_and_said() -> None:
    mesh = BALL.copy()
    mesh.invert()
    part, findings = part_from_mesh("ball", mesh)
    assert (np.einsum("ij,ij->i", part.normals, part.centres) > 0).all()
    assert [(f.level, f.part) for f in findings] == [("note", "ball")]
    assert "inside out; turned outward" in findings[0].what


def test_mixed_winding_is_made_to_agree() -> None:
    rng = np.random.default_rng(3)
    two = trimesh.util.concatenate([BALL, BALL.copy().apply_translation((200, 0, 0))])
    faces = np.array(two.faces)
    turned = rng.random(len(faces)) < 0.4
    faces[turned] = faces[turned, ::-1]
    part, findings = part_from_mesh("balls", trimesh.Trimesh(two.vertices, faces, process=False))
    assert trimesh.Trimesh(part.vertices, part.faces, process=False).volume == pytest.approx(2 * BALL.volume)
    assert any("opposite ways" in f.what for f in findings)


def test_open_and_non_manifold_are_reported() -> None:
    _, opened = part_from_mesh("ball", trimesh.Trimesh(BALL.vertices, BALL.faces[1:], process=False))
    assert [(f.level, f.what, f.got) for f in opened] == [
        ("warning", "the mesh is open", "3 edges with one triangle")
    ]
    fin = trimesh.Trimesh(
        np.vstack([BALL.vertices, [[99, 0, 0]]]), np.vstack([BALL.faces, [[*BALL.edges[0], 162]]])
    )
    _, tangled = part_from_mesh("ball", fin)
    assert any(f.what == "the mesh is not manifold" and f.got.startswith("1 edges") for f in tangled)


def test_place_and_scale_against_the_bay() -> None:
    bay = {"lower": (0, 0, 0), "upper": (1.0, 1.4, 0.8)}

    def what(radius: float, at) -> list[tuple[str, str]]:
        part = solid_part("ball", sphere(radius, edge=radius / 2, placement=place(at)))
        return [(f.level, f.what) for f in place_findings(part, **bay)]

    assert what(0.05, (0.5, 0.5, 0.5)) == []
    assert what(0.05, (2.0, 0.5, 0.5)) == [("error", "the part is outside the bay")]
    assert what(0.05, (1.0, 0.5, 0.5)) == [("warning", "the part reaches outside the bay")]
    assert what(50.0, (0.5, 0.5, 0.5)) == [("error", "the part is far larger than the bay: wrong unit?")]
    assert what(5e-5, (0.5, 0.5, 0.5)) == [("error", "the part is far smaller than the bay: wrong unit?")]


def test_overlaps_are_found_and_touching_is_not() -> None:
    def pair(gap: float):
        one = solid_part("one", box((0.1, 0.1, 0.1)))
        two = solid_part("two", box((0.1, 0.05, 0.05), placement=place((0.1 + gap, 0, 0))))
        return [(f.part, f.what) for f in overlap_findings(Scene((one, two)))]

    assert pair(0.01) == []
    assert pair(0.0) == []
    assert pair(-0.0005) == []
    assert pair(-0.005) == [("one", "the part overlaps with two")]
    assert pair(-0.1) == [("one", "the part overlaps with two")]
