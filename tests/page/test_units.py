"""Metric and US: every figure at once, by the definitions of the units (NIST SP 811, appendix B)."""

import pytest
from fastapi.testclient import TestClient

from heatproof.doors.page.units import channel_unit, choose_units, words


def both(solved: TestClient, path: str) -> tuple[dict, dict]:  # type: ignore[type-arg]
    mark = "&" if "?" in path else "?"
    return solved.get(path).json(), solved.get(f"{path}{mark}units=us").json()


def test_margins_and_limits_in_degrees_fahrenheit(solved: TestClient) -> None:
    metric, us = both(solved, "/api/margins")
    assert us["head"]["units"]["degree"] == "°F"
    for a, b in zip(metric["rows"], us["rows"], strict=True):
        assert (a["part"], a["duty"], a["state"]) == (b["part"], b["duty"], b["state"])
        assert b["margin"] == pytest.approx(1.8 * a["margin"], abs=1e-9)
        assert b["limit"] == pytest.approx(1.8 * a["limit"] + 32.0, abs=1e-9)
        assert "°C" not in b["rule"]


def test_mass_and_power(solved: TestClient) -> None:
    metric, us = both(solved, "/api/head")
    figures = [{f["label"]: f for f in one["figures"]} for one in (metric, us)]
    kg, lb = (float(f["Kit mass"]["value"]) for f in figures)
    kw, hp = (float(f["Power"]["value"]) for f in figures)
    assert lb == pytest.approx(kg / 0.45359237, abs=0.2)  # both rounded to 0.1
    assert hp == pytest.approx(kw / 0.74569987, abs=1.3)  # both rounded to 1
    assert [f["Kit mass"]["unit"] for f in figures] == ["kg", "lb"]


def test_flows_pressures_and_heights(solved: TestClient) -> None:
    metric, us = both(solved, "/api/air")
    for a, b in zip(metric["links"], us["links"], strict=True):
        assert b["flow"] == pytest.approx(a["flow"] * 60.0 / 0.45359237, abs=1e-9)
    pairs = [(a["pressure"], b["pressure"]) for a, b in zip(metric["nodes"], us["nodes"], strict=True)]
    assert all(b == pytest.approx(a / 249.0889, abs=1e-9) for a, b in pairs if a is not None)
    metric, us = both(solved, "/api/liquids")
    for a, b in zip(metric["coolant"][0]["nodes"], us["coolant"][0]["nodes"], strict=True):
        assert b["height"] == pytest.approx(a["height"] / 25.4, abs=1e-9)
    for a, b in zip(metric["coolant"][0]["lines"], us["coolant"][0]["lines"], strict=True):
        assert b["flow"] == pytest.approx(a["flow"] / 3.785411784, abs=1e-9)


def test_the_ledger_still_sums_in_fahrenheit(solved: TestClient) -> None:
    ledger = solved.get("/api/parts/loom?units=us").json()["ledger"]
    assert ledger["ambient"] + ledger["sum"] == pytest.approx(ledger["temperature"], abs=1e-6)


def test_a_form_shows_the_unit_and_takes_it_back(solved: TestClient) -> None:
    # 1 hp (550 ft lbf/s) is 745.69987 W.
    metric, us = both(solved, "/api/values/engine.rated_power")
    value, unit = us["text"].split()
    assert unit == "hp"
    assert float(value) * 0.74569987 == pytest.approx(float(metric["text"].split()[0]), rel=1e-5)


def test_channels_of_a_log() -> None:
    choose_units("us")
    label, factor, offset = channel_unit("K")
    assert (label, factor * 373.15 + offset) == ("°F", pytest.approx(212.0))
    choose_units("nonsense")
    assert words()["degree"] == "°C"
