"""Primitives: areas and volumes from elementary geometry, closed skins, outward normals, placement."""

import numpy as np
import pytest
import trimesh

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.patches import bay_walls, split_along, split_by_planes, split_by_side, split_facing
from heatproof.shapes.placement import place, place_along
from heatproof.shapes.primitives import Triangles, box, cone, cylinder, plate, smoothed_path, sphere, tube
from heatproof.shapes.scene import Scene, solid_part, thin_part

PI = np.pi


def measured(skin: Triangles) -> trimesh.Trimesh:
    """For areas, volumes and edges by a general library."""
    return trimesh.Trimesh(*skin, process=False)


SLANT = np.hypot(0.05, 0.2)
SOLIDS = {
    # name: (mesh, area, volume); round shapes with many sides
    "box": (box((0.2, 0.1, 0.3)), 2 * (0.02 + 0.06 + 0.03), 0.006),
    "plate": (plate((0.2, 0.1), thickness=0.002), 2 * (0.02 + 0.0004 + 0.0002), 4e-5),
    "cylinder": (cylinder(0.05, 0.2, edge=0.005), 2 * PI * 0.05 * 0.25, PI * 0.0025 * 0.2),
    "cone": (cone(0.05, 0.0, 0.2, edge=0.005), PI * 0.05 * (0.05 + SLANT), PI * 0.0025 * 0.2 / 3),
    "frustum": (cone(0.05, 0.03, 0.2, edge=0.005), PI * (0.0034 + 0.016 * 1.01**0.5), PI * 0.2 / 3 * 0.0049),
    "sphere": (sphere(0.1, edge=0.01), 4 * PI * 0.01, 4 / 3 * PI * 0.001),
}  # fmt: skip


@pytest.mark.parametrize("name", SOLIDS)
def test_area_and_volume(name: str) -> None:
    skin, area, volume = SOLIDS[name]
    mesh = measured(skin)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.area == pytest.approx(area, rel=2e-3)
    assert mesh.volume == pytest.approx(volume, rel=5e-3)  # positive: normals look outward


def test_coarse_round_shapes_keep_their_area() -> None:
    """Perimeter (cylinder side) and area (sphere) are those of the true shape however few the sides."""
    assert measured(cylinder(0.05, 0.2, edge=0.1, capped=False)).area == pytest.approx(
        2 * PI * 0.05 * 0.2, rel=1e-9
    )
    assert measured(sphere(0.1, edge=0.1)).area == pytest.approx(4 * PI * 0.01, rel=1e-9)


def test_tube_follows_pappus() -> None:
    """A bent tube: side area 2πr × centre line, volume πr² × centre line (Pappus's theorems)."""
    r, bend = 0.01, 0.05
    corner = [(0, 0, 0), (0.3, 0, 0), (0.3, 0.4, 0)]
    length = 0.3 + 0.4 - 2 * bend + PI / 2 * bend
    mesh = measured(tube(corner, radius=r, bend_radius=bend, edge=0.002))
    assert mesh.is_watertight
    assert mesh.area == pytest.approx(2 * PI * r * length + 2 * PI * r * r, rel=5e-3)
    assert mesh.volume == pytest.approx(PI * r * r * length, rel=1e-2)
    line, way = smoothed_path(corner, radius=r, bend_radius=bend, edge=0.002)
    assert np.linalg.norm(np.diff(line, axis=0), axis=1).sum() == pytest.approx(length, rel=1e-3)
    assert way[0] == pytest.approx((1, 0, 0))
    assert way[-1] == pytest.approx((0, 1, 0))


def test_edges_are_about_as_long_as_asked() -> None:
    straight = tube([(0, 0, 0), (0.3, 0, 0)], radius=0.02, edge=0.01)
    for mesh in (box((0.2, 0.1, 0.3), edge=0.01), cylinder(0.05, 0.2, edge=0.01), straight):
        assert measured(mesh).edges_unique_length.max() < 0.01 * np.sqrt(2) * 1.02


def test_axes_are_right_handed_and_turns_follow_the_right_hand() -> None:
    x, y, z = np.eye(3)
    assert np.cross(x, y) == pytest.approx(z)  # rearwards × right = up
    assert place(turn_deg=(0, 0, 90)).apply(x) == pytest.approx(y)
    assert place(turn_deg=(90, 0, 0)).apply(y) == pytest.approx(z)
    assert place((1, 2, 3), turn_deg=(90, 0, 90)).apply((0, 1, 0)) == pytest.approx((1, 2, 4))
    for way in ((1, 0, 0), (0, 0, -1), (0, 0, 1), (1, -2, 3)):
        placed = place_along(way, position=(1, 1, 1), roll_deg=30)
        assert placed.apply((0, 0, 1)) - 1.0 == pytest.approx(np.array(way) / np.linalg.norm(way))
        assert np.linalg.det(np.array(placed.rotation)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: box((0.1, 0.0, 0.1)), "width must be above zero; got: 0 m"),
        (lambda: cylinder(-1, 1), "radius must be above zero"),
        (lambda: cone(0.0, 0.0, 1), "larger radius must be above zero"),
        (lambda: cone(0.1, -0.1, 1), "a radius is negative"),
        (lambda: plate((1, 1), thickness=-1), "thickness is negative"),
        (lambda: sphere(float("nan")), "radius must be above zero"),
        (lambda: tube([(0, 0, 0)], radius=0.01), "two or more points"),
        (lambda: tube([(0, 0, 0), (0, 0, 0)], radius=0.01), "points 1 and 2"),
        (lambda: tube([(0, 0, 0), (1, 0, 0), (0, 0, 0)], radius=0.01), "turns back on itself"),
        (
            lambda: tube([(0, 0, 0), (0.1, 0, 0), (0.1, 1, 0)], radius=0.01, bend_radius=0.2),
            "10.0 to 100.0 mm",
        ),
        (lambda: place((1, 2)), "three finite numbers"),
        (lambda: place_along((0, 0, 0)), "no length"),
        (
            lambda: bay_walls("bay", (0, 0, 0), (1, 1, 1), open_sides=("lid",)),
            "no such side.*lid.*front, rear",
        ),
        (lambda: Scene((solid_part("a", sphere(0.1)), solid_part("a", sphere(0.1)))), "same name"),
        (lambda: split_along(solid_part("a", sphere(0.1)), (0, 0, 1), count=0), "at least one slice"),
    ],
)
def test_nonsense_is_refused(make, says: str) -> None:
    with pytest.raises(ShapeError, match=says):
        make()


def test_facing_halves_of_a_ball() -> None:
    ball = solid_part("ball", sphere(0.1, edge=0.005))
    halves = split_facing(ball, (100.0, 0, 0))
    assert halves.patches == ("facing", "away")
    assert halves.patch_areas == pytest.approx([2 * PI * 0.01] * 2, rel=0.02)
    assert halves.centres[halves.patch_of == 0, 0].min() > -0.01
    near = split_facing(ball, solid_part("lamp", sphere(0.01, placement=place((0.2, 0, 0)))))
    assert near.patch_areas[0] == pytest.approx(
        2 * PI * 0.1**2 * 0.5, rel=0.05
    )  # spherical cap seen from 2 r


def test_slices_planes_and_sides() -> None:
    rod = solid_part("rod", cylinder(0.05, 0.4, edge=0.02))
    slices = split_along(rod, (0, 0, 1), count=4)
    assert slices.patches == ("slice 1", "slice 2", "slice 3", "slice 4")
    assert slices.patch_areas[1:3] == pytest.approx(2 * PI * 0.05 * 0.1, rel=1e-6)
    quarters = split_by_planes(rod, [((0, 0, 0), (1, 0, 0)), ((0, 0, 0), (0, 0, 1))])
    assert quarters.patches == ("--", "-+", "+-", "++")
    assert quarters.patch_areas.sum() == pytest.approx(rod.areas.sum())
    sides = split_by_side(solid_part("box", box((0.1, 0.2, 0.3))))
    assert dict(zip(sides.patches, sides.patch_areas, strict=True)) == pytest.approx(
        {"front": 0.06, "rear": 0.06, "left": 0.03, "right": 0.03, "top": 0.02, "bottom": 0.02}
    )
    twice = split_along(split_facing(rod, (1, 0, 0)), (0, 0, 1), count=2)
    assert "facing, slice 1" in twice.patches


def test_walls_look_inward_and_open_sides_are_open() -> None:
    walls = bay_walls("walls", (0, 0, 0), (1, 2, 3), open_sides=("front", "bottom"), edge=0.5)
    assert set(walls.patches) == {"rear", "left", "right", "top"}
    assert (np.einsum("ij,ij->i", walls.normals, (0.5, 1, 1.5) - walls.centres) > 0).all()


def test_thin_part_has_two_faces() -> None:
    sheet = thin_part("sheet", plate((0.2, 0.1)))
    assert sheet.patches == ("front", "back")
    assert sheet.patch_areas == pytest.approx([0.02, 0.02])
    assert sheet.normals[sheet.twin] == pytest.approx(-sheet.normals)
    assert (sheet.twin[sheet.twin] == np.arange(len(sheet.faces))).all()
