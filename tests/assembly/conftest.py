from pathlib import Path

import pytest

import heatproof
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant


@pytest.fixture(scope="session")
def project() -> Project:
    return read_project(Path(heatproof.__file__).parent / "examples" / "hatchback")


@pytest.fixture(scope="session")
def kit(project: Project) -> Variant:
    """The invented kit as it stands."""
    return project.variant()


@pytest.fixture(scope="session")
def car(project: Project) -> Variant:
    """The invented car without the kit."""
    return project.bare_car()


@pytest.fixture(scope="session")
def pickup() -> Project:
    """The invented pickup, whose kit has a water-cooled charge cooler."""
    return read_project(Path(heatproof.__file__).parent / "examples" / "pickup")


@pytest.fixture(scope="session")
def pickup_kit(pickup: Project) -> Variant:
    return pickup.variant()
