"""First order against sampling on the full model, where something switches within the spread. Invented car.

What is expected: a thermostat that is not yet fully open hides a weak radiator, a fan relay holds a temperature
only as long as the fan suffices, and coolant is no hotter than boiling however weak the radiator: each bends the
line that first order draws. Directions: common practice, no source.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from choice_files import write_choice

from heatproof.doors.cli import run
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.study.questions.check import judged_now
from heatproof.study.questions.sampled_check import SampledCheck, SampledRow, check_by_sampling
from heatproof.study.runs.switches import correlation, reason_text, reasons

HOT = ("coolant.hot", "crawl")
ZONE = "    bay: {volume: 80 L, flow_area: 0.15 m2, height: 0.5 m}\n"
FAN = "fan: {passage: fan, pressure_at_rest: 200 Pa, free_flow: 0.8 m3/s, on_temperature: 103 degC, high_temperature: 118 degC, sensor: hot}"  # fmt: skip


def written(folder: Path, conductance: str, spread: str, *, fan: bool = False) -> Path:
    """A car whose radiator is of uncertain worth, in stop-and-go; its coolant may be 105 degC."""
    write_choice(folder)
    (folder / "duties" / "hill.yaml").unlink()
    for other in (folder / "duties").glob("*.yaml"):
        if other.stem != "crawl":
            other.unlink()
    changes = [
        ("value: 550 W/K, spread: 8 %", f"value: {conductance}, spread: {spread}"),
        ("cold_flow: 0.6", "cold_flow: 1.2"),
        ("hot: {height: 0.7 m}", "hot: {height: 0.7 m, limit: {continuous: 105 degC}}"),
    ]
    if fan:
        changes += [
            (ZONE, ZONE + "    shroud: {volume: 10 L, flow_area: 0.1 m2, height: 0.4 m}\n"),
            ("from: outside, to: bay, core: radiator", "from: outside, to: shroud, core: radiator"),
            ("    under:", "    fan: {from: shroud, to: bay, kind: fan, height: 0.4 m}\n    under:"),
            ("\ncores:\n", f"\n  {FAN}\n\ncores:\n"),
        ]
    text = (folder / "car.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "car.yaml").write_text(text, encoding="utf-8")
    return folder


def both_ways(folder: Path, count: int = 80) -> SampledCheck:
    project = read_project(folder)
    variant = project.variant(())
    return check_by_sampling(
        project, judged_now(project.duties, variant, True, 2, None), variant, count=count
    )


def row_of(found: SampledCheck, key: tuple[str, str]) -> SampledRow:
    return next(row for row in found.rows if row.found.key == key)


def test_a_thermostat_hides_a_weak_radiator(tmp_path: Path) -> None:
    found = both_ways(written(tmp_path / "car", "220 W/K", "35 %"))
    hot = row_of(found, HOT)
    assert not hot.found.agrees
    assert hot.found.sd_sampled > 1.5 * hot.found.sd_first_order
    assert hot.found.mean_sampled < hot.found.nominal
    assert hot.found.confidence_sampled < hot.found.confidence_first_order
    assert hot.why[0].name.startswith("thermostat")
    loom = row_of(found, ("loom", "crawl"))  # heated by radiation and air: a straight line
    assert loom.found.agrees
    assert loom.found.sd_sampled == pytest.approx(loom.found.sd_first_order, rel=0.3, abs=0.1)
    assert found.rows[0] in found.disagreeing


@pytest.mark.slow
def test_a_fan_relay_holds_only_while_the_fan_suffices(tmp_path: Path) -> None:
    hot = row_of(both_ways(written(tmp_path / "car", "120 W/K", "30 %", fan=True)), HOT)
    assert not hot.found.agrees
    assert hot.found.sd_sampled > 2.0 * hot.found.sd_first_order
    assert any(reason.name.startswith("fan ") for reason in hot.why)


@pytest.mark.slow
def test_boiling_caps_the_temperature(tmp_path: Path) -> None:
    hot = row_of(both_ways(written(tmp_path / "car", "67 W/K", "35 %")), HOT)
    assert not hot.found.agrees
    assert hot.why[0].name == "boiling"
    assert 0.02 < hot.why[0].share < 0.98
    assert "coolant boils in" in reason_text(hot.why[0])


def test_reasons_are_what_goes_with_the_difference() -> None:
    """A fan that turns from half its draws on, where the margin then falls short; a thermostat at random."""
    rng = np.random.default_rng(3)
    z = rng.normal(size=200)
    facts = [{"fan one": float(max(a, 0.0)), "thermostat t": float(rng.random()), "boiling": 0.0} for a in z]
    (only,) = reasons(-5.0 * np.maximum(z, 0.0), facts)
    assert only.name == "fan one"
    assert only.correlation < -0.9
    assert correlation(np.zeros(9), np.arange(9.0)) == 0.0


def test_what_cannot_be_sampled_is_refused(choice_project: Project) -> None:
    variant = choice_project.variant(())
    plain = judged_now(choice_project.duties, variant, False, 1, None)
    with pytest.raises(Refused, match="first-order"):
        check_by_sampling(choice_project, plain, variant)


def test_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(tmp_path / "car", "550 W/K", "8 %")
    assert run(["check", str(folder), "--variant", "none", "--sampling", "20", "--json"]) in (0, 1)
    data = json.loads(capsys.readouterr().out)["sampling"]
    assert data["draws"] == 20
    assert len(data["rows"]) == 4
    assert all(0.0 <= row["confidence_sampled"] <= 1.0 for row in data["rows"])
    assert run(["check", str(folder), "--variant", "none", "--sampling", "20"]) in (0, 1)
    said = capsys.readouterr().out
    differing = [row for row in data["rows"] if not row["agrees"]]
    assert ("the two agree as well as 20 draws can tell" in " ".join(said.split())) == (not differing)
    assert run(["check", str(folder), "--variant", "none", "--sampling", "3"]) == 2
