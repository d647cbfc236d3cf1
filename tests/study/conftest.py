"""A small invented project with twelve measures and one short duty, for searches that must be quick."""

import shutil
from pathlib import Path

import pytest

from heatproof.kit.project import Project
from heatproof.kit.read import read_project

HERE = Path(__file__).parent
SMALL = HERE.parent / "kit" / "small"

DUTY = """name: Hill
use: grade
air: {ambient: 38 degC, altitude: 500 m}
drive: {kind: grade, speed: 80 km/h, grade: 6 %, duration: 5 min}
soak: 8 min
"""
CRAWL = """name: Short crawl
use: street
air: {ambient: 40 degC}
drive: {kind: crawl, speed: 14 km/h, moving: 20 s, standing: 25 s, duration: 4 min}
soak: 5 min
"""


def write_choice(folder: Path) -> Path:
    """The project's files."""
    shutil.copytree(SMALL, folder)
    shutil.copy(HERE / "choice_kit.yaml", folder / "kit.yaml")
    for name, text in (("hill", DUTY), ("crawl", CRAWL)):
        (folder / "duties" / f"{name}.yaml").write_text("format: heatproof duty 1\n" + text, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def choice_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_choice(tmp_path_factory.mktemp("study") / "small")


@pytest.fixture(scope="session")
def choice_project(choice_folder: Path) -> Project:
    return read_project(choice_folder)
