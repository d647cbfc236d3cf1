"""The page for a car with a circuit beside the engine's coolant: water and oil, and every other screen."""

import shutil
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("fastapi")
from fastapi.testclient import TestClient

from heatproof.assembly.model import solve
from heatproof.doors.page.app import make_app
from heatproof.doors.page.views.air import core_exits
from heatproof.doors.page.views.liquids import boil_view, further_view, loop_view
from heatproof.kit.examples import EXAMPLES
from heatproof.kit.read import read_project
from heatproof.network.transient import Stepping
from heatproof.verdict.names import mass_title

LOW = "low_temperature"


@pytest.fixture(scope="module")
def crawl():
    """The pickup's town crawl."""
    project = read_project(EXAMPLES / "pickup")
    return solve(project.variant(), project.duties["town_crawl"], stepping=Stepping(tolerance=1.0))


def test_the_circuit_is_drawn_with_its_own_pressure_and_boiling_points(crawl):
    run, variant = crawl.run, crawl.variant
    rows = [int(np.searchsorted(run.time, t)) for t in (600.0, run.duty.key_off + 300.0)]
    view = further_view(variant, run, rows, 0)
    assert (view["name"], view["title"]) == (LOW, "Charge-cooling water")
    assert all("bar above ambient in its tank" in text for text in view["pressure"])
    running, off = view["loops"]
    assert {n["id"] for n in running["nodes"]} == set(variant.circuits[LOW].junctions)
    assert all(n["left"] > 30.0 for n in running["nodes"])
    lines = [{line["id"]: line for line in loop["lines"]} for loop in (running, off)]
    assert 15.0 < lines[0]["radiator"]["flow"] < 25.0
    assert lines[0]["radiator"]["path"] == f"circuits.{LOW}.lines.radiator"
    assert abs(lines[1]["radiator"]["flow"]) < 2.0
    main = loop_view(variant, run, rows[0], "coolant")
    assert {n["id"] for n in main["nodes"]}.isdisjoint({"cooler_in", "cooler_out"})


def test_its_points_stand_among_those_that_may_boil_and_have_names(crawl):
    found = boil_view(crawl.variant, crawl.run, [10, 20])
    ids = {f["id"] for f in found}
    assert {"coolant.engine_out", f"circuits.{LOW}.cooler_out"} <= ids
    assert mass_title(crawl.variant, f"circuits.{LOW}.cooler_out") == (
        "Charge-cooling water: water out of the charge cooler"
    )


def test_a_condenser_gives_its_heat_to_the_air(crawl):
    """As much as the kit says, and the low-temperature radiator what the charge gave; settled after ten minutes."""
    row = int(np.searchsorted(crawl.run.time, 1400.0))
    heat = core_exits(crawl.run, row)
    assert heat["condenser"] == pytest.approx(crawl.variant.cores["condenser"].heat, rel=0.15)
    assert abs(heat["low_temperature_radiator"]) < 1e3 < heat["radiator"]


def test_every_screen_answers_for_it(tmp_path: Path):
    copy = Path(shutil.copytree(EXAMPLES / "pickup", tmp_path / "mine"))
    app = make_app(copy, background=False)
    with TestClient(app, base_url="http://127.0.0.1:8000") as client:
        assert app.state.start.need().wait(120.0) is not None
        for name in ("head", "margins", "air", "liquids", "bay", "compare", "release", "parts/charge.plenum"):
            assert client.get(f"/api/{name}").status_code == 200, name
        liquids = client.get("/api/liquids").json()
    assert [c["title"] for c in liquids["further"]] == ["Charge-cooling water"]
    assert any(r["part"] == f"circuits.{LOW}.cooler_out" for r in liquids["judged"])
