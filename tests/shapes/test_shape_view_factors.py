"""View factors against published configuration factors and an independent library.

Values: Howell, A Catalog of Radiation Heat Transfer Configuration Factors (numbers at each case); Siegel and
Howell, Thermal Radiation Heat Transfer, 4th ed., p. 845; Rohsenow et al., Handbook of Heat Transfer, 3rd ed.,
p. 7.84; Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 13.1 (numbering from memory).
Tolerance: four standard errors of plain random rays, √(F(1 − F)/rays): quasi-random rays do better. Round
shapes add the allowance for their flat sides that each case names.
"""

import numpy as np
import pytest
import pyviewfactor
import pyvista
from shape_scenes import small_bay, square

from heatproof.shapes.errors import ShapeError, has_ray_library
from heatproof.shapes.patches import bay_walls, split_by_planes, split_by_side
from heatproof.shapes.placement import place
from heatproof.shapes.primitives import box, cylinder, plate, sphere
from heatproof.shapes.scene import Body, Scene, solid_part, thin_part
from heatproof.shapes.view_factors import ViewFactors, view_factors

RAYS = 2**17
TRACERS = ["compiled"] + (["embreex"] if has_ray_library() else [])


def four_sigma(F: float, rays: int = RAYS) -> float:
    return 4.0 * float(np.sqrt(F * (1.0 - F) / rays))


def F(scene: Scene, a: str, b: str, **options) -> float:
    found = view_factors(scene, rays_per_patch=RAYS, **options)
    return found.between((a, "whole"), (b, "whole"))[0]


def disc(name: str, radius: float, height: float, up: bool) -> Body:
    """One-sided disc: the cap of a cylinder."""
    mesh = cylinder(radius, 1.0, edge=radius / 24)
    cap = mesh.faces[np.abs(mesh.vertices[mesh.faces][:, :, 2] - 0.5).max(axis=1) < 1e-9]
    turn = place((0, 0, height - 0.5)) if up else place((0, 0, height + 0.5), turn_deg=(180, 0, 0))
    return Body(name, turn.apply(mesh.vertices), cap)


def inward(part: Body) -> Body:
    return Body(part.name, part.vertices, part.faces[:, ::-1], part.patches, part.patch_of)


def wall(name: str, radius: float, length: float) -> Body:
    """Curved side of a cylinder, looking outward."""
    return solid_part(name, cylinder(radius, length, edge=radius / 16, capped=False))


@pytest.mark.parametrize("tracer", TRACERS)
@pytest.mark.parametrize(
    ("a", "b", "shift", "expected"),
    [
        ((1, 1), 1.0, 0.0, 0.1998249),  # VF-01, C-11
        ((1, 2), 1.0, 0.0, 0.2858754),  # VF-02, C-11
        ((2, 2), 1.0, 0.0, 0.4152533),  # VF-03, C-11
        ((0.5, 0.5), 1.0, 0.0, 0.0685896),  # VF-03
        ((10, 10), 1.0, 0.0, 0.8269945),  # VF-03
        ((1, 1), 1.0, 1.0, 0.0860505),  # VF-17, C-13
    ],
)
def test_parallel_rectangles(a, b, shift, expected, tracer) -> None:
    low = solid_part("low", plate(a, edge=0.5))
    high = solid_part("high", plate(a, edge=0.5, placement=place((shift, 0, b), turn_deg=(180, 0, 0))))
    assert F(Scene((low, high)), "low", "high", tracer=tracer) == pytest.approx(
        expected, abs=four_sigma(expected)
    )


@pytest.mark.parametrize(("height", "width", "expected"), [(1, 1, 0.2000438), (1, 2, 0.1164263)])
def test_perpendicular_rectangles(height, width, expected) -> None:
    """VF-04 and VF-05: Howell C-14, common edge of unit length."""
    floor = solid_part("floor", plate((width, 1), edge=0.5, placement=place((width / 2, 0, 0))))
    upright = plate((height, 1), edge=0.5, placement=place((0, 0, height / 2), turn_deg=(0, 90, 0)))
    scene = Scene((floor, solid_part("upright", upright)))
    assert F(scene, "floor", "upright") == pytest.approx(expected, abs=four_sigma(expected))


@pytest.mark.parametrize(
    ("degrees", "expected"), [(30, 0.741181), (60, 0.5), (90, 0.292893), (120, 0.133975)]
)
def test_long_wedge(degrees, expected) -> None:
    """VF-07: Incropera table 13.1, infinitely long; here 200 long. What leaves at the ends is below 2/200."""
    low = solid_part("low", plate((1, 200), edge=1.0, placement=place((0.5, 0, 0))))
    a = np.radians(degrees)
    upper = plate(
        (1, 200),
        edge=1.0,
        placement=place((0.5 * np.cos(a), 0, 0.5 * np.sin(a)), turn_deg=(180, -degrees, 0)),
    )
    got = F(Scene((low, solid_part("upper", upper))), "low", "upper")
    assert expected - 0.01 - four_sigma(expected) <= got <= expected + four_sigma(expected)


@pytest.mark.parametrize(("r1", "r2", "h", "expected"), [(1, 1, 1, 0.3819660), (0.1, 0.2, 0.5, 0.1339313)])
def test_coaxial_discs(r1, r2, h, expected) -> None:
    """VF-08: Howell C-41; VF-09: Siegel and Howell p. 845. 151-sided discs: 2e-4 of area allowed."""
    scene = Scene((disc("low", r1, 0.0, True), disc("high", r2, h, False)))
    assert F(scene, "low", "high") == pytest.approx(expected, abs=four_sigma(expected) + 3e-4)


@pytest.mark.parametrize(("x", "expected"), [(1.0, 0.1816901), (1.5, 0.1106960), (2.0, 0.0813758)])
def test_long_parallel_cylinders(x, expected) -> None:
    """VF-10: Incropera table 13.1, infinitely long; here 400 radii long, so up to 1 % leaves at the ends."""
    bodies = []
    for k in range(2):
        mesh = cylinder(1.0, 4.0, edge=0.1, capped=False)
        stretched = mesh.vertices * (1, 1, 100) + (2.0 * x * k, 0, 0)
        bodies.append(Body(f"rod {k}", stretched, mesh.faces))
    got = F(Scene(tuple(bodies)), "rod 0", "rod 1")
    assert expected * 0.99 - four_sigma(expected) <= got <= expected + four_sigma(expected) + 1e-4


@pytest.mark.parametrize(
    ("r1", "r2", "length", "F21", "F22", "F12"),
    [
        (1, 2, 2, 0.337106, 0.228481, 0.674212),  # VF-12
        (1, 2, 4, 0.412628, 0.328598, 0.825256),  # VF-13
        (1, 1.5, 1, 0.440764, 0.130879, 0.661147),  # VF-13
    ],
)
def test_concentric_cylinders(r1, r2, length, F21, F22, F12) -> None:
    """VF-12 and VF-13: Howell C-91 family. About 100 flat sides: 1e-3 allowed, as the reference asks."""
    scene = Scene((wall("inner", r1, length), inward(wall("outer", r2, length))))
    found = view_factors(scene, rays_per_patch=RAYS)
    inner, outer = ("inner", "whole"), ("outer", "whole")
    assert found.between(outer, inner)[0] == pytest.approx(F21, abs=four_sigma(F21) + 1e-3)
    assert found.between(outer, outer)[0] == pytest.approx(F22, abs=four_sigma(F22) + 1e-3)
    assert found.between(inner, outer)[0] == pytest.approx(F12, abs=four_sigma(F12) + 1e-3)
    if (r1, r2, length) == (1, 2, 2):  # both ends together: twice 0.162894 and 0.217206
        assert found.to_surroundings == pytest.approx(
            [2 * 0.162894, 2 * 0.217206], abs=four_sigma(0.4) + 1e-3
        )


@pytest.mark.parametrize(("H", "expected"), [(0.5, 0.381966), (1, 0.585786), (2, 0.763932)])
def test_hollow_cylinder_to_itself(H, expected) -> None:
    """VF-14: Howell C-78 family, F = 1 + H − √(1 + H²)."""
    scene = Scene((inward(wall("pipe", 1.0, 2.0 * H)),))
    assert F(scene, "pipe", "pipe") == pytest.approx(expected, abs=four_sigma(expected) + 1e-3)


def test_sphere_to_disc() -> None:
    """VF-15: Handbook of Heat Transfer p. 7.84: ½ (1 − 1/√(1 + (r/h)²)) for any sphere smaller than h."""
    ball = solid_part("ball", sphere(0.3, edge=0.02))
    scene = Scene((ball, disc("disc", 1.0, 0.5, False)))
    assert F(scene, "ball", "disc") == pytest.approx(0.2763932, abs=four_sigma(0.2763932) + 3e-4)


def midway_scene(side: float) -> Scene:
    """Unit squares one apart with a black thin plate midway."""
    blocker = thin_part("blocker", plate((side, side), edge=0.25, placement=place((0, 0, 0.5))))
    return Scene((square("low"), square("high", at=(0, 0, 1), looks=(0, 0, -1)), blocker))


def occluded_by_integration(side: float, points: int = 24) -> float:
    """F between unit squares with the midway plate, by Gauss quadrature of the double area integral with a
    straight-line test: independent of the rays."""
    x, w = np.polynomial.legendre.leggauss(points)
    x, w = 0.5 * x, 0.5 * w
    X1, Y1, X2, Y2 = np.meshgrid(x, x, x, x, indexing="ij", sparse=True)
    kernel = 1.0 / (np.pi * ((X1 - X2) ** 2 + (Y1 - Y2) ** 2 + 1.0) ** 2)
    seen = (np.abs(X1 + X2) > side) | (np.abs(Y1 + Y2) > side)
    weight = np.einsum("i,j,k,l->ijkl", w, w, w, w)
    return float((kernel * seen * weight).sum())


@pytest.mark.parametrize("tracer", TRACERS)
def test_plate_midway_blocks(tracer) -> None:
    """Occluded case against direct integration, whose own steps cost about 1e-3 at the plate's shadow."""
    expected = occluded_by_integration(0.5)
    assert F(midway_scene(0.5), "low", "high", tracer=tracer) == pytest.approx(expected, abs=2.5e-3)
    assert F(midway_scene(1.0), "low", "high", tracer=tracer) < 5e-5  # all of it is in the shadow


def test_plate_midway_to_its_faces() -> None:
    """The blocker's own faces see the squares by Howell C-11 for unequal squares, here by pyviewfactor."""
    found = view_factors(midway_scene(0.5), rays_per_patch=RAYS)
    near, _ = found.between(("blocker", "front"), ("high", "whole"))
    far, _ = found.between(("blocker", "front"), ("low", "whole"))
    small = [(-0.25, -0.25, 0.5), (0.25, -0.25, 0.5), (0.25, 0.25, 0.5), (-0.25, 0.25, 0.5)]
    expected = polygon_factor(small,
                              [(-0.5, -0.5, 1), (-0.5, 0.5, 1), (0.5, 0.5, 1), (0.5, -0.5, 1)])  # fmt: skip
    assert near == pytest.approx(expected, abs=four_sigma(expected))
    assert far == 0.0


def polygon_factor(one, two) -> float:
    """pyviewfactor, an independent library (semi-analytic contour integral), for unoccluded polygons."""
    cells = []
    for corners in (one, two):
        face = np.hstack([[len(corners)], np.arange(len(corners))])
        cells.append(pyvista.PolyData(np.asarray(corners, dtype=float), face))
    # The library returns F(second → first).
    return float(pyviewfactor.compute_viewfactor(cells[1], cells[0]))


@pytest.mark.parametrize("seed", range(6))
def test_random_polygon_pairs_against_library(seed) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.uniform(0.3, 1.2, (2, 2))
    low = plate(a, edge=2.0)
    turned = place(
        np.add(rng.uniform(-0.4, 0.4, 3), (0, 0, 1.5)),
        turn_deg=(180 + rng.uniform(-40, 40), rng.uniform(-40, 40), 20),
    )
    high = plate(b, edge=2.0, placement=turned)
    corner = [(-0.5, -0.5, 0), (0.5, -0.5, 0), (0.5, 0.5, 0), (-0.5, 0.5, 0)]
    one = np.array(corner) * (*a, 0)
    two = turned.apply(np.array(corner) * (*b, 0))
    expected = polygon_factor(one, two)
    assert expected > 0.005  # a pair that does not see each other would test nothing
    got = F(Scene((solid_part("low", low), solid_part("high", high))), "low", "high")
    assert got == pytest.approx(expected, abs=four_sigma(expected))


def test_patches_of_one_square_add_up() -> None:
    """A patch's factors weighted by area give the whole's (identity)."""
    low, high = square("low"), square("high", at=(0, 0, 1), looks=(0, 0, -1))
    halves = view_factors(
        Scene((split_by_planes(low, [((0.2, 0, 0), (1, 0, 0))]), high)), rays_per_patch=RAYS
    )
    share = halves.area[:2] / halves.area[:2].sum()
    assert share @ halves.factor[:2, 2] == pytest.approx(0.1998249, abs=four_sigma(0.2))


def test_error_estimate_is_honest() -> None:
    """Against a run with 16 times the rays: deviations over stated errors have an r.m.s. near one."""
    scene = small_bay()
    fine = view_factors(scene, rays_per_patch=2**18, seed=7)
    ratios = []
    for seed in range(4):
        found = view_factors(scene, rays_per_patch=2**14, seed=seed)
        ratios.append((found.factor - fine.factor) / np.hypot(found.error, fine.error)[:, :-1])
    assert 0.7 < np.sqrt(np.mean(np.square(ratios))) < 1.3


def test_tracers_agree() -> None:
    """The own compiled tree and the library see the same scene."""
    if not has_ray_library():
        pytest.skip("the ray library's wheel is not installed")
    one, two = (view_factors(small_bay(), rays_per_patch=2**13, tracer=t) for t in ("embreex", "compiled"))
    assert one.factor == pytest.approx(
        two.factor, abs=5e-4
    )  # same rays: only those that graze an edge differ
    assert one.to_surroundings == pytest.approx(two.to_surroundings, abs=5e-4)


def test_buried_area_exchanges_with_itself_only() -> None:
    ball, hidden = sphere(0.2, edge=0.05), sphere(0.05, edge=0.03)
    found = view_factors(
        Scene((solid_part("ball", ball), solid_part("hidden", hidden))), rays_per_patch=2**13
    )
    assert found.between(("hidden", "whole"), ("hidden", "whole"))[0] == 1.0
    assert found.between(("ball", "whole"), ("hidden", "whole"))[0] == 0.0
    assert any(f.part == "hidden" and "100%" in f.what for f in found.findings())


def test_names_and_limits_are_checked() -> None:
    found = view_factors(small_bay(), rays_per_patch=512)
    with pytest.raises(ShapeError, match=r"no such patch.*turbin/whole.*turbine/facing"):
        found.index("turbin")
    with pytest.raises(ShapeError, match="rays per patch"):
        view_factors(small_bay(), rays_per_patch=10)
    with pytest.raises(ShapeError, match="no such ray tracer"):
        view_factors(small_bay(), tracer="other")


def test_result_is_repeatable() -> None:
    one, two = (view_factors(small_bay(), rays_per_patch=2**12) for _ in range(2))
    assert isinstance(one, ViewFactors)
    assert np.array_equal(one.factor, two.factor)
    other = view_factors(small_bay(), rays_per_patch=2**12, seed=2)
    assert not np.array_equal(one.factor, other.factor)


def test_sides_of_a_box_see_what_they_face() -> None:
    """A small box midway in a large one: each side sees the wall it looks at most (symmetry)."""
    inner = split_by_side(solid_part("inner", box((0.2, 0.2, 0.2), edge=0.2)))
    scene = Scene((bay_walls("walls", (-1, -1, -1), (1, 1, 1), edge=1.0), inner))
    found = view_factors(scene, rays_per_patch=2**14)
    for side in inner.patches:
        seen = zip(found.patches, found.factor[found.index("inner", side)], strict=True)
        row = {patch: f for (part, patch), f in seen if part == "walls"}
        assert max(row, key=row.__getitem__) == side
        # Small side against a wall ten times larger, 0.9 away: the differential element to a centred square,
        # Howell B-4 (four corner rectangles of 1 × 1 at 0.9): F = 0.5262.
        assert row[side] == pytest.approx(4 * corner_element(1.0, 1.0, 0.9), abs=5e-3)


def corner_element(a: float, b: float, c: float) -> float:
    """Howell B-4: element below the corner of a parallel a × b rectangle at distance c."""
    X, Y = a / c, b / c
    return float(
        (
            X / np.hypot(1, X) * np.arctan(Y / np.hypot(1, X))
            + Y / np.hypot(1, Y) * np.arctan(X / np.hypot(1, Y))
        )
        / (2 * np.pi)
    )
