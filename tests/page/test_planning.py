"""The plan on the page: the same as the library's and the command's, stopped when told, refused in words."""

import shutil
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("fastapi")
from fastapi.testclient import TestClient

from heatproof.doors import cli
from heatproof.doors.page.answers import verdict_of
from heatproof.doors.page.app import make_app
from heatproof.doors.page.bodies import Work
from heatproof.doors.page.jobs import Job, run
from heatproof.doors.page.planning import plan_tests
from heatproof.doors.page.views.plan import told_apart
from heatproof.kit.read import read_project
from heatproof.logs.planning.acceptance import expected
from heatproof.logs.planning.plan import make_plan
from heatproof.logs.predicting.places import Place
from heatproof.study.questions.check import check
from heatproof.verdict.words import THIN_SPACE

from .conftest import HERE

SMALL = Path(__file__).parents[1] / "kit" / "small"
ASKED: dict[str, Any] = {
    "kind": "plan",
    "sensors": 3,
    "runs": 2,
    "ambient": "22 degC",
    "places": ["coolant.hot"],
}


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """The tests' small car, without results."""
    return Path(shutil.copytree(SMALL, tmp_path / "small", ignore=shutil.ignore_patterns("results")))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The small car behind the page, spreads kept by a check before."""
    folder = tmp_path_factory.mktemp("plan") / "small"
    shutil.copytree(SMALL, folder, ignore=shutil.ignore_patterns("results"))
    check(folder)
    app = make_app(folder, background=False)
    with TestClient(app, base_url=HERE) as client:
        assert app.state.start.need().wait(60.0) is not None
        yield client


def folder_of(client: TestClient) -> Path:
    return client.app.state.start.need().folder  # type: ignore[attr-defined,no-any-return]


def finished(client: TestClient, asked: dict[str, Any], query: str = "") -> dict[str, Any]:
    """The job once it is over."""
    job = client.post("/api/jobs", json=asked)
    assert job.status_code == 200, job.text
    end = time.monotonic() + 60.0
    while time.monotonic() < end:
        told = next(j for j in client.get(f"/api/jobs{query}").json()["jobs"] if j["id"] == job.json()["id"])
        if told["state"] != "running":
            return told  # type: ignore[no-any-return]
        time.sleep(0.02)
    raise AssertionError("the plan did not end")


def figure(text: str) -> float:
    """`12.3 K`, `117 °C`, `±0.4 K`."""
    return float(text.replace("−", "-").replace(THIN_SPACE, "").removeprefix("± ").split(" ")[0])


def test_the_plan_is_the_librarys(shop: TestClient) -> None:
    # Outside the page: the same project through the library's own functions.
    job = finished(shop, ASKED)
    assert job["state"] == "done", job["error"]
    shown = job["result"]
    project = read_project(folder_of(shop))
    variant, verdict = project.variant(), check(project)
    plan = make_plan(
        variant, project.duties, verdict, ambient=295.15, sensors=3, runs=2, fitted=["coolant.hot"]
    )
    readings = expected(plan, variant, verdict)
    assert [s["place"] for s in shown["sensors"]] == [s.place.mass for s in plan.sensors]
    assert [s["there"] for s in shown["sensors"]] == [s.place.mass == "coolant.hot" for s in plan.sensors]
    lefts = [figure(s["left"]) for s in shown["sensors"]]
    assert lefts == pytest.approx([s.left for s in plan.sensors], abs=0.051)
    steps = [figure(s["brings"]) for s in shown["sensors"]]
    assert figure(shown["start"]) - sum(steps) == pytest.approx(plan.end, abs=0.06 * (len(steps) + 1))
    assert [figure(r["left"]) for r in shown["runs"]] == pytest.approx(
        [left for _, left in plan.run_steps], abs=0.051
    )
    key_off, end = plan.lengths["hill"]
    assert shown["runs"][0]["length"] == f"{key_off / 60:.0f} min and {(end - key_off) / 60:.0f} min soak"
    rows = [r for t in shown["tests"] for r in t["rows"]]
    assert len(rows) == len(readings)
    for row, one in zip(rows, readings, strict=True):
        assert figure(row["peak"]) == pytest.approx(one.peak - 273.15, abs=0.51)
        assert (row["passes"] == "–") is (one.passes is None)
        if one.passes is not None:
            assert figure(row["passes"]) == pytest.approx(one.passes - 273.15, abs=0.51)


def test_the_card_is_the_commands(
    shop: TestClient, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = finished(shop, ASKED)
    reply = shop.get(f"/api/jobs/{job['id']}/card")
    assert "attachment" in reply.headers["content-disposition"]
    card = tmp_path / "card.html"
    words = ["--sensors", "3", "--runs", "2", "--ambient", "22 degC", "--fitted", "coolant.hot"]
    assert cli.run(["plan", str(folder_of(shop)), *words, "--card", str(card)]) == 0
    assert reply.text == card.read_text(encoding="utf-8")
    assert job["result"]["sentence"] in " ".join(capsys.readouterr().out.split())
    assert shop.get("/api/jobs/999/card").status_code == 404


def test_in_us_units_the_same_in_degrees_fahrenheit(shop: TestClient) -> None:
    """A plan that was made is said anew in the units of whoever asks, its card too."""
    metric = finished(shop, ASKED)
    us = next(j for j in shop.get("/api/jobs?units=us").json()["jobs"] if j["id"] == metric["id"])["result"]
    for one, other in zip(metric["result"]["tests"], us["tests"], strict=True):
        for a, b in zip(one["rows"], other["rows"], strict=True):
            assert b["peak"].endswith("°F")
            assert figure(b["peak"]) == pytest.approx(1.8 * figure(a["peak"]) + 32.0, abs=1.5)
    assert figure(us["start"]) == pytest.approx(1.8 * figure(metric["result"]["start"]), abs=0.1)
    card = shop.get(f"/api/jobs/{metric['id']}/card?units=us").text
    assert "°F" in card
    assert "°C" not in card
    assert "km/h" not in card


def test_it_stops_when_told(shop: TestClient) -> None:
    desk = shop.app.state.start.need()  # type: ignore[attr-defined]
    job = Job(1, "plan", desk.version)
    options = Work(kind="plan").model_dump() | {"folder": desk.folder, "answer": desk.answer()}

    def after_three() -> None:
        job.stop = job.stop or job.done >= 3

    desk.listeners.append(after_three)
    resting = desk.skip_background
    try:
        run(desk, job, plan_tests, desk.disk, desk.state.fitted, options)
    finally:
        desk.listeners.remove(after_three)
    assert (job.state, job.result, job.done) == ("stopped", None, 3)
    assert job.steps > 3
    assert desk.skip_background is resting


def test_progress_ends_at_the_steps_it_told(shop: TestClient) -> None:
    job = finished(shop, ASKED)
    assert job["done"] == job["steps"] > 1


def test_without_spreads_it_says_so(small: Path) -> None:
    app = make_app(small, background=False)
    with TestClient(app, base_url=HERE) as client:
        assert app.state.start.need().wait(60.0) is not None
        what, step = client.get("/api/plan").json()["missing"]
        assert "spreads" in what
        assert "heatproof check" in step
        reply = client.post("/api/jobs", json=ASKED)
        assert reply.status_code == 422
        assert reply.json()["findings"][0]["next_step"] == step


def test_where_no_margin_has_a_spread_there_is_nothing_to_plan(small: Path) -> None:
    """Uncertain values that move nothing: the answer is real, its matrix is zero."""
    check(small)
    app = make_app(small, background=False)
    with TestClient(app, base_url=HERE) as client:
        desk = app.state.start.need()
        answer = desk.wait(60.0)
        matrix = replace(
            answer.verdict.sensitivities,
            change=0.0 * answer.verdict.sensitivities.change,
            drawn=(),
            rest=None,
            own=None,
        )
        verdict = verdict_of(answer.project, answer.state.fitted, answer.solved, matrix, own=True)
        desk.results.answers[desk.state] = replace(answer, verdict=verdict)
        job = finished(client, ASKED)
        assert job["state"] == "failed"
        assert "no margin has a spread" in job["error"]["findings"][0]["what"]
        assert "spread" in job["error"]["findings"][0]["next_step"]


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"places": ["lom"]}, {"nearest": "loom"}),
        ({"duties": ["hil"]}, {"nearest": "hill"}),
        ({"ambient": "warm"}, {"got": "warm"}),
    ],
)
def test_wrong_words_are_refused(shop: TestClient, wrong: dict[str, Any], told: dict[str, str]) -> None:
    job = finished(shop, ASKED | wrong)
    assert job["state"] == "failed"
    finding = job["error"]["findings"][0]
    assert {key: finding[key] for key in told} == told
    assert finding["next_step"]


def test_numbers_out_of_range_and_edits_not_saved_are_refused(shop: TestClient) -> None:
    for wrong in ({"sensors": 0}, {"sensors": 31}, {"runs": 21}):
        assert shop.post("/api/jobs", json=ASKED | wrong).status_code == 422
    desk = shop.app.state.start.need()  # type: ignore[attr-defined]
    names = list(desk.disk.measures)
    key = "leave" if names[0] in desk.state.fitted else "fit"
    desk.edit(desk.version, **{key: [names[0]]})
    try:
        reply = shop.post("/api/jobs", json=ASKED)
        assert reply.status_code == 422
        assert "save" in reply.json()["findings"][0]["next_step"]
    finally:
        desk.undo(desk.version)
        desk.wait(60.0)


def test_places_are_those_a_probe_can_reach(shop: TestClient) -> None:
    asked = shop.get("/api/plan").json()
    assert asked["missing"] == ["", ""]
    assert [d["key"] for d in asked["duties"]] == ["hill"]
    names = {p["place"] for p in asked["places"]}
    assert {"loom", "coolant.hot", "oil.sump"} <= names
    assert "exhaust.ports" not in names


def test_places_of_one_title_are_told_apart() -> None:
    water, shell, loom = (
        Place(key, title, "solid")
        for key, title in (("coolant.tank", "Tank"), ("tank_shell", "Tank"), ("loom", "Loom"))
    )
    assert told_apart([water, shell, loom]) == {
        "coolant.tank": "Tank (coolant.tank)",
        "tank_shell": "Tank (tank_shell)",
        "loom": "Loom",
    }
