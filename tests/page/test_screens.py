"""Every screen's JSON twin, against the same verdict asked for directly."""

import numpy as np
import pytest
from fastapi.testclient import TestClient

from heatproof.doors.page.views.series import thinned
from heatproof.study.questions.check import check

SCREENS = ("head", "margins", "air", "liquids", "bay", "compare", "release", "logs", "plan", "ramp", "start")


@pytest.mark.parametrize("name", SCREENS)
def test_a_screen_answers(solved: TestClient, name: str) -> None:
    reply = solved.get(f"/api/{name}")
    assert reply.status_code == 200
    assert reply.headers["content-security-policy"].startswith("default-src 'self'")


def test_margins_are_those_of_check(solved: TestClient) -> None:
    # Outside: the same project through the library's own main job.
    folder = solved.app.state.start.need().folder  # type: ignore[attr-defined]
    told = check(folder, spreads=False, fresh=True)
    shown = {(r["part"], r["duty"]): r["margin"] for r in solved.get("/api/margins").json()["rows"]}
    assert shown == {(r.part, r.duty): pytest.approx(r.margin, abs=1e-9) for r in told.rows}


def test_the_ledger_sums_and_carries_its_limit(solved: TestClient) -> None:
    part = solved.get("/api/parts/loom").json()
    ledger = part["ledger"]
    assert ledger["sum"] == pytest.approx(ledger["rise"], abs=1e-6)
    assert ledger["ambient"] + ledger["rise"] == pytest.approx(ledger["temperature"], abs=1e-9)
    assert part["paths"]["in"] - part["paths"]["out"] == pytest.approx(part["paths"]["stored"], abs=1e-6)


def test_the_marked_peak_is_the_judged_one(solved: TestClient) -> None:
    """By row, not by the first of equal rounded values: chart, ledger and table then name one instant."""
    folder = solved.app.state.start.need().folder  # type: ignore[attr-defined]
    row = next(r for r in check(folder, spreads=False).rows if r.part == "loom")
    history = solved.get("/api/parts/loom").json()["history"]
    assert history["duty"] == row.duty
    assert history["time"][history["peak"]] == pytest.approx(row.found.time, abs=0.06)
    assert history["value"][history["peak"]] == max(history["value"])


def test_air_balances_at_every_zone(solved: TestClient) -> None:
    air = solved.get("/api/air").json()
    through = sum(abs(link["flow"]) for link in air["links"]) / 2
    for node in (n for n in air["nodes"] if n["kind"] == "zone"):
        into = sum(x["flow"] for x in air["links"] if x["to"] == node["id"])
        out = sum(x["flow"] for x in air["links"] if x["from"] == node["id"])
        assert abs(into - out) < 1e-6 * through


def test_coolant_balances_at_every_point_in_mass(solved: TestClient) -> None:
    # Volume flows differ by density only, a few per cent over the loop's temperatures.
    loop = solved.get("/api/liquids").json()["coolant"][0]
    most = max(abs(line["flow"]) for line in loop["lines"])
    for node in loop["nodes"]:
        net = sum(x["flow"] * ((x["to"] == node["id"]) - (x["from"] == node["id"])) for x in loop["lines"])
        assert abs(net) < 0.05 * most


def test_thinning_keeps_a_peak_of_one_row() -> None:
    time = np.linspace(0.0, 3600.0, 40_000)
    values = np.sin(time / 50.0)
    values[12_345] = 9.0
    rows = thinned(time, values, 600)
    assert values[rows].max() == 9.0
    assert rows.size <= 610
    assert np.all(np.diff(rows) > 0)


def test_an_unknown_part_is_refused_with_its_neighbour(solved: TestClient) -> None:
    reply = solved.get("/api/parts/lom")
    assert reply.status_code == 422
    assert reply.json()["findings"][0]["nearest"] == "loom"


def test_docs_fetch_nothing_from_elsewhere(solved: TestClient) -> None:
    text = solved.get("/docs").text
    assert "/api/margins" in text
    assert "http" not in text.replace("heatproof over HTTP", "").lower().replace(
        "<h1>heatproof over http", ""
    )
    assert "script" not in text.lower().replace("description", "")
