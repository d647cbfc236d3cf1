"""The GLB reads back in an independent reader; the picture shows what is in front, in the ramp's colours."""

import io
import json
import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh
from PIL import Image
from shape_scenes import small_bay, square

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.pictures import (
    View,
    colours,
    glb_bytes,
    png_bytes,
    ramp_data,
    render,
    write_glb,
    write_png,
)
from heatproof.shapes.placement import place
from heatproof.shapes.primitives import sphere
from heatproof.shapes.scene import Scene, solid_part

LOW, HIGH = 313.15, 433.15


def temperatures(scene: Scene) -> np.ndarray:
    return np.linspace(300.0, 700.0, len(scene.patch_names))


def test_glb_reads_back(tmp_path: Path) -> None:
    scene = small_bay()
    T = temperatures(scene)
    write_glb(tmp_path / "bay.glb", scene, T, low=LOW, high=HIGH)
    back = trimesh.load_scene(tmp_path / "bay.glb")
    assert set(back.graph.nodes_geometry) == {part.name for part in scene.parts}
    for k, part in enumerate(scene.parts):
        mesh = back.geometry[part.name]
        matrix = back.graph[part.name][0]
        moved = trimesh.transform_points(mesh.vertices, matrix)
        x, y, z = part.bounds.T  # glTF: y up, so bay (x, y, z) stands at (x, z, −y)
        assert moved.min(axis=0) == pytest.approx((x[0], z[0], -y[1]), abs=1e-6)
        assert moved.max(axis=0) == pytest.approx((x[1], z[1], -y[0]), abs=1e-6)
        own = T[scene.first_patch[k] : scene.first_patch[k + 1]]
        values = mesh.vertex_attributes["_TEMPERATURE"].ravel()
        assert sorted(set(values.tolist())) == pytest.approx(
            sorted(own.tolist()), rel=1e-6
        )  # parted at borders
        assert len(mesh.faces) == len(part.faces)


def test_glb_has_a_float_attribute_and_linear_colours() -> None:
    """Raw file against the glTF 2.0 specification: accessor 5126 scalar, COLOR_0 linear."""
    content = glb_bytes(small_bay(), np.full(13, HIGH), low=LOW, high=HIGH)
    length = struct.unpack("<I", content[12:16])[0]
    tree = json.loads(content[20 : 20 + length])
    attributes = tree["meshes"][0]["primitives"][0]["attributes"]
    accessor = tree["accessors"][attributes["_TEMPERATURE"]]
    assert (accessor["componentType"], accessor["type"]) == (5126, "SCALAR")
    assert "COLOR_0" in attributes
    mesh = next(iter(trimesh.load_scene(io.BytesIO(content), file_type="glb").geometry.values()))
    red = 0x55 / 255  # the ramp's hot end, #551A15; sRGB → linear by IEC 61966-2-1
    assert mesh.visual.vertex_colors[0, 0] == pytest.approx(255 * ((red + 0.055) / 1.055) ** 2.4, abs=1)


def test_picture_shows_the_nearer_surface() -> None:
    """A cold sheet before a hot ball hides it; seen from the other side the ball hides the sheet."""
    sheet = square("sheet", 0.3, at=(-0.2, 0, 0), looks=(-1, 0, 0))
    ball = solid_part("ball", sphere(0.05, edge=0.01))
    scene = Scene((sheet, ball))
    options = {"low": LOW, "high": HIGH, "size": (200, 200)}
    front = render(scene, [LOW, HIGH], view=View(0, 0), **options)
    back = render(scene, [LOW, HIGH], view=View(180, 0), **options)
    assert front[100, 100].min() > 150  # pale
    assert back[100, 100].max() < 110  # dark: hot
    assert (back[5, 5] == [0xEA, 0xE8, 0xE1]).all()  # the sheet's reverse is not drawn


def test_right_of_the_car_is_left_in_a_front_view() -> None:
    balls = [
        solid_part(n, sphere(0.05, placement=place((0, y, 0)))) for n, y in (("left", -0.3), ("right", 0.3))
    ]
    picture = render(Scene(tuple(balls)), [LOW, HIGH], low=LOW, high=HIGH, size=(300, 100), view=View(0, 0))
    dark = np.flatnonzero(picture[50, :, 0] < 110)
    assert dark.mean() < 150
    above = [
        solid_part(n, sphere(0.05, placement=place((0, 0, z)))) for n, z in (("low", -0.3), ("high", 0.3))
    ]
    picture = render(Scene(tuple(above)), [LOW, HIGH], low=LOW, high=HIGH, size=(100, 300), view=View(0, 0))
    assert np.flatnonzero(picture[:, 50, 0] < 110).mean() < 150


def test_png_opens_elsewhere(tmp_path: Path) -> None:
    scene = small_bay()
    picture = render(scene, temperatures(scene), low=LOW, high=HIGH, size=(320, 200), hide=["block"])
    write_png(tmp_path / "bay.png", picture)
    with Image.open(tmp_path / "bay.png") as opened:
        assert np.array_equal(np.asarray(opened.convert("RGB")), picture)
    assert png_bytes(picture).startswith(b"\x89PNG")
    assert len(np.unique(picture.reshape(-1, 3), axis=0)) > 50


def test_ramp_meets_its_stops_and_darkens() -> None:
    data = ramp_data()
    for name, sign in (("light", -1), ("dark", 1)):
        shown = colours(data["stops"], data[name], stops=data["stops"])
        wanted = [[int(h[k : k + 2], 16) / 255 for k in (1, 3, 5)] for h in data[name]]
        assert shown == pytest.approx(np.array(wanted), abs=1e-3)
        fine = colours(np.linspace(0, 1, 60), data[name])
        luminance = np.where(fine <= 0.04045, fine / 12.92, ((fine + 0.055) / 1.055) ** 2.4) @ (
            0.2126,
            0.7152,
            0.0722,
        )
        assert (sign * np.diff(luminance) > 0).all()  # WCAG relative luminance is monotone


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"temperatures": [300.0]}, "one temperature per patch or per triangle"),
        ({"low": 400.0, "high": 300.0}, "upper end must be above"),
        ({"size": (1, 100000)}, "picture size out of range"),
        ({"hide": ["walls", "turbine", "block", "shield", "hose"]}, "every part is hidden"),
        ({"ramp": ["#12"]}, "two or more colours"),
        ({"ramp": ["#12GG45", "#000000"]}, "not a hex colour"),
    ],
)
def test_wrong_picture_input_is_refused(options, says: str) -> None:
    scene = small_bay()
    given = {"temperatures": temperatures(scene), "low": LOW, "high": HIGH, "size": (64, 64), **options}
    with pytest.raises(ShapeError, match=says):
        render(scene, given.pop("temperatures"), **given)
