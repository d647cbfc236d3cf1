"""Bay: hot spots lie on their parts and above their means; before and after are two runs of the same duty."""

import numpy as np
from fastapi.testclient import TestClient


def test_hot_spots_lie_on_their_parts(solved: TestClient) -> None:
    # Outside: the mean of a field is never above its maximum; a point of a part lies in the box round its corners.
    found = solved.get("/api/hotspots?duty=flat_out&time=600").json()
    bay = solved.get("/api/bay?duty=flat_out").json()
    corners = {s["part"]: np.reshape(s["vertices"], (-1, 3)) for s in bay["shapes"]["parts"]}
    assert found["spots"]
    for spot in found["spots"]:
        assert spot["peak"] > spot["mean"] + 2.0
        box = corners[spot["part"]]
        assert np.all(box.min(axis=0) - 1e-3 <= spot["place"])
        assert np.all(box.max(axis=0) + 1e-3 >= spot["place"])
    peaks = [spot["peak"] for spot in found["spots"]]
    assert peaks == sorted(peaks, reverse=True)


def test_before_is_the_variant_compared_with(solved: TestClient) -> None:
    desk = solved.app.state.start.need()  # type: ignore[attr-defined]
    saved = {p["part"]: p for p in solved.get("/api/bay?duty=flat_out").json()["parts"]}
    version = solved.get("/api/head").json()["version"]
    assert solved.post("/api/edit", json={"version": version, "fit": ["loom_sleeve"]}).status_code == 200
    assert desk.wait(120.0) is not None
    try:
        bay = solved.get("/api/bay?duty=flat_out").json()
        assert bay["before"] == "saved"
        loom = next(p for p in bay["parts"] if p["part"] == "loom")
        assert max(abs(a - b) for a, b in zip(loom["before"], saved["loom"]["values"], strict=False)) < 2.0
        assert max(loom["before"]) > max(loom["values"]) + 5.0
    finally:
        solved.post("/api/undo", json={"version": version + 1})
        desk.wait(60.0)
