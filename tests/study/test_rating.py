"""Rating: the ambient found really is where the verdict turns; the trade's formulas by hand."""

import json
import math
from pathlib import Path

import pytest

from heatproof.doors.cli import run
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.study.questions.rating import Cell, rating
from heatproof.study.runs.cases import case, run_case
from heatproof.study.runs.conditions import on_day, powered
from heatproof.study.search.bracket import last_that_holds


@pytest.mark.parametrize(
    ("law", "edge"),
    [
        (lambda x: 30.0 - x, 30.0),
        (lambda x: 9.0 - x * x / 100.0, 30.0),
        (lambda x: math.exp(-x / 20.0) - 0.5, 13.863),
    ],
)
def test_bracket_against_closed_forms(law, edge: float) -> None:  # type: ignore[no-untyped-def]
    found = last_that_holds(
        lambda x: (law(x), None),
        start=20.0,
        near=0.0,
        far=60.0,
        slope=-1.0,
        slack_within=0.0,
        value_within=0.05,
    )
    assert found.end == "limit"
    assert edge - 0.05 <= found.value <= edge + 1e-3
    assert law(found.value) >= 0.0


@pytest.mark.parametrize(("level", "end"), [(100.0, "always"), (-1.0, "never")])
def test_bracket_without_an_edge(level: float, end: str) -> None:
    found = last_that_holds(
        lambda x: (level, None),
        start=20.0,
        near=0.0,
        far=60.0,
        slope=-1.0,
        slack_within=0.2,
        value_within=0.2,
    )
    assert found.end == end


def test_bracket_downwards() -> None:
    found = last_that_holds(
        lambda x: (x - 7.0, None),
        start=20.0,
        near=20.0,
        far=0.0,
        slope=1.0,
        slack_within=0.01,
        value_within=0.01,
    )
    assert found.end == "limit"
    assert found.value == pytest.approx(7.0, abs=0.02)


@pytest.fixture(scope="module")
def cells(choice_project: Project) -> tuple[Cell, ...]:
    fitted = ("wrap", "loom_sleeve", "hose_moved", "box_foil")
    return rating(choice_project, fitted, levels=(1.0,), spreads=False, altitudes=(None, 1500.0)).cells


def test_the_verdict_turns_at_the_rated_ambient(choice_project: Project, cells: tuple[Cell, ...]) -> None:
    variant = choice_project.variant(("wrap", "loom_sleeve", "hose_moved", "box_foil"))
    assert len(cells) == 4
    for one in cells:
        assert one.end == "limit"
        assert one.ambient is not None
        duty = choice_project.duties[one.duty]
        there = run_case(case(variant, {one.duty: on_day(duty, one.ambient, one.altitude, None)}))
        hotter = run_case(case(variant, {one.duty: on_day(duty, one.ambient + 0.6, one.altitude, None)}))
        assert 0.0 <= there.smallest < 0.6
        assert hotter.smallest < 0.0
        assert min(there.margins, key=there.margins.__getitem__)[0] == one.part


def test_naturally_aspirated_has_no_boost_to_scale(choice_project: Project) -> None:
    variant = choice_project.variant(())
    assert powered(variant, 0.5) is variant


def test_boost_is_scaled() -> None:
    import heatproof
    from heatproof.kit.read import read_project

    example = read_project(Path(heatproof.__file__).parent / "examples" / "hatchback").variant()
    half = powered(example, 0.5)
    assert half.engine.boost == pytest.approx(0.5 * example.engine.boost)  # type: ignore[operator]
    pressures = (101325.0 + 0.5 * example.engine.boost) / (101325.0 + example.engine.boost)  # type: ignore[operator]
    assert half.engine.rated_power == pytest.approx(example.engine.rated_power * pressures)


def test_spread_lowers_the_rating(choice_project: Project, cells: tuple[Cell, ...]) -> None:
    fitted = ("wrap", "loom_sleeve", "hose_moved", "box_foil")
    sure = rating(choice_project, fitted, levels=(1.0,), uses=("grade",)).cells[0]
    plain = next(one for one in cells if one.use == "grade" and one.altitude is None)
    assert sure.ambient is not None
    assert plain.ambient is not None
    assert sure.ambient < plain.ambient - 0.5


def test_formulas_by_hand() -> None:
    """LAT = T_limit − T + T_amb, ATB = T_boil − T + T_amb (SAE J1393, as summarised)."""
    from heatproof.laws.vehicle import air_to_boil, limiting_ambient

    assert limiting_ambient(120.0, 108.0, 35.0) == 47.0
    assert air_to_boil(126.0, 108.0, 35.0) == 53.0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"uses": ["race"]}, "no duty stands for"),
        ({"levels": [9.0]}, "level out of range"),
        ({"altitudes": [9e4]}, "altitude"),
    ],
)
def test_wrong_options_are_refused(choice_project: Project, options: dict, said: str) -> None:
    with pytest.raises(Refused, match=said):
        rating(choice_project, **options)


def test_command_line(choice_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plot = tmp_path / "map.png"
    arguments = ["rating", str(choice_folder), "--no-spread", "--level", "100", "--use", "street"]
    assert run([*arguments, "--fit", "loom_sleeve,hose_moved", "--json", "--plot", str(plot)]) == 0
    (cell,) = json.loads(capsys.readouterr().out)["cells"]
    assert cell["end"] == "limit"
    assert 30.0 < cell["ambient_degC"] < 60.0
    assert plot.read_bytes()[:4] == b"\x89PNG"
    assert run(["rating", str(choice_folder), "--ac", "perhaps"]) == 2
