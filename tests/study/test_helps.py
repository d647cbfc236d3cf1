"""What would help a part most, and a rating without a part: against runs made by hand. The project is invented."""

import json
from pathlib import Path

import pytest

from heatproof.doors.cli import run
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.study.questions.explain import Explained, explain
from heatproof.study.questions.rating import rating
from heatproof.study.runs.cases import case, run_case

FITTED = ("wrap", "vent")


@pytest.fixture(scope="module")
def told(choice_project: Project) -> Explained:
    return explain(choice_project, "loom", FITTED, duty="crawl", spreads=False, helps=True)


def test_gains_are_those_of_runs_by_hand(choice_project: Project, told: Explained) -> None:
    duties = {"crawl": choice_project.duties["crawl"]}
    before = run_case(case(choice_project.variant(FITTED), duties)).margins["loom", "crawl"]
    assert {one.measure for one in told.helps} == set(choice_project.measures) - set(FITTED)
    assert [one.gained for one in told.helps] == sorted((one.gained for one in told.helps), reverse=True)
    best = told.helps[0]
    after = run_case(case(choice_project.variant((*FITTED, best.measure)), duties)).margins["loom", "crawl"]
    assert best.gained == pytest.approx(after - before, abs=1e-9)
    assert best.gained > 1.0
    assert best.measure in ("loom_sleeve", "loom_moved")
    assert best.cost == choice_project.measures[best.measure].cost


def test_prerequisites_come_along_and_exclusions_go(told: Explained) -> None:
    by_name = {one.measure: one for one in told.helps}
    assert by_name["box_gasket"].also == ("box_foil",)
    assert by_name["box_gasket"].cost == 9.0
    assert by_name["coating"].gone == ("wrap",)
    assert by_name["coating"].cost == 60.0 - 35.0


def test_command_line(choice_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["explain", str(choice_folder), "loom", "--variant", ",".join(FITTED), "--duty", "crawl"]
    assert run([*arguments, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["helps"][0]["gained_K"] > 1.0
    assert data["cautions"]
    assert run(arguments) == 0
    text = capsys.readouterr().out
    assert "Measure that would help" in text
    assert "--moves" in text
    assert "A prediction is not proof" in text


def test_rating_without_the_part_that_runs_out_first(choice_project: Project) -> None:
    fitted = ("wrap", "loom_sleeve", "hose_moved", "box_foil")
    options = {"levels": (1.0,), "uses": ("grade",), "spreads": False}
    (whole,) = rating(choice_project, fitted, **options).cells  # type: ignore[arg-type]
    found = rating(choice_project, fitted, without=[whole.part], **options)  # type: ignore[arg-type]
    (rest,) = found.cells
    assert rest.part != whole.part
    assert rest.ambient is not None
    assert whole.ambient is not None
    assert rest.ambient > whole.ambient
    assert any(whole.part in one.what and one.level == "warning" for one in found.findings)
    with pytest.raises(Refused, match="lom"):
        rating(choice_project, fitted, without=["lom"], **options)  # type: ignore[arg-type]
