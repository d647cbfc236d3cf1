"""Clearances against geometry that can be done by hand, and brute force."""

import numpy as np
import pytest
import trimesh
from shape_scenes import small_bay

from heatproof.shapes.clearance import ADVICE, clearance, clearance_table, overlap_findings
from heatproof.shapes.errors import ShapeError
from heatproof.shapes.placement import place, place_along
from heatproof.shapes.primitives import box, cylinder, plate, sphere
from heatproof.shapes.scene import Body, Scene, solid_part, thin_part


def cube(at, turn=(0, 0, 0), name="b") -> Body:
    return solid_part(name, box((0.1, 0.1, 0.1), edge=0.04, placement=place(at, turn_deg=turn)))


@pytest.mark.parametrize(
    ("at", "turn", "expected"),
    [
        ((0.15, 0, 0), (0, 0, 0), 0.05),  # face to face
        ((0.2, 0.2, 0), (0, 0, 0), 0.1 * np.sqrt(2)),  # edge to edge
        ((0.2, 0.2, 0.2), (0, 0, 0), 0.1 * np.sqrt(3)),  # corner to corner
        ((0.2, 0, 0), (0, 0, 45), 0.15 - 0.05 * np.sqrt(2)),  # edge to face
        ((0.08, 0.03, 0.02), (10, 20, 30), 0.0),  # cut each other
    ],
)
def test_boxes(at, turn, expected) -> None:
    found = clearance(cube((0, 0, 0), name="a"), cube(at, turn))
    assert found is not None
    assert found.distance == pytest.approx(expected, abs=1e-12)
    assert np.linalg.norm(np.subtract(found.point, found.other_point)) == pytest.approx(expected, abs=1e-12)


def test_balls_and_crossed_rods() -> None:
    one = solid_part("one", sphere(0.1, edge=0.01))
    two = solid_part("two", sphere(0.05, edge=0.01, placement=place((0.2, 0.1, 0.05))))
    exact = np.sqrt(0.0525) - 0.15
    assert clearance(one, two).distance == pytest.approx(exact, abs=3e-4)
    across = place_along((0, 1, 0), position=(0, 0, 0.05))
    rods = [solid_part("x", cylinder(0.01, 0.4, edge=0.002, placement=place_along((1, 0, 0)))),
            solid_part("y", cylinder(0.01, 0.4, edge=0.002, placement=across))]  # fmt: skip
    assert clearance(*rods).distance == pytest.approx(0.03, abs=2e-4)


def test_against_brute_force_on_random_triangles() -> None:
    """Least distance of dense points on two random triangles bounds the exact one from above, closely."""
    rng = np.random.default_rng(5)
    grid = [(i / 60, j / 60) for i in range(61) for j in range(61 - i)]
    weights = np.array([(1 - u - v, u, v) for u, v in grid])
    for _ in range(20):
        a, b = rng.normal(size=(2, 3, 3)) + np.array([[[0, 0, 0]], [[2, 0, 0]]])
        parts = [
            solid_part(n, trimesh.Trimesh(t, [[0, 1, 2]], process=False)) for n, t in (("a", a), ("b", b))
        ]
        exact = clearance(*parts).distance
        dense = np.sqrt(((weights @ a)[:, None] - (weights @ b)[None]) ** 2 @ np.ones(3)).min()
        assert exact <= dense + 1e-12
        assert dense - exact < 0.08


def test_table_lists_near_pairs_only_nearest_first() -> None:
    scene = small_bay()
    table = clearance_table(scene, within=0.2)
    assert [c.distance for c in table] == sorted(c.distance for c in table)
    assert all(c.distance < 0.2 for c in table)
    listed = {(c.part, c.other): c.distance for c in table}
    for n, one in enumerate(scene.parts):
        for other in scene.parts[n + 1 :]:
            exact = clearance(one, other).distance
            assert listed.get((one.name, other.name), exact) == exact
            assert ((one.name, other.name) in listed) == (exact < 0.2)
    assert listed["turbine", "shield"] == pytest.approx(0.04, abs=1e-3)  # 0.4 − 0.06 − 0.30, flat sides


def test_limits() -> None:
    assert clearance(cube((0, 0, 0)), cube((1, 0, 0)), within=0.5) is None
    with pytest.raises(ShapeError, match="must be above zero"):
        clearance_table(small_bay(), within=0.0)


def test_what_is_asked_is_what_the_codes_ask() -> None:
    """1 1/2 in: Code of Maryland Regulations 11.22.02.11 (fuel, brake systems: reject below); 50 mm of any exhaust part:
    Quebec C-24.2 r. 32, section 92. Both as read by the project; the rest is common practice, no source."""
    for advice in ADVICE.values():
        for least, comfortable in (advice.bare, advice.shielded):
            assert 0.0 < least <= comfortable
        assert advice.shielded[0] <= advice.bare[0]
        assert advice.source.startswith("common practice, no source")
    for vital in ("vital", "line"):
        assert ADVICE[vital].bare[0] >= 0.050
        assert ADVICE[vital].shielded[0] == pytest.approx(1.5 * 0.0254, abs=2e-4)
        assert ADVICE[vital].shielded[1] == 0.050


@pytest.mark.parametrize(
    ("height", "overlaps"),
    [
        (0.0, True),
        (0.04, True),
        (0.0485, True),
        (0.0495, False),
        (0.051, False),
        (0.2, False),
    ],  # half the cube: 50 mm
)
def test_a_sheet_through_a_body_is_an_error(height: float, overlaps: bool) -> None:
    """A cube of 100 mm and a coarse sheet of 600 mm, whose few corners all lie outside it; sunk by less than 1 mm it touches."""
    sheet = thin_part("shield", plate((0.6, 0.6), edge=0.6, placement=place((0.011, 0.007, height))))
    findings = overlap_findings(Scene((cube((0, 0, 0), name="turbine"), sheet)))
    assert [finding.level for finding in findings] == ["error"] * overlaps
    if overlaps:
        assert "overlaps" in findings[0].what
