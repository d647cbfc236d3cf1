"""What damaged meshes have found, at its smallest (see `test_found`)."""

import json
import struct
import subprocess
import sys
import warnings
from pathlib import Path

import pytest

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.meshes import STEP_TO_GLB, read_part


def part(folder: Path, name: str, data: bytes) -> str:
    (folder / name).write_bytes(data)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            read_part("part", name, folder=folder, unit="mm")
        except ShapeError as error:
            return str(error)
    return "read"


def gltf(**more: object) -> bytes:
    tree = {
        "asset": {"version": "2.0"},
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "scene": 0,
        **more,
    }
    return json.dumps(tree).encode()


@pytest.mark.parametrize(
    "more",
    [
        {"meshes": [{"primitives": ["x"]}]},
        {"meshes": ["x"]},
        {"meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}], "accessors": [{"count": 1e999}]},
        {"meshes": {"a": 1}},
    ],
)
def test_gltf_trees_of_another_shape(tmp_path, more):
    assert "content is not glTF" in part(tmp_path, "p.gltf", gltf(**more))


def test_gltf_triangles_of_vertices_that_are_not_there(tmp_path):
    trimesh = pytest.importorskip("trimesh")
    data = bytearray(trimesh.creation.box().export(file_type="glb"))
    length = struct.unpack("<I", data[12:16])[0]
    view = json.loads(data[20 : 20 + length])
    access = view["accessors"][view["meshes"][0]["primitives"][0]["indices"]]
    start = 28 + length + view["bufferViews"][access["bufferView"]].get("byteOffset", 0)
    data[start : start + 2] = b"\xff\xff"
    assert "not there" in part(tmp_path, "p.glb", bytes(data))


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("v 0 0 1e160\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "coordinates are too large"),
        ("v 0 0 9e18\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "coordinates are too large"),
        ("v 0 0\nv 1 0\nv 0 1\nf 1 2 3\n", "no three coordinates|cannot be read"),
        ("v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "not finite"),
    ],
)
def test_vertices_where_no_part_can_be(tmp_path, rows, says):
    found = part(tmp_path, "p.obj", rows.encode())
    assert any(one in found for one in says.split("|")), found


def test_a_triangle_by_itself_among_turned_ones(tmp_path):
    """Two that look opposite ways, and one without a neighbour."""
    rows = "v 0 0 0\nv 9 0 0\nv 0 9 0\nv 9 9 0\nv 50 0 0\nv 59 0 0\nv 50 9 0\nf 1 2 3\nf 2 3 4\nf 5 6 7\n"
    assert part(tmp_path, "p.obj", rows.encode()) == "read"


@pytest.mark.parametrize("name", ["a\0b.stl", "x" * 5000 + ".stl"])
def test_names_that_no_file_can_have(tmp_path, name):
    with pytest.raises(ShapeError, match="no such mesh file"):
        read_part("part", name, folder=tmp_path, unit="mm")


@pytest.mark.slow
def test_a_step_file_that_ends_its_reader_ends_nothing_else(tmp_path):
    """A box whose first edge names a vertex and a line that are not there: the compiled reader ends with a memory
    fault, which a program of its own keeps to itself."""
    pytest.importorskip("cascadio")
    sys.path.append(str(Path(__file__).parents[1] / "shapes"))
    from step_box import step_box

    gone = {4, *range(16, 38), 44, 45, *range(49, 148), *range(151, 160)}
    rows = step_box((300, 200, 100)).split("\n")
    text = "\n".join(row for row in rows if not (row[:1] == "#" and int(row[1 : row.index(" ")]) in gone))
    (tmp_path / "p.step").write_text(text)
    command = [sys.executable, "-c", STEP_TO_GLB, str(tmp_path / "p.step"), str(tmp_path / "out.glb"), "8"]
    ended = subprocess.run(command, capture_output=True).returncode
    assert "no shape" in part(tmp_path, "p.step", text.encode())
    assert ended != 0, "the reader has been mended: find it another file"
