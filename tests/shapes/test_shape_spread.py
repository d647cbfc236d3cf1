"""Rays are spread evenly, all of them together better than their blocks, and the stated error says how well.

Lambert's law: directions about a normal n have the mean 2n/3 (integral of cos²θ/π over the half space).
Howell C-11, A Catalog of Radiation Heat Transfer Configuration Factors: unit squares one apart, F = 0.1998249.
"""

import numpy as np
import pytest
from shape_scenes import small_bay, square

from heatproof.shapes.patches import split_facing
from heatproof.shapes.primitives import sphere, tube
from heatproof.shapes.rays import BLOCKS, area_tree, rays_of_patch
from heatproof.shapes.scene import Body, Scene, solid_part
from heatproof.shapes.view_factors import pooled, view_factors

C_11 = 0.1998249
LOG2_COUNT = 14
# A quarter of a standard deviation of plain random rays: three components within it are luck of 1 in 130 for
# those, the usual for spread ones.
QUARTER = 0.25 / np.sqrt(2**LOG2_COUNT)


def uneven() -> Body:
    """A flat square of six triangles, the largest 1,200 times the smallest."""
    corners = np.array([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0), (0.98, 0.98, 0), (0.02, 0.5, 0)])
    faces = [(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 5), (0, 4, 5), (4, 3, 5)]
    return Body("uneven", corners, np.array(faces))


SURFACES = {
    "hose": solid_part("hose", tube([(0.1, -0.4, 0.3), (0.2, 0.2, 0.5), (0.6, 0.5, 0.6)], radius=0.012)),
    "half a ball": split_facing(solid_part("ball", sphere(0.05)), (0.4, 0.2, 0.5)),
    "unequal triangles": uneven(),
    "one triangle": Body("one", [(0, 0, 0), (1, 0, 0), (0, 2, 0)], [(0, 1, 2)]),
}


@pytest.mark.parametrize("name", SURFACES)
def test_tree_keeps_every_triangle_and_all_area(name: str) -> None:
    part = SURFACES[name]
    for patch in range(len(part.patches)):
        order, reach = area_tree(part, patch)
        assert np.array_equal(np.sort(order), np.flatnonzero(part.patch_of == patch))
        assert np.diff(reach) == pytest.approx(part.areas[order], rel=1e-9)


@pytest.mark.parametrize("name", SURFACES)
def test_places_and_directions_have_the_means_of_area_and_cosine_law(name: str) -> None:
    part = SURFACES[name]
    own = part.patch_of == 0
    share = part.areas[own] / part.areas[own].sum()
    centre, normal = share @ part.centres[own], share @ part.normals[own]
    size = np.ptp(part.triangles[own].reshape(-1, 3), axis=0).max()
    origins, directions = rays_of_patch(part, 0, log2_count=LOG2_COUNT, seed=1)
    assert np.linalg.norm(directions, axis=1) == pytest.approx(1.0, abs=1e-6)
    assert origins.mean(axis=0) == pytest.approx(centre, abs=QUARTER * size + 1e-5)
    assert directions.mean(axis=0) == pytest.approx(2.0 / 3.0 * normal, abs=QUARTER)
    # Each block too, within half of its own random deviation.
    for block in np.split(directions, BLOCKS):
        assert block.mean(axis=0) == pytest.approx(2.0 / 3.0 * normal, abs=2.0 * QUARTER * np.sqrt(BLOCKS))


def test_places_follow_area_where_triangles_are_unequal() -> None:
    origins, _ = rays_of_patch(uneven(), 0, log2_count=LOG2_COUNT, seed=1)
    for x, y in ((0.3, 0.5), (0.97, 0.8), (0.02, 1.0)):
        inside = np.mean((origins[:, 0] < x) & (origins[:, 1] < y))
        assert inside == pytest.approx(x * y, abs=0.3 * np.sqrt(x * y * (1 - x * y) / 2**LOG2_COUNT) + 1e-4)


def test_parallel_squares_better_than_random_and_as_well_as_stated() -> None:
    """Error of 16 seeds against Howell C-11."""
    scene = Scene((square("low"), square("high", at=(0, 0, 1), looks=(0, 0, -1))))
    low, high = ("low", "whole"), ("high", "whole")
    got = [view_factors(scene, rays_per_patch=2**LOG2_COUNT, seed=s).between(low, high) for s in range(16)]
    F, stated = np.array(got).T
    off = np.sqrt(np.mean((F - C_11) ** 2))
    assert off < 0.4 * np.sqrt(C_11 * (1.0 - C_11) / 2**LOG2_COUNT)
    assert 0.6 < off / np.sqrt(np.mean(stated**2)) < 1.5


def test_largest_error_of_a_bay() -> None:
    """131,072 rays a patch (4 million in a bay of 32): every entry within 1e-3 of four times the rays."""
    fine = view_factors(small_bay(), rays_per_patch=2**19, seed=7)
    found = view_factors(small_bay(), rays_per_patch=2**17)
    assert found.factor == pytest.approx(fine.factor, abs=1e-3)
    assert found.to_surroundings == pytest.approx(fine.to_surroundings, abs=1e-3)


def test_order_of_parts_changes_nothing() -> None:
    bay = small_bay()
    one, other = (view_factors(s, rays_per_patch=2**12) for s in (bay, Scene(bay.parts[::-1])))
    same = [other.patches.index(patch) for patch in one.patches]
    assert other.factor[np.ix_(same, same)] == pytest.approx(one.factor, abs=1e-12)
    assert other.error[same][:, [*same, -1]] == pytest.approx(one.error, abs=1e-12)


def test_pooling_leans_on_the_sender_that_knows_better() -> None:
    """The small one of two patches tells nearly all, two alike tell as much as each other."""
    counts = np.array([[0.0, 8000.0, 8384.0], [100.0, 0.0, 16284.0]])  # by reciprocity 80 of the large one
    exchange, _ = pooled(counts, np.array([0.01, 1.0]))
    assert exchange[0, 1] == exchange[1, 0]
    assert exchange[0, 1] / 0.01 == pytest.approx(8000 / 16384, rel=1e-3)
    alike, variance = pooled(np.array([[0.0, 900.0, 124.0], [860.0, 0.0, 164.0]]), np.array([1.0, 1.0]))
    assert alike[0, 1] == pytest.approx(880 / 1024, rel=1e-3)
    assert variance[0, 1] < variance[0, 2]
