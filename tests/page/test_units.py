"""Metric and US: every figure at once, by the definitions of the units (NIST SP 811, appendix B)."""

import re

import pytest
from fastapi.testclient import TestClient

from heatproof.doors.page.units import channel_unit, choose_units, words
from heatproof.kit.findings import Finding
from heatproof.report.reader_units import ReaderUnits
from heatproof.units.quantity import Amount
from heatproof.verdict.words import THIN_SPACE


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


def test_amounts_in_findings(solved: TestClient) -> None:
    metric, us = (one["findings"] for one in both(solved, "/api/head"))
    text, again = ("\n".join(f["what"] for f in found) for found in (metric, us))
    assert not re.search(r"\d (kW|bar|kJ|mm|°C)\b", again)
    # NIST SP 811, appendix B: 1 hp (550 ft lbf/s) = 745.69987 W, 1 psi = 6894.757 Pa, 1 Btu(IT) = 1055.05585 J.
    for unit, other, ratio in (
        ("kW", "hp", 0.74569987),
        ("bar", "psi", 0.06894757),
        ("kJ", "BTU", 1.05505585),
    ):
        values, others = numbers_of(unit, text), numbers_of(other, again)
        assert values, f"no finding in {unit}"
        rounded = (0.005 if unit == "bar" else 0.05) / ratio + 0.05  # last places of both texts
        assert others == pytest.approx([value / ratio for value in values], abs=rounded, rel=5e-3)
    assert re.sub(r"[\d.]+ °?\w+", "", text) == re.sub(r"[\d.]+ °?\w+", "", again)


def numbers_of(unit: str, text: str) -> list[float]:
    plain = re.sub(rf"(?<=\d){THIN_SPACE}(?=\d)", "", text)
    return [float(value) for value in re.findall(rf"([\d.]+) {unit}\b", plain)]


def test_range_of_a_refused_value(solved: TestClient) -> None:
    value = {"file": "kit.yaml", "path": "changes.engine.rated_power", "text": "99999 hp"}
    version = solved.get("/api/head").json()["version"]
    replies = [
        solved.post(f"/api/edit{query}", json={"version": version, "values": [value]}).json()
        for query in ("", "?units=us")
    ]
    metric, us = (reply["findings"][0] for reply in replies)
    assert metric["got"] == us["got"] == "99999 hp"
    (low, high), (low_us, high_us) = numbers_of("kW", metric["allowed"]), numbers_of("hp", us["allowed"])
    assert [low_us, high_us] == pytest.approx([low / 0.74569987, high / 0.74569987], rel=5e-3)


def test_a_finding_in_metric_units_is_said_as_it_stands() -> None:
    near = Amount("30 mm", 0.0302, "mm")
    told = Finding("note", "2.30 mm wire, 30 mm apart", allowed="130 mm or more", amounts=(near,))
    assert ReaderUnits().told(told) is told
    us = ReaderUnits("us").told(told)
    assert us.what == "2.30 mm wire, 1.19 in apart"  # 25.4 mm to the inch
    assert us.allowed == "130 mm or more"
    assert ReaderUnits("us").amount(Amount("1.2 bar gauge", 1.2e5, "bar gauge")) == "17.4 psi gauge"
    assert ReaderUnits("us").amount(Amount("65 °C", 338.15, "°C")) == "149 °F"


def test_channels_of_a_log() -> None:
    choose_units("us")
    label, factor, offset = channel_unit("K")
    assert (label, factor * 373.15 + offset) == ("°F", pytest.approx(212.0))
    choose_units("nonsense")
    assert words()["degree"] == "°C"
