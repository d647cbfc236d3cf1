"""Requests made up from the interface's own description never end in a fault of the program."""

import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

schemathesis = pytest.importorskip("schemathesis")

from heatproof.doors.page.app import make_app  # noqa: E402
from heatproof.kit.examples import EXAMPLES  # noqa: E402

APP = make_app(None, root=Path("/nonexistent"), background=False)
# Left out: the stream that never ends, and what would open or write a project.
SCHEMA = schemathesis.openapi.from_dict(APP.openapi()).exclude(path_regex="/api/(events|start|meshes|jobs)")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    from fastapi.testclient import TestClient

    folder = Path(shutil.copytree(EXAMPLES / "hatchback", tmp_path_factory.mktemp("any") / "demo"))
    app = make_app(folder, background=False)
    with TestClient(app, base_url="http://127.0.0.1:8000", raise_server_exceptions=False) as made:
        assert app.state.start.need().wait(120.0) is not None
        yield made


@SCHEMA.parametrize()
@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
def test_no_request_ends_in_a_fault(case, client) -> None:  # type: ignore[no-untyped-def]
    made = case.as_transport_kwargs(base_url="http://127.0.0.1:8000")
    headers = {
        k: v for k, v in dict(made.get("headers") or {}).items() if k.lower() not in ("host", "origin")
    }
    kept = {k: made[k] for k in ("params", "json", "files") if made.get(k) is not None}
    if made.get("data") is not None:
        kept["content" if isinstance(made["data"], bytes | str) else "data"] = made["data"]
    reply = client.request(made["method"], made["url"], headers=headers, **kept)
    assert reply.status_code < 500 or reply.status_code in (503, 507), (made, reply.text[:400])
