"""Parts of the catalogue put into a project from the command line, moved nearer, and refused where they cannot be."""

import shutil
from pathlib import Path

import pytest
from sheet_projects import project_of

from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.sheet.parts_of import add_part, move_part
from heatproof.study.runs.cases import case, run_case


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(project_of("estate").folder, tmp_path / "own")
    return tmp_path / "own"


def margin(folder: Path, part: str) -> float:
    project = read_project(folder)
    return run_case(case(project.variant(), {"long_hill": project.duties["long_hill"]})).margins[
        part, "long_hill"
    ]


def test_a_part_is_added_and_judged_and_hotter_when_moved_nearer(folder: Path) -> None:
    added = add_part(read_project(folder), "brake_hose", "turbine_housing", "120 mm")
    assert added.part == "brake_hose"
    project = read_project(folder)
    assert [f for f in project.findings if f.level != "note"] == []
    far = margin(folder, "brake_hose")
    move_part(project, "brake_hose", "turbine_housing", "60 mm")
    assert margin(folder, "brake_hose") < far - 1.0


def test_a_second_of_a_kind_gets_a_number(folder: Path) -> None:
    first = add_part(read_project(folder), "loom", "downpipe", "150 mm")
    assert first.part == "loom_2" or first.part == "loom"
    assert first.part in read_project(folder).variant().parts


@pytest.mark.parametrize(
    ("kind", "near", "gap", "says"),
    [
        ("brake_hos", "turbine_housing", "80 mm", "brake_hose"),
        ("brake_hose", "turbine_housin", "80 mm", "turbine_housing"),
        ("brake_hose", "turbine_housing", "80 kg", "mm"),
    ],
)
def test_what_is_not_known_is_refused_with_the_nearest(
    folder: Path, kind: str, near: str, gap: str, says: str
) -> None:
    before = {path.name: path.read_bytes() for path in folder.glob("*.yaml")}
    with pytest.raises(Refused, match=says):
        add_part(read_project(folder), kind, near, gap)
    assert {path.name: path.read_bytes() for path in folder.glob("*.yaml")} == before
