"""A small invented project with twelve measures and one short duty, for searches that must be quick."""

from pathlib import Path

import pytest
from choice_files import write_choice

from heatproof.kit.project import Project
from heatproof.kit.read import read_project


@pytest.fixture(scope="session")
def choice_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_choice(tmp_path_factory.mktemp("study") / "small")


@pytest.fixture(scope="session")
def choice_project(choice_folder: Path) -> Project:
    return read_project(choice_folder)
