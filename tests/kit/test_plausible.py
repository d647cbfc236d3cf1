"""Figures that cannot belong to one another: bounds by hand, warnings from 1.5 times, refused from 5 times, both figures said."""

import math
from pathlib import Path

import pytest

from heatproof.kit.checks.plausible import MOST_HEAT, SLENDER, check_plausible
from heatproof.kit.examples import EXAMPLES
from heatproof.kit.findings import Findings, Refused
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant


def said(variant: Variant) -> dict[str, str]:
    """Code → level."""
    findings = Findings()
    check_plausible(variant, findings)
    return {finding.code: finding.level for finding in findings}


@pytest.fixture(scope="module")
def car() -> Variant:
    return read_project(EXAMPLES / "hatchback").variant()


@pytest.mark.parametrize("example", ["hatchback", "pickup"])
def test_shipped_examples_are_plausible_whatever_is_fitted(example: str) -> None:
    project = read_project(EXAMPLES / example)
    for measure in (None, *project.measures):
        assert said(project.variant(None if measure is None else project.companions(measure))) == {}, measure


def test_a_body_holds_no_more_than_the_ball_of_its_surface(car: Variant) -> None:
    """240 cm² hold at most π d³/6 of d = √(A/π): 350 cm³, 0.43 kg of chloroprene at 1230 kg/m³."""
    d = math.sqrt(0.024 / math.pi)
    most = math.pi * d**3 / 6.0 * 1230.0
    for mass, level in (
        (1.4 * most, None),
        (1.7 * most, "warning"),
        (4.6 * most, "warning"),
        (5.6 * most, "error"),
        (120.0, "error"),
    ):
        assert said(car.with_value("parts.steering_boot.mass", mass)).get("part.bulk") == level, mass
    assert said(car.with_value("parts.bonnet.mass", 0.05)).get("part.thin") is not None


def test_a_900_mm_reservoir_of_350_cm2_is_refused(car: Variant) -> None:
    root = math.sqrt(0.035)
    for size, level in ((1.4 * SLENDER * root, None), (1.6 * SLENDER * root, "warning"), (0.9, "error")):
        assert said(car.with_value("parts.brake_reservoir.size", size)).get("part.size") == level, size


def test_heat_capacity_lies_between_metals_and_water(car: Variant) -> None:
    """Lead has 130 J/kg/K, water 4186 (handbook): both pass; the boot's 500 J/K written as 50,000 does not."""
    mass = car.parts["brake_reservoir"].mass
    path = "parts.brake_reservoir.heat_capacity"
    assert "part.heat" not in said(car.with_value(path, 4186.0 * mass))
    assert said(car.with_value(path, 1.6 * MOST_HEAT * mass))["part.heat"] == "warning"
    assert said(car.with_value(path, 50_000.0))["part.heat"] == "error"


def test_bore_and_stroke_against_displacement(car: Variant) -> None:
    D = car.engine.displacement
    for factor, level in ((1.02, None), (1.1, "warning"), (1.6, "error"), (0.6, "error")):
        assert said(car.with_value("engine.displacement", factor * D)).get("engine.displacement") == level, (
            factor
        )


def test_grille_against_radiator(car: Variant) -> None:
    """1,200 mm² before a radiator of 2,900 cm²: cm² were meant."""
    tiny = car.with_value("air.passages.upper_grille.area", 6e-4).with_value(
        "air.passages.lower_grille.area", 6e-4
    )
    assert said(tiny)["core.opening"] == "error"
    small = car.with_value("air.passages.upper_grille.area", 0.02).with_value(
        "air.passages.lower_grille.area", 0.02
    )
    assert said(small)["core.opening"] == "warning"


def test_both_figures_are_said_and_a_file_is_refused_with_its_line(tmp_path: Path) -> None:
    import shutil

    shutil.copytree(EXAMPLES / "hatchback", tmp_path / "kit")
    file = tmp_path / "kit" / "car.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace("steering_boot:    {mass: 0.12 kg", "steering_boot:    {mass: 120 kg"), encoding="utf-8"
    )
    with pytest.raises(Refused, match="more mass than its surface can hold") as refused:
        read_project(tmp_path / "kit")
    (finding,) = (f for f in refused.value.findings if f.code == "part.bulk")
    assert finding.where.file == "car.yaml"
    assert finding.where.line > 100
    assert "120 kg against 0.024 m2" in finding.got
