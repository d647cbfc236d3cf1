"""Grey exchange between shapes against closed forms, and what must hold in any scene."""

import numpy as np
import pytest
from bay_cars import changed, with_measures
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from heatproof.assembly.bay.exchange import Surface, exchange_of, pruned, surface_exchange, surfaces_of
from heatproof.assembly.bay.factors import Factors, factors_of
from heatproof.assembly.bay.gaps import gaps_of
from heatproof.assembly.bay.lumps import masses_of
from heatproof.assembly.bay.scene import patch_shares, scene_of, shape_of
from heatproof.assembly.model import lay_network
from heatproof.laws.radiation import exchange_factor_concentric, exchange_factor_plates
from heatproof.media.air import conductivity_air
from heatproof.shapes import primitives
from heatproof.shapes.placement import place
from heatproof.shapes.scene import Body, Scene, solid_part, thin_part
from heatproof.shapes.view_factors import view_factors

trimesh = pytest.importorskip("trimesh")


def traced(scene: Scene) -> Factors:
    found = view_factors(scene, rays_per_patch=65536)
    return Factors(found.factor, found.to_surroundings, found.error, found.area)


def spheres(inner: float, outer: float) -> Scene:
    ball = solid_part("inner", primitives.sphere(inner, edge=0.25 * inner))
    hull = primitives.sphere(outer, edge=0.25 * outer)
    return Scene((ball, Body("outer", hull.vertices, np.asarray(hull.faces)[:, ::-1])))


def test_concentric_spheres() -> None:
    """Two-surface enclosure, Incropera/DeWitt eq. 13.21."""
    scene = spheres(0.1, 0.2)
    surfaces = (Surface("inner", 0, 1.0, 0.6), Surface("outer", 1, 1.0, 0.3))
    G = surface_exchange(surfaces, traced(scene), scene.patch_areas)
    expected = scene.patch_areas[0] * exchange_factor_concentric(0.6, 0.3, 0.25)
    assert G[0, 1] == pytest.approx(expected, rel=0.003)


def test_wide_plates_with_a_shield_between() -> None:
    """Parallel plates with one shield, Incropera/DeWitt eqs. 13.19, 13.28: plates 2 m wide, 20 mm apart; what
    the open edges cost is below 2 % of the exchange."""
    size = (2.0, 2.0)
    sheets = [
        thin_part(name, primitives.plate(size, edge=0.25, placement=place((0.0, 0.0, z))))
        for name, z in (("cold", 0.0), ("shield", 0.01), ("hot", 0.02))
    ]
    scene = Scene(tuple(sheets))
    names = scene.patch_names
    eps = {("cold", "front"): 0.8, ("shield", "back"): 0.2, ("shield", "front"): 0.4, ("hot", "back"): 0.7}
    surfaces = tuple(Surface(f"{a}.{b}", k, 1.0, eps.get((a, b), 0.9)) for k, (a, b) in enumerate(names))
    G = surface_exchange(surfaces, traced(scene), scene.patch_areas)

    def between(one: tuple[str, str], two: tuple[str, str]) -> float:
        return float(G[names.index(one), names.index(two)])

    below = between(("cold", "front"), ("shield", "back"))
    above = between(("shield", "front"), ("hot", "back"))
    series = 1.0 / (1.0 / below + 1.0 / above)
    expected = 4.0 * exchange_factor_plates(0.8, 0.7, ((0.2, 0.4),))
    assert series == pytest.approx(expected, rel=0.02)
    assert between(("cold", "front"), ("hot", "back")) < 1e-3 * below


def test_a_covered_share_is_its_own_surface() -> None:
    """Cutting a surface in two of equal emissivity changes nothing; the halves share in proportion."""
    scene = spheres(0.1, 0.2)
    factors = traced(scene)
    whole = (Surface("inner", 0, 1.0, 0.6), Surface("outer", 1, 1.0, 0.3))
    cut = (Surface("a", 0, 0.7, 0.6), Surface("b", 0, 0.3, 0.6), whole[1])
    one = surface_exchange(whole, factors, scene.patch_areas)
    two = surface_exchange(cut, factors, scene.patch_areas)
    assert two[0, 2] + two[1, 2] == pytest.approx(one[0, 1], rel=1e-9)
    assert two[0, 2] == pytest.approx(0.7 * one[0, 1], rel=1e-9)


@pytest.fixture(scope="module")
def car():
    return with_measures("turbo_shield", "turbine_blanket")


def test_demo_exchange_is_symmetric_and_loses_nothing(car) -> None:
    masses, area, _ = exchange_of(car)
    assert np.allclose(area, area.T, rtol=1e-12)
    assert (area >= 0.0).all()
    assert masses[-1] == "ambient"
    scene, surfaces = scene_of(car), surfaces_of(car)
    limit = dict.fromkeys(masses, 0.0)
    for s in surfaces:
        limit[s.mass] += scene.patch_areas[s.patch] * s.share * s.emissivity
    for k, mass in enumerate(masses[:-1]):
        assert area[k].sum() <= limit[mass] * (1.0 + 1e-6), mass


def test_pruning_keeps_what_each_mass_exchanges_in_all(car) -> None:
    full = exchange_of(car, tiny=0.0, minor=0.0).area
    assert (exchange_of(car).area > 0.0).sum() < 0.7 * (full > 0.0).sum()
    cut = exchange_of(car).in_all()
    assert cut.sum(axis=1) == pytest.approx(full.sum(axis=1), rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(arrays(float, (6, 6), elements=st.floats(0.0, 1.0)), st.floats(0.0, 0.2))
def test_pruned_rows_keep_their_sum(raw, smallest) -> None:
    G = 0.5 * (raw + raw.T) + 0.3
    np.fill_diagonal(G, 0.0)
    cut = pruned(G, smallest)
    assert np.allclose(cut, cut.T)
    assert cut.sum(axis=1) == pytest.approx(G.sum(axis=1), rel=1e-6)


def test_shared_memory_of_factors_is_the_file_of_factors(car, tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("HEATPROOF_CACHE", str(tmp_path))
    moved = changed(car, "bay.seed", 7)
    first = factors_of(moved)
    from heatproof.assembly.bay import factors as module

    module._factors.cache_clear()
    again = factors_of(moved)
    assert again is not first
    assert all(np.array_equal(a, b) for a, b in zip(first, again, strict=True))
    file = next((tmp_path / "bay").glob("factors-*.npz"))
    file.write_bytes(file.read_bytes()[:200])
    module._factors.cache_clear()
    assert np.array_equal(factors_of(moved).factor, first.factor)


def test_typed_links_give_way_to_shapes(car) -> None:
    def named(variant) -> set[str]:
        return set(lay_network(variant).link_names["radiation"])

    off = named(changed(car, "bay.geometry", "off"))
    assert "turbine_to_cam_cover" in off
    assert "turbine_to_cam_cover" not in named(car)


def test_patches_share_a_parts_heat_and_join(car) -> None:
    network = lay_network(car)
    one, other = masses_of(car, "loom")
    shares = list(patch_shares(car, "loom").values())
    C = network.model.capacity
    assert C[network.mass(one)] + C[network.mass(other)] == pytest.approx(500.0)
    assert C[network.mass(one)] == pytest.approx(500.0 * shares[0])
    assert "along loom" in network.link_names["conduction"]


def test_cover_moves_the_outline(car) -> None:
    bare = with_measures("turbo_shield")
    grown = shape_of(car, "turbine_housing").part.bounds - shape_of(bare, "turbine_housing").part.bounds
    assert grown[1][0] == pytest.approx(0.012, abs=3e-4)
    assert grown[1][1] == pytest.approx(0.0, abs=1e-9)


def test_air_in_a_narrow_gap_conducts(car) -> None:
    """k A/d over the area where the cam cover (top 130 × 320 mm) looks at the cover 14 mm above it."""
    scene = scene_of(car)
    names = scene.patch_names
    one = [k for k, (part, _) in enumerate(names) if part == "cam_cover"]
    two = [k for k, (part, _) in enumerate(names) if part == "engine_cover"]
    G = gaps_of(car).conductance[np.ix_(one, two)].sum()
    expected = conductivity_air(350.0) * 0.13 * 0.32 / 0.014
    assert expected == pytest.approx(G, rel=0.1)
