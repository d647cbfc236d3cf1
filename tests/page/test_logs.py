"""Test day: an upload, its channels named on the page, events and figures of a run made up here with known truth."""

from pathlib import Path

import numpy as np
import pytest
from fastapi.testclient import TestClient

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.logbook import edited_map, name_channels, opened, store_log
from heatproof.doors.page.views.logs import log_view, traces_view
from heatproof.kit.findings import Refused

AMBIENT, RISE = 24.0, 31.5  # °C, K


def run_of(folder: Path, name: str = "run.csv") -> str:
    """600 s at 2 Hz: two pulls on boost, charge air RISE over ambient, a probe nobody can guess."""
    t = np.arange(0, 600, 0.5)
    boost = np.where((t > 100) & (t < 110) | (t > 300) & (t < 312), 210.0, 60.0)
    rows = [
        t,
        3000 + 0 * t,
        90 + 0 * t,
        boost,
        AMBIENT + RISE + 0 * t,
        AMBIENT + 0 * t,
        140 + 10 * np.sin(t / 60),
    ]
    head = "Time [s],RPM [rpm],Speed [km/h],MAP [kPa],IAT [C],Ambient temp [C],T7 [C]"
    lines = [head, *(",".join(f"{v:.2f}" for v in row) for row in np.column_stack(rows))]
    return store_log(folder, name, ("\n".join(lines) + "\n").encode())


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A folder with one log."""
    (tmp_path / "logs").mkdir()
    run_of(tmp_path)
    return tmp_path


def test_events_and_figures_of_known_truth(shop: Path) -> None:
    view = log_view(shop, "run.csv", None)
    pulls = [e for e in view["events"] if e["kind"] == "pull"]
    assert [round(e["start"]) for e in pulls] == [100, 300]
    figure = next(f for f in view["figures"] if f["name"] == "Intake temperature over ambient, mean")
    assert figure["text"].startswith(f"+{RISE}")


def test_steady_stretches_stand_among_the_events(tmp_path: Path) -> None:
    """Ten minutes of warm-up, then ten that hold still: one stretch, and it begins after the drift has ended."""
    t = np.arange(0, 1200, 1.0)
    coolant = np.where(t < 600, 40 + t / 12, 90.0)
    rows = np.column_stack([t, 2500 + 0 * t, 80 + 0 * t, coolant])
    lines = [
        "Time [s],RPM [rpm],Speed [km/h],Coolant temp [C]",
        *(",".join(f"{v:.2f}" for v in r) for r in rows),
    ]
    store_log(tmp_path, "warm.csv", ("\n".join(lines) + "\n").encode())
    events = log_view(tmp_path, "warm.csv", None)["events"]
    (steady,) = [e for e in events if e["kind"] == "steady"]
    assert 540.0 <= steady["start"] <= 620.0
    assert steady["end"] > 1100.0
    assert [e["start"] for e in events] == sorted(e["start"] for e in events)


def test_a_channel_is_named_on_the_page_and_the_log_stays(shop: Path) -> None:
    before = (shop / "logs/run.csv").read_bytes()
    assert (
        next(c for c in log_view(shop, "run.csv", None)["channels"] if c["column"] == "T7 [C]")["quantity"]
        == "unknown"
    )
    name_channels(shop, "run.csv", [{"column": "T7 [C]", "quantity": "oil_temperature", "place": "oil.sump"}])
    named = next(c for c in log_view(shop, "run.csv", None)["channels"] if c["column"] == "T7 [C]")
    assert (named["quantity"], named["place"]) == ("oil_temperature", "oil.sump")
    name_channels(shop, "run.csv", [{"column": "T7 [C]", "quantity": ""}])
    named = next(c for c in log_view(shop, "run.csv", None)["channels"] if c["column"] == "T7 [C]")
    assert (named["quantity"], named["place"]) == ("unknown", "oil.sump")
    assert (shop / "logs/run.csv").read_bytes() == before


def test_comments_in_a_map_stay(shop: Path) -> None:
    path = shop / "logs/run.yaml"
    path.write_text('channels:\n  "T7 [C]": {place: oil.sump}  # drain plug\n', encoding="utf-8")
    text = edited_map(
        path, {"IAT [C]": {"column": "IAT [C]", "place": "charge.plenum"}}, ["IAT [C]", "T7 [C]"]
    )
    assert "# drain plug" in text
    assert "charge.plenum" in text


def test_a_wrong_name_writes_nothing(shop: Path) -> None:
    for row in ({"column": "T7 [C]", "quantity": "oil_temp"}, {"column": "T9"}):
        with pytest.raises(Refused):
            name_channels(shop, "run.csv", [row])
    assert sorted(p.name for p in (shop / "logs").iterdir()) == ["run.csv"]
    assert opened(shop, "run.csv").log.columns


def test_traces_are_those_of_the_file(shop: Path) -> None:
    trace = traces_view(shop, "run.csv", ["IAT [C]", "nothing"])["traces"]
    assert len(trace) == 1
    assert trace[0]["unit"] == "°C"
    assert set(trace[0]["values"]) == {AMBIENT + RISE}


def test_over_http(folder: Path, desk: Desk) -> None:
    from heatproof.doors.page.app import make_app

    run_of(folder)
    with TestClient(make_app(folder, background=False), base_url="http://127.0.0.1:8000") as client:
        reply = client.post(
            "/api/logs/run.csv/channels", json={"rows": [{"column": "T7 [C]", "quantity": "oil_temperature"}]}
        )
        assert reply.status_code == 200
        assert client.get("/api/logs/run.csv/traces?column=T7%20%5BC%5D").json()["traces"][0]["unit"] == "°C"
        bad = client.post(
            "/api/logs/run.csv/channels", json={"rows": [{"column": "T7 [C]", "quantity": "oil"}]}
        )
        assert bad.status_code == 422
        assert "oil_temperature" in bad.json()["findings"][0]["allowed"]
