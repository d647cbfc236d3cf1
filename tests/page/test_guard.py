"""Who may ask, and what may be sent. Rules: OWASP cheat sheets on DNS rebinding and cross-site request forgery."""

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from heatproof.doors.page.app import make_app
from heatproof.doors.page.guard import LARGEST_BODY
from heatproof.doors.verbs import serve

from .conftest import HERE


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """No project open."""
    return TestClient(make_app(None, root=tmp_path_factory.mktemp("root"), background=False), base_url=HERE)


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example:8000", ""]
)
def test_a_foreign_host_name_is_refused(bare: TestClient, host: str) -> None:
    assert bare.get("/api/start", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost:1", "[::1]:8000", "LOCALHOST"])
def test_this_machine_is_answered(bare: TestClient, host: str) -> None:
    assert bare.get("/api/start", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://127.0.0.1:9999", "https://localhost"]
)
def test_a_post_from_another_site_is_refused(bare: TestClient, origin: str) -> None:
    reply = bare.post("/api/start", json={"folder": "x"}, headers={"origin": origin})
    assert reply.status_code == 403


def test_a_post_that_a_browser_marks_cross_site_is_refused(bare: TestClient) -> None:
    reply = bare.post("/api/undo", json={"version": 1}, headers={"sec-fetch-site": "cross-site"})
    assert reply.status_code == 403


def test_a_body_too_big_or_of_unknown_size_is_refused(bare: TestClient) -> None:
    assert bare.post("/api/edit", content=b"x" * (LARGEST_BODY + 1)).status_code == 413
    assert bare.post("/api/edit", content=iter([b"{}"])).status_code == 413


@pytest.mark.parametrize("name", ["../up", "/abs", "a/b", "..", "", "x" * 80, ".hidden", "a\nb"])
def test_a_project_is_opened_only_below_the_root(bare: TestClient, name: str) -> None:
    assert bare.post("/api/start", json={"example": "hatchback", "folder": name}).status_code == 422


def test_without_a_project_every_screen_says_so(bare: TestClient) -> None:
    for name in ("head", "margins", "air", "logs"):
        reply = bare.get(f"/api/{name}")
        assert reply.status_code == 422
        assert reply.json()["findings"][0]["next_step"] == "start from an example, or open a folder"


def test_starting_from_an_example(tmp_path: Path) -> None:
    app = make_app(None, root=tmp_path, background=False)
    with TestClient(app, base_url=HERE) as client:
        assert client.post("/api/start", json={"example": "hatchback", "folder": "mine"}).json()["open"]
        assert (tmp_path / "mine" / "kit.yaml").is_file()
        assert client.get("/api/head").json()["project"]["folder"] == "mine"
        assert client.post("/api/start", json={"folder": "mine"}).status_code == 422


@pytest.mark.parametrize("name", ["../x.csv", "x.exe", "a/b.csv", "..csv", "x.csv\x00.exe", ".csv"])
def test_logs_with_bad_names_are_refused(solved: TestClient, name: str) -> None:
    assert solved.post("/api/logs", files={"file": (name, b"time,speed\n0,1\n")}).status_code in (400, 422)


def test_a_log_is_kept_once_and_read(solved: TestClient) -> None:
    rows = "\n".join(f"{k / 10},{20 + k * 0.01:.2f}" for k in range(600))
    data = f"time [s],coolant temp [degC]\n{rows}\n".encode()
    assert solved.post("/api/logs", files={"file": ("run 1.csv", data)}).status_code == 200
    assert solved.post("/api/logs", files={"file": ("run 1.csv", b"other")}).status_code == 422
    told = solved.get("/api/logs/run 1.csv").json()
    channel = next(c for c in told["channels"] if c["unit"] == "°C")
    trace = solved.get("/api/logs/run 1.csv/traces", params={"column": channel["column"]}).json()["traces"][0]
    assert trace["values"][0] == pytest.approx(20.0, abs=0.01)
    assert solved.get("/api/logs/..%2F..%2Fkit.yaml").status_code in (404, 422)


def test_a_mesh_must_be_what_its_name_says(solved: TestClient) -> None:
    for name, data in (
        ("a.glb", b"nonsense"),
        ("a.stl", b"x"),
        ("../a.stl", b"solid x" + b" " * 90),
        ("a.obj", b"o"),
    ):
        assert solved.post("/api/meshes", files={"file": (name, data)}).status_code in (400, 422)


def test_serve_binds_to_loopback_only() -> None:
    listener = serve.bound(0)
    try:
        assert listener.getsockname()[0] == "127.0.0.1"
    finally:
        listener.close()


def test_static_files_do_not_leave_their_folder(bare: TestClient) -> None:
    for path in ("/../app.py", "/%2e%2e/app.py", "/assets/..%2f..%2fapp.py"):
        assert bare.get(path).status_code in (404, 403)
