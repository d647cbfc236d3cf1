"""Local peaks against closed-form fins and balances; irradiation against the patch's view factors."""

import numpy as np
import pytest
from shape_scenes import small_bay

from heatproof.shapes.errors import ShapeError
from heatproof.shapes.hot_spots import (
    STEFAN_BOLTZMANN,
    Sheet,
    local_temperatures,
    radiosity,
    triangle_view_factors,
)
from heatproof.shapes.patches import bay_walls
from heatproof.shapes.placement import place
from heatproof.shapes.primitives import plate, sphere
from heatproof.shapes.scene import Scene, solid_part, thin_part
from heatproof.shapes.view_factors import view_factors


def strip(edge: float = 0.005):
    return thin_part("strip", plate((0.2, 0.02), edge=edge))


def test_half_heated_strip_is_the_fin_solution() -> None:
    """Strip, half of it under a flux q, convecting on one side, ends adiabatic: k t T'' = h (T − T∞) − q(x),
    m² = h/(k t) (Incropera and DeWitt, fins; solved here for two joined halves)."""
    k, t, h, q, T_air, L = 0.3, 0.003, 20.0, 2000.0, 320.0, 0.2
    part = strip(0.00125)
    front = np.flatnonzero(part.patch_of == 0)
    x = part.centres[front, 0] + L / 2
    # Absorbing without radiating: a small emissivity under a flux as much larger.
    eps = 1e-6
    T = local_temperatures(part, np.where(x > L / 2, q / eps, 0.0), Sheet(k, t, eps, h, T_air))
    m, rise = np.sqrt(h / (k * t)), q / h
    cold = rise * 0.5 * np.cosh(m * x) / np.cosh(m * L / 2)
    hot = rise * (1.0 - 0.5 * np.cosh(m * (L - x)) / np.cosh(m * L / 2))
    # (equal halves: at the joint each side is at half the rise, with equal slopes)
    expected = T_air + np.where(x > L / 2, hot, cold)
    assert pytest.approx(expected, abs=0.01 * rise) == T


def test_even_flux_is_the_local_balance() -> None:
    """ε G = ε σ T⁴ + h (T − T_air) + back: the same on every triangle, whatever the conductivity."""
    part = strip(0.01)
    sheet = Sheet(0.3, 0.003, 0.9, 15.0, 330.0, h_back=8.0, T_back=350.0, back_emissivity=0.8)
    T = local_temperatures(part, np.full(len(part.faces) // 2, 9000.0), sheet)
    assert np.ptp(T) < 1e-6
    T = T[0]
    gain = 0.9 * 9000.0 + 15.0 * (330.0 - T) + 8.0 * (350.0 - T)
    radiated = 0.9 * STEFAN_BOLTZMANN * T**4 + 0.8 * STEFAN_BOLTZMANN * (T**4 - 350.0**4)
    assert gain == pytest.approx(radiated, rel=1e-9)


def test_no_air_and_no_conduction_is_radiation_equilibrium() -> None:
    part = strip(0.01)
    G = 10000.0 + 50000.0 * part.centres[: len(part.faces) // 2, 0]
    T = local_temperatures(part, G, Sheet(1e-9, 1e-3, 0.7, 0.0, 300.0))
    # A vertex takes the mean of its triangles: within one triangle's width, 500 W/m2 here, of the local G.
    assert (np.abs(STEFAN_BOLTZMANN * T**4 - G) < 500.0).all()


def test_conduction_lowers_the_peak_and_keeps_the_energy() -> None:
    part = strip(0.004)
    x = part.centres[: len(part.faces) // 2, 0]
    G = np.where(np.abs(x) < 0.02, 20000.0, 500.0)
    peaks = []
    for k in (0.05, 0.5, 5.0, 200.0):
        sheet = Sheet(k, 0.002, 0.9, 10.0, 320.0)
        T = local_temperatures(part, G, sheet)
        area = part.areas[: len(T)]
        lost = area * (0.9 * STEFAN_BOLTZMANN * T**4 + 10.0 * (T - 320.0))
        # Balanced exactly at the vertices; on triangles to the steepness of T between them.
        assert lost.sum() == pytest.approx((0.9 * G * area).sum(), rel=0.02)
        peaks.append(T.max())
    assert peaks == sorted(peaks, reverse=True)
    assert peaks[0] - peaks[-1] > 50.0


def test_triangle_factors_average_to_the_patch() -> None:
    scene = small_bay()
    whole = view_factors(scene, rays_per_patch=2**15)
    rows = triangle_view_factors(scene, "hose", rays=512)
    assert rows.sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    hose = scene.part("hose")
    for k, patch in enumerate(hose.patches):
        own = hose.patch_of == k
        mean = np.average(rows[own], axis=0, weights=hose.areas[own])
        row = whole.index("hose", patch)
        stated = np.append(whole.factor[row], whole.to_surroundings[row])
        rays = 512 * own.sum()
        assert mean == pytest.approx(stated, abs=5 * 0.5 / np.sqrt(rays))


def test_near_side_of_a_cover_is_hottest() -> None:
    """A hot ball beside a poorly conducting sheet: the nearest triangle peaks, well above the mean."""
    ball = solid_part("ball", sphere(0.05, placement=place((0.05, 0, 0.12))))
    cover = thin_part("cover", plate((0.3, 0.2), edge=0.02))
    scene = Scene((ball, cover, bay_walls("walls", (-0.5, -0.5, -0.5), (0.5, 0.5, 0.5), edge=0.5)))
    found = view_factors(scene, rays_per_patch=2**13)
    T = np.where([name == "ball" for name, _ in found.patches], 900.0, 330.0)
    J = radiosity(found, T, np.full(len(T), 0.9), T_out=330.0)
    front = np.flatnonzero(cover.patch_of == 0)
    G = triangle_view_factors(scene, "cover", triangles=front) @ J
    local = local_temperatures(cover, G, Sheet(0.25, 0.003, 0.9, 12.0, 330.0))
    peak = cover.centres[front[np.argmax(local)]]
    assert np.hypot(peak[0] - 0.05, peak[1]) < 0.03
    assert local.max() - np.average(local, weights=cover.areas[front]) > 20.0


def test_isothermal_enclosure_sends_black_radiation() -> None:
    """In an enclosure of one temperature every radiosity is σT⁴, whatever the emissivities (Kirchhoff)."""
    found = view_factors(small_bay(), rays_per_patch=1024)
    rng = np.random.default_rng(1)
    eps = rng.uniform(0.05, 1.0, len(found.patches))
    J = radiosity(found, np.full(len(eps), 400.0), eps, T_out=400.0)
    assert pytest.approx(STEFAN_BOLTZMANN * 400.0**4, rel=1e-12) == J


def test_wrong_input_is_refused() -> None:
    found = view_factors(small_bay(), rays_per_patch=512)
    with pytest.raises(ShapeError, match="one temperature and one emissivity per patch"):
        radiosity(found, [300.0], [0.9], T_out=300.0)
    with pytest.raises(ShapeError, match="emissivities must be"):
        radiosity(found, np.full(len(found.area), 300.0), np.zeros(len(found.area)), T_out=300.0)
    with pytest.raises(ShapeError, match="one finite irradiation per triangle"):
        local_temperatures(strip(), [1.0], Sheet(0.3, 0.003, 0.9, 10.0, 300.0))
    part = strip()
    with pytest.raises(ShapeError, match="conductivity and thickness"):
        local_temperatures(part, np.ones(len(part.faces) // 2), Sheet(0.0, 0.003, 0.9, 10.0, 300.0))
