"""The demo behind the HTTP interface, without background work."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("fastapi")
from fastapi.testclient import TestClient

from heatproof.doors.page.app import make_app
from heatproof.doors.page.desk import Desk
from heatproof.kit.examples import EXAMPLES

HERE = "http://127.0.0.1:8000"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the demo."""
    return Path(
        shutil.copytree(EXAMPLES / "hatchback", tmp_path / "demo", ignore=shutil.ignore_patterns("results"))
    )


@pytest.fixture
def desk(folder: Path) -> Desk:
    """A desk on a fresh copy; nothing is solved."""
    return Desk(folder)


@pytest.fixture(scope="session")
def solved(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A client with its full answer there, shared: what a test edits it undoes."""
    copy = Path(shutil.copytree(EXAMPLES / "hatchback", tmp_path_factory.mktemp("page") / "demo"))
    app = make_app(copy, background=False)
    with TestClient(app, base_url=HERE) as client:
        assert app.state.start.need().wait(120.0) is not None
        yield client
