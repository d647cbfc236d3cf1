"""First-order confidence: normal quantiles from tables, groups, ranges, and sensitivities of a whole run."""

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from heatproof.kit.convert import Spread
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import solve_all
from heatproof.verdict.spread import (
    Sensitivities,
    confidence,
    half_width,
    margin_values,
    sensitivities,
)
from heatproof.verdict.uncertain import declared_range, groups, moved
from heatproof.verdict.verdict import state_of

SMALL = Path(__file__).parents[1] / "kit" / "small"


@pytest.fixture(scope="module")
def project() -> Project:
    return read_project(SMALL)


# Standard normal table (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1), from memory.
@pytest.mark.parametrize(
    ("z", "area"), [(0.0, 0.5), (1.0, 0.84134), (1.645, 0.95002), (2.33, 0.99010), (-1.0, 0.15866)]
)
def test_confidence_is_the_normal_area(z: float, area: float) -> None:
    assert confidence(z * 4.0, 4.0) == pytest.approx(area, abs=1e-5)
    assert confidence(z, 1.0) == pytest.approx(norm.cdf(z), abs=1e-12)  # SciPy


def test_without_spread_the_sign_decides() -> None:
    assert (confidence(1.0, 0.0), confidence(-1.0, 0.0)) == (1.0, 0.0)


@pytest.mark.parametrize("required", [0.6, 0.9, 0.95, 0.99])
@pytest.mark.parametrize("margin", [0.5, 5.0, 9.0, 30.0])
def test_band_crosses_the_line_just_where_confidence_falls_short(required: float, margin: float) -> None:
    sd = 6.0
    holds = state_of(margin, half_width(sd, required)) == "holds"
    assert holds == (confidence(margin, sd) >= required)


def test_states() -> None:
    assert [state_of(m, 8.0) for m in (-1.0, 0.0, 3.0, 8.0, 9.0)] == [
        "over",
        "over",
        "thin",
        "holds",
        "holds",
    ]
    assert state_of(0.1, None) == "holds"


def test_named_sources_tie_values_together_vague_ones_do_not() -> None:
    sources = ["bench, core 2", "estimate", "bench, core 2", "estimate", "", "", "Invented", "handbook"]
    spreads = {f"v{i}": Spread(1.0, 0.1, source) for i, source in enumerate(sources)}
    found = groups(spreads)
    assert found[0] == found[2]
    assert len(set(found)) == len(sources) - 1


def test_variance_adds_in_groups_and_between_them() -> None:
    """Tied: (3 + 4)² ; apart: 3² + 4²."""
    change = np.array([[3.0, 4.0, 12.0]])
    tied = Sensitivities((("a", "b"),), ("x", "y", "z"), np.ones(3), change, np.array([0, 0, 1]))
    apart = Sensitivities((("a", "b"),), ("x", "y", "z"), np.ones(3), change, np.array([0, 1, 2]))
    assert tied.sds()[0] == pytest.approx(np.hypot(7.0, 12.0))
    assert apart.sds()[0] == pytest.approx(13.0)
    assert apart.of(("a", "b"))[0] == ("z", 12.0)
    assert apart.slope(("a", "b"), "y") == 4.0


def test_a_value_at_its_end_moves_inwards(project: Project) -> None:
    variant = project.variant()
    assert declared_range(variant, "parts.loom.emissivity") == (0.01, 1.0)
    down, steps = moved(variant, "parts.loom.emissivity", Spread(0.9, 0.2))
    assert (down.value("parts.loom.emissivity"), steps) == (pytest.approx(0.7), pytest.approx(-1.0))
    up, steps = moved(variant, "parts.loom.emissivity", Spread(0.9, 0.05))
    assert (up.value("parts.loom.emissivity"), steps) == (pytest.approx(0.95), pytest.approx(1.0))
    part, steps = moved(variant, "parts.loom.emissivity", Spread(0.9, 2.0))
    assert (part.value("parts.loom.emissivity"), steps) == (0.01, pytest.approx(-0.445))


def test_sensitivities_are_the_change_of_the_margin(project: Project) -> None:
    """One column against two runs made by hand; and two at once give the same as one at a time."""
    variant, duties = project.variant(), project.duties
    parts = judged(variant)
    base = margin_values(solve_all(variant, duties), parts)
    matrix = sensitivities(variant, duties, base, jobs=2)
    key = ("loom", "hill")
    assert matrix.keys == (key,)
    assert set(matrix.paths) == {p for p, s in variant.spreads.items() if s.sd > 0.0}
    assert not matrix.unsolved
    path, largest = matrix.of(key)[0]
    assert abs(largest) > 0.02
    sd = variant.spreads[path].sd
    there = variant.with_value(path, variant.value(path) + sd)
    by_hand = margin_values(solve_all(there, duties), parts)[key] - base[key]
    assert largest == pytest.approx(by_hand, abs=1e-9)
    again = sensitivities(variant, duties, base, jobs=1)
    assert np.array_equal(again.change, matrix.change)


@pytest.mark.slow
def test_sampling_agrees_with_first_order(project: Project) -> None:
    """60 draws of all uncertain values: their spread of margins against the first-order one."""
    variant, duties = project.variant(), project.duties
    parts, key = judged(variant), ("loom", "hill")
    base = margin_values(solve_all(variant, duties), parts)
    first_order = float(sensitivities(variant, duties, base).value_sds()[0])
    random = np.random.default_rng(7)
    margins = []
    for _ in range(60):
        drawn = variant
        for path, spread in variant.spreads.items():
            low, high = declared_range(variant, path)
            drawn = drawn.with_value(path, float(np.clip(random.normal(spread.value, spread.sd), low, high)))
        margins.append(margin_values(solve_all(drawn, duties), parts)[key])
    # The standard deviation of 60 draws is itself known to about 9 % (1/√(2·59)): three times that.
    assert np.std(margins, ddof=1) == pytest.approx(first_order, rel=0.28)
