"""Rules against hand calculations and integrals; each figure's working stands beside it."""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from heatproof.laws.view_factors import coaxial_discs
from heatproof.sheet import rules as R
from heatproof.sheet.catalogue import catalogue
from heatproof.sheet.questions import Sheet
from heatproof.sheet.reading import read_sheet

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return read_sheet(HERE / "hatchback.yaml")[0]


def test_tyre() -> None:
    """185/60 R15: 15 · 12.7 + 185 · 0.60 = 301.5 mm unloaded, 0.971 of it 292.8 mm."""
    assert R.tyre_radius("185/60 R15") == pytest.approx(0.2928, abs=1e-4)
    assert R.tyre_radius("185/60R15") == R.tyre_radius("185/60 ZR15")
    assert R.tyre_radius("fifteen inches") is None


def test_efficiency_by_compression() -> None:
    """0.64 (1 − 10.5^−0.4): ln 10.5 = 2.351, 10.5^−0.4 = e^−0.9406 = 0.3904, so 39.0 %."""
    assert R.indicated_efficiency(10.5) == pytest.approx(0.390, abs=5e-4)
    assert R.indicated_efficiency(9.0) == pytest.approx(0.374, abs=5e-4)


def test_filling_gives_back_the_rated_power(sheet: Sheet) -> None:
    """The mean-value equations run forwards from the filling: 99 kPa and 40 °C in the manifold, λ 0.90, friction off."""
    engine, eta_v = sheet.engine, R.filling_needed(sheet.engine, sheet.engine.power, sheet.engine.power_speed)
    n = engine.power_speed
    air = eta_v * 99e3 / (287.05 * 313.15) * engine.displacement * n / 2.0
    indicated = (
        air / 14.5 * 42.8e6 * R.indicated_efficiency(10.5) * 1.03
    )  # 1.03: power at λ 0.90 over that at 1
    thousands = n * 60.0 / 1000.0
    friction = 0.65 * (0.97 + 0.15 * thousands + 0.05 * thousands**2) * 1e5
    assert indicated - (friction + 15e3) * engine.displacement * n / 2.0 == pytest.approx(
        engine.power, rel=1e-6
    )


def test_gears_hit_the_rev_counter(sheet: Sheet) -> None:
    """Top gear: 100 km/h at the speed answered. First: 8 km/h per 1000 rpm."""
    radius = R.tyre_radius(sheet.car.tyre)
    assert radius is not None
    ratios = R.gear_ratios(sheet.car, radius)
    assert ratios == sorted(ratios, reverse=True)
    for ratio, speed, turns in ((ratios[-1], 100 / 3.6, 3000 / 60), (ratios[0], 8 / 3.6, 1000 / 60)):
        assert speed / (2 * math.pi * radius) * ratio * 4.0 == pytest.approx(turns, rel=2e-3)


def test_share_on_a_rod_is_the_integral_of_its_solid_angle() -> None:
    d, length, h = 0.02, 0.8, 0.15
    solid, _ = quad(lambda z: d * h / (h * h + z * z) ** 1.5, -length / 2, length / 2)
    assert R.rod_share(d, length, h) == pytest.approx(solid / (4 * math.pi), rel=1e-9)


def test_share_on_a_disc_against_drawn_rays() -> None:
    rng = np.random.default_rng(1)
    ray = rng.normal(size=(400_000, 3))
    forward = ray[ray[:, 0] > 0.0]
    at = forward[:, 1:] / forward[:, :1] * 0.2
    share = np.sum(np.hypot(at[:, 0], at[:, 1]) < 0.1) / len(ray)
    assert R.disc_share(math.pi * 0.1**2, 0.2) == pytest.approx(share, abs=1.5e-3)


def test_mean_distance_is_that_of_the_inverse_square() -> None:
    h, length = 0.08, 0.6
    mean = quad(lambda z: 1.0 / (h * h + z * z), -length / 2, length / 2)[0] / length
    assert R.mean_distance(h, length) == pytest.approx(mean**-0.5, rel=1e-9)


@pytest.mark.parametrize(
    ("hot", "other", "law"),
    [
        ((0.115, 0.055), (0.050, 0.020), lambda a, d: coaxial_discs(math.sqrt(a / math.pi), 0.0575, d)),
        ((0.060, 0.070), (0.300, 0.160), lambda a, d: coaxial_discs(math.sqrt(a / math.pi), 0.150, d)),
    ],
)
def test_a_facing_link_exchanges_what_was_asked(hot: tuple, other: tuple, law) -> None:
    """Howell C-41: a disc of the larger part's diameter."""
    area = R.facing_area(0.055 * 0.03, 0.11, hot, other)
    assert area * law(area, 0.11) == pytest.approx(0.055 * 0.03, rel=1e-6)


def test_catalogue_is_whole() -> None:
    kinds = catalogue()
    assert len(kinds) >= 40
    for kind in kinds.values():
        assert kind.mass > 0.0
        assert kind.surface > 0.0
        assert kind.material or kind.heat_capacity
        assert kind.limit["source"]


def test_every_rule_names_its_spread_and_source() -> None:
    for rule in R.rules().values():
        assert rule.spread, rule.rule
        assert rule.source, rule.rule
        assert rule.what, rule.rule
