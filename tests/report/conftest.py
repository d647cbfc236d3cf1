"""A small invented project with geometry of one shield, and one release of it, shared by all tests of papers."""

import shutil
from pathlib import Path

import pytest

from heatproof.kit.read import read_project
from heatproof.report.release import Built, build

SMALL = Path(__file__).parents[1] / "kit" / "small"


def small_project(folder: Path) -> Path:
    """A copy of the small project without stored results."""
    shutil.copytree(SMALL, folder, ignore=shutil.ignore_patterns("results"))
    return folder


@pytest.fixture(scope="session")
def paper_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_project(tmp_path_factory.mktemp("papers") / "small")


@pytest.fixture(scope="session")
def built(paper_folder: Path) -> Built:
    """One release with everything in it."""
    return build(read_project(paper_folder), day="2026-01-31")
