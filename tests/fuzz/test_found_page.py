"""What damaged requests have found (see `test_found`)."""

import shutil
from pathlib import Path

import pytest

pytest.importorskip("fastapi")
from fastapi.testclient import TestClient

from heatproof.doors.page.app import make_app

SMALL = Path(__file__).parents[1] / "kit" / "small"


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    folder = Path(shutil.copytree(SMALL, tmp_path_factory.mktemp("page") / "small"))
    app = make_app(folder, background=False)
    with TestClient(app, base_url="http://127.0.0.1:8000") as made:
        assert app.state.start.need().wait(120.0) is not None
        yield made


@pytest.mark.parametrize("path", ["variants", "against", "take", "start"])
def test_half_a_character_is_refused_and_the_refusal_arrives(client, path):
    """JSON can write one half of a surrogate pair; no file and no reply can hold it."""
    body = b'{"version": 1, "name": "\\ud800", "folder": "\\ud800", "\\udfff": 1}'
    reply = client.post(f"/api/{path}", content=body, headers={"content-type": "application/json"})
    assert reply.status_code == 422
    assert reply.json()["what"]


@pytest.mark.parametrize("path", ["hotspots", "clearance?first=loom&second=head"])
def test_a_car_without_a_bay_has_no_places_in_it(client, path):
    reply = client.get(f"/api/{path}")
    assert reply.status_code == 422
    (finding,) = reply.json()["findings"]
    assert "bay" in finding["what"] or "shape" in finding["what"]
    assert finding["next_step"]


def test_what_was_sent_is_not_sent_back(client):
    reply = client.post("/api/edit", json={"version": "x" * 5000})
    assert reply.status_code == 422
    assert len(reply.text) < 1000
    assert reply.json()["detail"][0]["loc"] == ["body", "version"]
