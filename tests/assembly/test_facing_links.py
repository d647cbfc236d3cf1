"""What a facing link's face sees of the other part: published factors, and the size of the part that is hot."""

import math

import numpy as np
import pytest
from bay_cars import changed, with_measures

from heatproof.assembly.bay.gaps import still_air
from heatproof.assembly.facing import seen_of, view_of
from heatproof.kit.records.parts import Facing, Part
from heatproof.kit.records.shapes import Cylinder, Plate, Sphere
from heatproof.laws import view_factors as F

TINY = 1e-8  # m2: an element


def part(size: float, surface: float, shape: object = None) -> Part:
    return Part(mass=1.0, material="carbon steel", surface=surface, size=size, shape=shape)


@pytest.mark.parametrize(("distance", "factor"), [(0.080, 0.341), (0.040, 0.674), (0.020, 0.892)])
def test_an_element_before_a_disc(distance: float, factor: float) -> None:
    """R²/(R² + d²), Howell B-12, of a disc of 115 mm; equal squares of the small face gave 0.019 to 0.069 at 80 mm."""
    assert seen_of(part(0.115, 0.05), TINY, distance)[0] == pytest.approx(factor, abs=5e-4)


@pytest.mark.parametrize(
    ("sides", "distance", "factor"), [((0.1, 0.1), 0.080, 0.329), ((0.2, 0.1), 0.050, 0.670)]
)
def test_an_element_before_a_plate(sides: tuple[float, float], distance: float, factor: float) -> None:
    """Four corner factors, Howell B-3: (A/√(1+A²) atan(B/√(1+A²)) + B/√(1+B²) atan(A/√(1+B²)))/2π each."""
    plate = Plate(size=sides, position=(0.0, 0.0, 0.0))
    A, B = sides[0] / 2.0 / distance, sides[1] / 2.0 / distance
    a, b = math.hypot(1.0, A), math.hypot(1.0, B)
    corners = 4.0 / (2.0 * math.pi) * (A / a * math.atan(B / a) + B / b * math.atan(A / b))
    assert corners == pytest.approx(factor, abs=5e-4)
    assert seen_of(part(0.1, 0.05, plate), TINY, distance)[0] == pytest.approx(corners, rel=1e-4)


@pytest.mark.parametrize(
    ("r", "length", "h", "factor"),
    [(0.030, 0.200, 0.080, 0.356), (0.030, 0.100, 0.080, 0.296), (0.060, 0.120, 0.100, 0.532)],
)
def test_an_element_before_a_cylinder(r: float, length: float, h: float, factor: float) -> None:
    """Howell B-30 twice; rays of an independent run gave 0.3555, 0.2954, 0.5323. Endless: r/h."""
    shape = Cylinder(diameter=2.0 * r, length=length, position=(0.0, 0.0, 0.0))
    assert seen_of(part(2.0 * r, 0.05, shape), TINY, h - r)[0] == pytest.approx(factor, abs=6e-4)
    assert F.element_to_cylinder(r, 100.0, h) == pytest.approx(r / h, rel=1e-4)


def test_an_element_before_a_ball() -> None:
    """(r/h)², Howell B-42."""
    ball = Sphere(diameter=0.06, position=(0.0, 0.0, 0.0))
    assert seen_of(part(0.06, 0.05, ball), TINY, 0.05)[0] == pytest.approx((0.03 / 0.08) ** 2, rel=1e-4)


def by_rays(side: float, r: float, length: float, h: float) -> float:
    """Share of cosine-spread rays from a square that meet a cylinder along y at height h; written for this test."""
    rng = np.random.default_rng(1)
    n = 400_000
    x, y = side * (rng.random((2, n)) - 0.5)
    u, phi = rng.random(n), 2.0 * math.pi * rng.random(n)
    s = np.sqrt(u)
    dx, dy, dz = s * np.cos(phi), s * np.sin(phi), np.sqrt(1.0 - u)
    a, b, c = dx**2 + dz**2, x * dx - h * dz, x**2 + h**2 - r**2
    inside = b**2 - a * c
    t = (-b - np.sqrt(np.maximum(inside, 0.0))) / a
    return float(np.mean((inside > 0.0) & (t > 0.0) & (np.abs(y + t * dy) < 0.5 * length)))


@pytest.mark.parametrize(
    ("side", "r", "length", "h"),
    [
        (0.04, 0.03, 0.3, 0.08),
        (0.08, 0.03, 0.5, 0.07),
        (0.06, 0.05, 0.25, 0.12),
        (0.067, 0.0575, 0.09, 0.1175),
    ],
)
def test_a_wide_face_before_a_cylinder(side: float, r: float, length: float, h: float) -> None:
    assert F.face_to_cylinder(side, r, length, h - r) == pytest.approx(by_rays(side, r, length, h), rel=0.03)


def test_equal_faces_are_the_published_ones() -> None:
    """Howell C-11 and C-41: a face as large as the other part sees what it did before."""
    assert F.parallel_rectangles_centred(0.1, 0.1, 0.1, 0.08) == pytest.approx(
        F.parallel_rectangles(0.1, 0.1, 0.08)
    )
    disc = math.pi * 0.2**2
    assert seen_of(part(0.4, 0.3), disc, 0.1)[0] == pytest.approx(F.coaxial_discs(0.2, 0.2, 0.1))


def test_a_brake_line_moved_nearer_gets_hotter_by_the_source_s_size() -> None:
    """Moving it 60 mm nearer changed nothing to speak of: the factor was that of squares of its own 30 cm²."""
    off = changed(with_measures(), "bay.geometry", "off")
    link = off.links["manifold_to_brake_line"]
    assert isinstance(link, Facing)
    near = link.model_copy(update={"distance": link.distance - 0.060})
    far, close = view_of(off, link), view_of(off, near)
    assert far.small == close.small == "brake_line"
    assert close.factor / far.factor > 1.3
    square = math.sqrt(link.area)
    assert far.factor > 2.0 * F.parallel_rectangles(square, square, link.distance)


def test_no_face_sees_more_than_there_is_and_reciprocity_holds() -> None:
    for size, surface, area, distance in (
        (0.02, 0.005, 0.05, 0.001),
        (0.5, 1.0, 0.9, 0.0005),
        (0.06, 0.01, 0.2, 0.3),
    ):
        off = with_measures()
        parts = {**off.parts, "one": part(size, surface), "two": part(0.3, 0.5 * surface)}
        car = off.with_value("parts", parts)
        view = view_of(car, Facing(**{"from": "one"}, to="two", area=area, distance=distance))
        assert 0.0 < view.factor <= 1.0
        assert view.area * view.factor <= view.other_area * (1.0 + 1e-12)


@pytest.mark.parametrize(
    ("hot", "kelvin", "k"),
    [(False, 350.0, 0.0300), (True, 450.0, 0.0373), (True, 400.0, 0.0338), (True, 500.0, 0.0407)],
)
def test_still_air_in_gaps(hot: bool, kelvin: float, k: float) -> None:
    """Conductivity of air (Incropera/DeWitt table A.4, W/m/K) at the gap's mean temperature: within 12 % for 400 to 500 K
    beside exhaust, where 350 K for all was 12 to 26 % low."""
    assert still_air(hot=hot) == pytest.approx(k, rel=0.02 if kelvin in (350.0, 450.0) else 0.12)
