"""Sheets: read, refused, checked against themselves, made into projects that solve."""

from pathlib import Path

import numpy as np
import pytest
from sheet_projects import HERE, SHEETS, project_of

from heatproof.kit.examples import EXAMPLES
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.kit.tree import Source
from heatproof.network import signals as S
from heatproof.sheet.blank import blank_sheet
from heatproof.sheet.build import layouts
from heatproof.sheet.project import start_from_sheet
from heatproof.sheet.questions import questions
from heatproof.sheet.reading import sheet_of
from heatproof.study.questions.check import check
from heatproof.study.runs.cases import case, run_case
from heatproof.verdict.solving import solve_all

TEXT = (HERE / "hatchback.yaml").read_text(encoding="utf-8")


def with_text(old: str, new: str) -> Source:
    assert old in TEXT
    return Source("sheet.yaml", TEXT.replace(old, new))


def test_few_numbers_must_be_answered() -> None:
    numbers = [q for q in questions() if q.field.shape == "number" and q.field.required]
    assert len(numbers) <= 35


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_gives_a_project_without_faults(name: str) -> None:
    project = project_of(name)
    assert [f for f in project.findings if f.level != "note"] == []
    assert len(project.variant().parts) > 35
    assert (project.folder / "car.yaml").read_text(encoding="utf-8").count("class ") > 150


@pytest.mark.parametrize("name", SHEETS)
def test_and_it_solves(name: str) -> None:
    project = project_of(name)
    outcome = run_case(case(project.variant(), project.duties))
    assert outcome.unsolved == {}
    assert len(outcome.margins) > 150


@pytest.mark.parametrize("layout", sorted(layouts()))
def test_every_layout_solves(layout: str, tmp_path: Path) -> None:
    start_from_sheet(tmp_path / "own", with_text("layout: across_exhaust_rear", f"layout: {layout}"))
    project = read_project(tmp_path / "own")
    assert [f for f in project.findings if f.level == "error"] == []
    duties = {key: project.duties[key] for key in ("long_hill", "town_crawl")}
    assert run_case(case(project.variant(), duties)).unsolved == {}


@pytest.mark.parametrize("name", ["hatchback", "pickup"])
def test_shipped_examples_from_their_own_sheet(name: str) -> None:
    """In the example's own duties most margins come within 5 K and few stray far, from answers alone. The hot faces of
    plastic parts do: a sheet knows a distance, not which half looks.

    Against the full description; the share inside the sheet's own bands is measured in docs/own-car-measured.md.
    """
    full = check(EXAMPLES / name, spreads=False, fresh=True)
    project, example = project_of(name), read_project(EXAMPLES / name)
    outcome = run_case(case(project.variant(), example.duties))
    off = np.array(
        [outcome.margins[r.part, r.duty] - r.margin for r in full.rows if (r.part, r.duty) in outcome.margins]
    )
    assert off.size > 220
    assert np.mean(np.abs(off) <= 5.0) > 0.55  # measured: 68 % and 59 %, in docs/own-car-measured.md
    assert np.sqrt(np.mean(off**2)) < 15.0


@pytest.mark.parametrize("name", SHEETS)
def test_power_reached_is_power_promised(name: str) -> None:
    """At full throttle power follows boost; the filling is solved so that the two agree."""
    project = project_of(name)
    run = solve_all(project.variant(), {"ten_pulls": project.duties["ten_pulls"]})["ten_pulls"].run
    assert run.signal[:, S.BRAKE_POWER].max() == pytest.approx(project.variant().engine.rated_power, rel=0.06)


TRENDS = {
    "turbo 60 mm nearer the brake line": (
        "brake_line: {distance: 120 mm}",
        "brake_line: {distance: 60 mm}",
        "brake_line",
        -1,
    ),
    "smaller opening": ("lower_grille: 700 cm2", "lower_grille: 300 cm2", "coolant.engine_out", -1),
    "second fan": (
        "fans: 1, fan_diameter: 400 mm, fan_power: 320 W",
        "fans: 2, fan_diameter: 320 mm, fan_power: 640 W",
        "coolant.engine_out",
        1,
    ),
    "cooler day": ("hottest_day: 38 degC", "hottest_day: 30 degC", "battery", 1),
    "bonnet vent": ("tunnel_width: 0.35 m", "bonnet_vents: 400 cm2, tunnel_width: 0.35 m", "cam_cover", 1),
    "blanket off": ("blanket: 85 %", "blanket: 0 %", "body_mount", -1),
}


@pytest.mark.parametrize("trend", TRENDS)
def test_trends_of_the_estate(trend: str, tmp_path: Path) -> None:
    """An answer changed moves the margin it should the way it should, in the worst of its duties."""
    old, new, part, sign = TRENDS[trend]
    text = (HERE / "estate.yaml").read_text(encoding="utf-8")
    assert old in text
    start_from_sheet(tmp_path / "own", Source("sheet.yaml", text.replace(old, new)))
    changed = read_project(tmp_path / "own")
    base = project_of("estate")
    keys = ["town_crawl", "long_hill"]
    margins = [
        min(m for (p, _), m in run_case(case(project.variant(), {k: project.duties[k] for k in keys})).margins.items() if p == part)
        for project in (base, changed)
    ]  # fmt: skip
    assert sign * (margins[1] - margins[0]) > 0.1, margins


def test_water_charge_cooler_solves(tmp_path: Path) -> None:
    text = (
        (HERE / "estate.yaml")
        .read_text(encoding="utf-8")
        .replace("cooler_width: 500 mm", "cooler: water, cooler_width: 500 mm")
    )
    start_from_sheet(tmp_path / "own", Source("sheet.yaml", text))
    project = read_project(tmp_path / "own")
    outcome = run_case(case(project.variant(), {"long_hill": project.duties["long_hill"]}))
    assert outcome.unsolved == {}
    assert any(part.startswith("circuits.low_temperature") for part, _ in outcome.margins)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("displacement: 1.8 L", "displacement: 2.8 L", "bore and stroke give"),
        ("tyre: 185/60 R15", "tyre: fifteen", "tyre not understood"),
        ("power: 100 kW", "power: 400 kW", "mean pressure"),
        ("power: 165 kW", "power: 600 kW", "are promised"),
        ("brake_line: {", "brake_lin: {", "no kind of part"),
        ("uses: [town", "uses: [tow, town", "sold for towing"),
        ("layout: across_exhaust_rear", "layout: sideways", "layout is none of the allowed words"),
        ("red_line: 6800 rpm", "red_line: 6800 kg", "rpm"),
        ("boost_from: 3000 rpm", "boost_from: 6500 rpm", "full boost begins"),
        ("idle_speed", "idle_speed", ""),
    ][:-1],
)
def test_a_wrong_answer_is_refused_by_its_name(old: str, new: str, says: str) -> None:
    with pytest.raises(Refused, match=says):
        sheet_of(with_text(old, new))


def test_all_wrong_answers_come_at_once() -> None:
    with pytest.raises(Refused) as caught:
        sheet_of(Source("sheet.yaml", TEXT.replace("bore: 81 mm, ", "").replace("gears: 5", "gears: many")))
    assert len([f for f in caught.value.findings if f.level == "error"]) >= 2


def test_a_doubtful_answer_is_said_and_what_follows() -> None:
    _, findings = sheet_of(with_text("top_speed: 215 km/h", "top_speed: 180 km/h"))
    (said,) = [f for f in findings if f.code == "sheet.top_speed"]
    assert said.level == "warning"
    assert "runs" in said.next_step


def test_the_blank_sheet_asks_every_question_once() -> None:
    blank = blank_sheet()
    for question in questions():
        assert blank.count(question.asked.words) >= 1, question.path
    with pytest.raises(Refused) as caught:
        sheet_of(Source("blank.yaml", blank))
    missing = [f for f in caught.value.findings if f.level == "error"]
    assert len(missing) >= 5


def test_made_anew_keeps_what_was_changed_by_hand(tmp_path: Path) -> None:
    folder = tmp_path / "own"
    start_from_sheet(folder, Source("sheet.yaml", TEXT))
    car = folder / "car.yaml"
    text = car.read_text(encoding="utf-8")
    assert 'glycol: "50 %"' in text or "glycol: 50 %" in text
    at = text.index("glycol:")
    car.write_text(text[:at] + text[at:].replace("50 %", "40 %", 1), encoding="utf-8")
    findings = start_from_sheet(folder, with_text("radiator_depth: 34 mm", "radiator_depth: 50 mm"))
    again = read_project(folder)
    assert again.variant().coolant.glycol == pytest.approx(0.40)
    assert again.variant().cores["radiator"].geometry.depth == pytest.approx(0.050)
    assert any(f.code == "sheet.kept" for f in findings)


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(Refused, match="something already"):
        start_from_sheet(tmp_path, Source("sheet.yaml", TEXT))
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
