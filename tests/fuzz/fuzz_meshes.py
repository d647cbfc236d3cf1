"""Meshes: STL of both kinds, GLB, glTF, OBJ, STEP."""

import base64
import json
import random
import struct
import sys
from pathlib import Path

import fuzz_mutators as M
import numpy as np
import trimesh
from fuzz_readers import Reader, Told

sys.path.append(str(Path(__file__).parents[1] / "shapes"))
import step_box

from heatproof.shapes.errors import ShapeError, has_step_reader
from heatproof.shapes.meshes import read_part

BOX = trimesh.creation.box((0.3, 0.2, 0.1))
BALL = trimesh.creation.icosphere(subdivisions=1, radius=0.1)


class Mesh(Reader):
    """One mesh file, read as a part."""

    ending = ".stl"

    def start(self) -> None:
        self.seeds = tuple(one.export(file_type=kind) for one in (BOX, BALL) for kind in ("stl", "stl_ascii"))
        self.seeds = tuple(s.encode() if isinstance(s, str) else s for s in self.seeds)

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        return M.text(data, dice) if data.startswith(b"solid") else M.binary(data, dice)

    def put(self, dice: random.Random) -> None:
        self.path = self.inputs / f"part{self.ending}"
        self.path.write_bytes(self.damaged(dice.choice(self.seeds), dice))

    def read(self) -> None:
        try:
            part, _ = read_part("part", self.path, folder=self.inputs, unit="mm")
        except ShapeError as error:
            raise Told(
                str(error), good=bool(error.what and error.where and (error.next_step or error.allowed))
            ) from None
        assert len(part.triangles) > 0
        assert np.isfinite(part.vertices).all()


class Glb(Mesh):
    """Both chunks damaged: the tree, or the bytes."""

    ending = ".glb"

    def start(self) -> None:
        scene = trimesh.Scene([BOX, BALL])
        scene.add_geometry(
            BOX, transform=trimesh.transformations.translation_matrix((1, 0, 0)), parent_node_name="world"
        )
        self.seeds = (BOX.export(file_type="glb"), scene.export(file_type="glb"))

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        if dice.random() < 0.5:
            return M.binary(data, dice)
        length = struct.unpack("<I", data[12:16])[0]
        head, rest = M.json_bytes(data[20 : 20 + length], dice), data[20 + length :]
        head += b" " * (-len(head) % 4)
        return b"glTF" + struct.pack("<III", 2, 20 + len(head) + len(rest), len(head)) + b"JSON" + head + rest


class Gltf(Glb):
    """The tree alone, bytes inside it."""

    ending = ".gltf"

    def start(self) -> None:
        super().start()
        self.seeds = tuple(inlined(data) for data in self.seeds)

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        return M.json_bytes(data, dice)


def inlined(glb: bytes) -> bytes:
    """A GLB file as glTF with its bytes in a data address."""
    length = struct.unpack("<I", glb[12:16])[0]
    tree = json.loads(glb[20 : 20 + length])
    code = base64.b64encode(glb[28 + length :]).decode()
    tree["buffers"][0]["uri"] = f"data:application/octet-stream;base64,{code}"
    return json.dumps(tree).encode()


class Obj(Mesh):
    ending = ".obj"
    EXTRA = b"mtllib x.mtl\nusemtl a\no box\ng one two\ns off\nvt 0 0\nvn 0 0 1\nl 1 2\ncurv 0 1 1 2\n"

    def start(self) -> None:
        self.seeds = tuple(self.EXTRA + one.export(file_type="obj").encode() for one in (BOX, BALL))

    def damaged(self, data: bytes, dice: random.Random) -> bytes:
        return M.text(data, dice)


class Step(Obj):
    ending = ".step"

    def start(self) -> None:
        self.seeds = (step_box.step_box((300, 200, 100)).encode(),)


READERS = {"stl": Mesh, "glb": Glb, "gltf": Gltf, "obj": Obj} | ({"step": Step} if has_step_reader() else {})
