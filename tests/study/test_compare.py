"""Comparing: every figure agrees with a check of that variant alone; the rotor's run-up against a closed form."""

import json
import math
from pathlib import Path

import pytest

import heatproof
from heatproof.doors.cli import run
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.study.questions.compare import Comparison, compare, named_variant
from heatproof.study.questions.spool import BOOST_REACHED, FIRST_SHARE, integrated, shaft_speed, time_to_boost
from heatproof.verdict.solving import solve_all
from heatproof.verdict.verdict import judge

EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"


@pytest.fixture(scope="module")
def compared(choice_project: Project) -> Comparison:
    return compare(
        choice_project, [("base", ()), ("sleeve", ("loom_sleeve",)), ("all", ("wrap", "vent", "loom_sleeve"))]
    )


def test_margins_are_those_of_each_variant_alone(choice_project: Project, compared: Comparison) -> None:
    alone = judge(choice_project.variant(("loom_sleeve",)), choice_project.duties, spreads=False)
    together = compared.variants[1].verdict
    assert {(r.part, r.duty): r.margin for r in together.rows} == {
        (r.part, r.duty): r.margin for r in alone.rows
    }
    assert together.cost == 109.0


def test_changes_sum_to_the_change_of_rise(choice_project: Project, compared: Comparison) -> None:
    assert compared.changes
    for one in compared.changes:
        assert sum(a for _, a, _ in one.causes) == pytest.approx(one.rise_first, rel=1e-6)
        assert sum(b for _, _, b in one.causes) == pytest.approx(one.rise_other, rel=1e-6)
        duty = choice_project.duties[one.duty]
        measures = {"base": (), "sleeve": ("loom_sleeve",), "all": ("wrap", "vent", "loom_sleeve")}[one.other]
        solved = solve_all(choice_project.variant(measures), {one.duty: duty})[one.duty].run
        row = compared.variants[("base", "sleeve", "all").index(one.other)].verdict.row(one.part, one.duty)
        masses = [m for m in solved.network.masses if m in (one.part, f"{one.part}.hot_face")]
        rise = max(solved.state[row.found.row, solved.network.mass(m)] for m in masses) - duty.air.ambient
        assert one.rise_other == pytest.approx(float(rise), rel=1e-6)


def test_largest_change_comes_first(compared: Comparison) -> None:
    sleeve = [one for one in compared.changes if one.other == "sleeve"]
    assert sleeve[0].part == "loom"
    assert sleeve[0].rise_other < sleeve[0].rise_first


@pytest.mark.parametrize(
    ("text", "name", "measures"),
    [
        ("base", "base", ()),
        ("as-fitted", "as-fitted", None),
        ("cheap=box_foil,loom_sleeve", "cheap", ("box_foil", "loom_sleeve")),
        ("more=+vent", "more", ("vent",)),
        ("vent", "vent", ("vent",)),
    ],
)
def test_names(choice_project: Project, text: str, name: str, measures: tuple[str, ...] | None) -> None:
    assert named_variant(choice_project, text) == (name, measures)


def test_unknown_names_are_refused(choice_project: Project) -> None:
    with pytest.raises(Refused, match="loom_slave") as refused:
        named_variant(choice_project, "x=loom_slave")
    assert refused.value.findings[0].nearest == "loom_sleeve"


def test_rotor_run_up_against_closed_form() -> None:
    """Constant surplus P: J ω²/2 grows by P t, so t = J (ω₁² − ω₀²) / (2 P). (Newton.)"""
    inertia, omega_b, power = 2e-5, 15e3, 4e3
    exact = inertia * omega_b**2 * (BOOST_REACHED - FIRST_SHARE**2) / (2.0 * power)
    assert integrated(lambda share: power, inertia, omega_b) == pytest.approx(exact, rel=1e-4)
    assert integrated(lambda share: 1e3 * (0.5 - share), inertia, omega_b) is None


def test_estimated_shaft_speed_is_that_of_usual_wheels() -> None:
    """A wheel for 0.15 kg/s at 70 kJ/kg turns 90 000 to 140 000 rpm (common practice, no source)."""
    import numpy as np

    from heatproof.network import signals as S

    speed = shaft_speed(np.zeros((3, S.COUNT)), 70e3, 0.15, 1.15) * 30.0 / math.pi
    assert 0.9e5 < speed < 1.4e5


@pytest.mark.slow
def test_time_to_boost_follows_the_rotor() -> None:
    project = read_project(EXAMPLE)
    variant = project.variant()
    runs = solve_all(variant, {"ten_pulls": project.duties["ten_pulls"]}).values()
    t = time_to_boost(variant, runs)
    heavy = time_to_boost(variant.with_value("turbo.rotor_inertia", 2.0 * variant.turbo.rotor_inertia), runs)  # type: ignore[union-attr]
    assert t is not None
    assert heavy is not None
    assert 0.1 < t < 6.0
    assert heavy == pytest.approx(2.0 * t, rel=0.02)


def test_without_turbo_there_is_no_boost(compared: Comparison) -> None:
    assert all(one.time_to_boost is None for one in compared.variants)


def test_command_line(choice_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        run(["compare", str(choice_folder), "base", "all", "cheap=box_foil", "--json", "--duty", "crawl"])
        == 0
    )
    data = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in data["variants"]] == ["base", "all", "cheap"]
    assert data["variants"][2]["cost"] == 106.0
    assert {one["duty"] for one in data["changes"]} == {"crawl"}
    assert (
        run(["compare", str(choice_folder), "base", "cheap=box_foil", "--duty", "crawl", "--part", "box"])
        == 1
    )
    text = capsys.readouterr().out
    assert "from base to cheap" in text
