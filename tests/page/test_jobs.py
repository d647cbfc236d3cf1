"""Long work: it runs, tells how far it is, and stops when told."""

import time

from fastapi.testclient import TestClient


def test_a_rating_stops_when_told(solved: TestClient) -> None:
    job = solved.post("/api/jobs", json={"kind": "rating"}).json()
    assert job["state"] == "running"
    assert solved.post("/api/jobs", json={"kind": "choose"}).status_code == 422
    solved.delete(f"/api/jobs/{job['id']}")
    end = time.monotonic() + 60.0
    while (told := solved.get("/api/jobs").json()["jobs"][-1])["state"] == "running":
        assert time.monotonic() < end
        time.sleep(0.1)
    assert told["state"] == "stopped"
    assert told["result"] is None


def test_an_unknown_kind_or_job_is_refused(solved: TestClient) -> None:
    assert solved.post("/api/jobs", json={"kind": "guess"}).status_code == 422
    assert solved.delete("/api/jobs/999").status_code == 404


def test_a_search_with_a_measure_that_is_not_there_says_so(solved: TestClient) -> None:
    job = solved.post("/api/jobs", json={"kind": "choose", "keep": ["loom_sleve"]}).json()
    end = time.monotonic() + 60.0
    while (told := next(j for j in solved.get("/api/jobs").json()["jobs"] if j["id"] == job["id"]))[
        "state"
    ] == "running":
        assert time.monotonic() < end
        time.sleep(0.05)
    assert told["state"] == "failed"
    assert told["error"]["findings"][0]["nearest"] == "loom_sleeve"
