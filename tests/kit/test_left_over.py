"""Values of an example that stay in a car of another name are told, each of them, and nothing is released with them."""

import re
import shutil
from pathlib import Path

import pytest

from heatproof.kit.examples import EXAMPLES, examples
from heatproof.kit.findings import Refused
from heatproof.kit.left_over import left_over, numbers_of_example
from heatproof.kit.read import read_project
from heatproof.report.release import build


def copied(example: str, folder: Path) -> Path:
    shutil.copytree(EXAMPLES / example, folder, ignore=shutil.ignore_patterns("results"))
    return folder


def renamed(folder: Path) -> None:
    car = folder / "car.yaml"
    car.write_text(re.sub(r"^name: .*$", "name: My own car", car.read_text(), count=1, flags=re.MULTILINE))


@pytest.mark.parametrize("example", examples())
def test_the_example_itself_is_not_told(example: str, tmp_path: Path) -> None:
    project = read_project(copied(example, tmp_path / "own"))
    assert left_over(project) is None
    assert not any(f.code == "project.left_over" for f in project.findings)


@pytest.mark.parametrize("example", examples())
def test_name_and_twenty_values_changed(example: str, tmp_path: Path) -> None:
    """All numbers of the example but the twenty are told."""
    folder = copied(example, tmp_path / "own")
    renamed(folder)
    car = folder / "car.yaml"
    text, changed = car.read_text(), 0
    for mass in re.findall(r"mass: ([\d.]+) kg, ", text)[:20]:
        text = text.replace(
            f"mass: {mass} kg, ", f"mass: {mass}1 kg, " if "." in mass else f"mass: {mass}.01 kg, ", 1
        )
    car.write_text(text)
    before = dict(numbers_of_example(example))
    project = read_project(folder)
    left = left_over(project)
    assert left is not None
    changed = len(before) - len(left.places)
    assert changed == 20
    assert all(before[place] == value for place, value in left.places.items())
    (finding,) = [f for f in project.findings if f.code == "project.left_over"]
    assert finding.what.startswith(f"{len(before) - 20} values")


def test_nothing_is_released_with_them(tmp_path: Path) -> None:
    folder = copied("hatchback", tmp_path / "own")
    renamed(folder)
    with pytest.raises(Refused, match="never touched"):
        build(read_project(folder))


def test_a_car_from_a_sheet_has_none() -> None:
    assert left_over(read_project(Path(__file__).parent / "small")) is None
