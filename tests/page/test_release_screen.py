"""Release: what the screen says against what the library releases; papers made, given out, and found stale."""

import time
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

DEVIATION = """format: heatproof deviations 1
deviations:
"""


def folder_of(client: TestClient) -> Path:
    return client.app.state.start.need().folder  # type: ignore[attr-defined,no-any-return]


def made(client: TestClient, body: dict[str, Any]) -> dict[str, Any]:
    job = client.post("/api/jobs", json=body).json()
    end = time.monotonic() + 240.0
    while job["state"] == "running" and time.monotonic() < end:
        time.sleep(0.2)
        job = client.get("/api/jobs").json()["jobs"][-1]
    return job  # type: ignore[no-any-return]


def test_what_blocks_is_what_the_library_finds_over(solved: TestClient) -> None:
    # Outside: rows of the same project's check; a part is over where its margin is not above zero.
    rows = solved.get("/api/margins").json()["rows"]
    over = {r["title"] for r in rows if r["margin"] <= 0.0}
    page = solved.get("/api/release").json()
    told = {b["title"].removesuffix(" is over") for b in page["blockers"] if b["mark"] == "over"}
    assert told == over
    assert page["ready"] is (not over)


def test_a_signed_deviation_opens_the_way_and_a_broken_one_is_told(solved: TestClient) -> None:
    rows = solved.get("/api/margins").json()["rows"]
    head = solved.get("/api/head").json()
    path = folder_of(solved) / "deviations.yaml"
    entries = [
        f"- {{part: {r['part']}, duty: {r['duty']}, margin: {r['margin'] - 5:.1f} K, "
        f"revision: {head['project']['revision']}, who: A. Nother, when: 2026-01-31, why: tested on the road}}"
        for r in rows
        if r["margin"] <= 0.0
    ]
    try:
        path.write_text(DEVIATION + "\n".join(entries) + "\n", encoding="utf-8")
        page = solved.get("/api/release").json()
        assert [b for b in page["blockers"] if b["mark"] == "over"] == []
        assert {s["who"] for s in page["signed"]} == {"A. Nother"}
        path.write_text(DEVIATION + "- {part: lom}\n", encoding="utf-8")
        page = solved.get("/api/release").json()
        assert any("deviations.yaml" in b["title"] for b in page["blockers"])
    finally:
        path.unlink()


def test_papers_are_not_made_of_edits_that_are_not_saved(solved: TestClient) -> None:
    version = solved.get("/api/head").json()["version"]
    name = solved.get("/api/margins").json()["measures"]["groups"][0]["measures"][0]
    key = "leave" if name["fitted"] else "fit"
    assert solved.post("/api/edit", json={"version": version, key: [name["name"]]}).status_code == 200
    reply = solved.post("/api/jobs", json={"kind": "release"})
    assert reply.status_code == 422
    assert "save" in reply.json()["findings"][0]["next_step"]
    solved.post("/api/undo", json={"version": version + 1})
    solved.app.state.start.need().wait(60.0)  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["../car.yaml", "..%2fcar.yaml", "kit.yaml", "x.pdf", ".pdf"])
def test_only_papers_are_given_out(solved: TestClient, name: str) -> None:
    assert solved.get(f"/api/papers/{name}").status_code in (404, 422)


@pytest.mark.slow
def test_papers_are_made_given_out_and_found_stale(solved: TestClient) -> None:
    # Outside: a PDF begins with %PDF (ISO 32000); the record names every file by its SHA-256.
    pytest.importorskip("typst")
    job = made(solved, {"kind": "release", "rating": False})
    assert job["state"] == "done", job["error"]
    papers = solved.get("/api/release").json()["papers"]
    assert [f["kind"] for f in papers[0]["files"]] == ["pdf", "html", "json"]
    assert papers[0]["changed"] == []
    for file in papers[0]["files"]:
        got = solved.get(f"/api/papers/{file['name']}")
        assert got.status_code == 200
        assert "attachment" in got.headers["content-disposition"]
        assert file["kind"] != "pdf" or got.content.startswith(b"%PDF-")
    note = folder_of(solved) / "deviations.yaml"
    note.write_text(DEVIATION.replace("deviations:\n", "deviations: []\n"), encoding="utf-8")
    assert solved.get("/api/release").json()["papers"][0]["changed"] == ["deviations.yaml"]
    note.unlink()
