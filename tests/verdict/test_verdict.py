"""Verdicts of the small project: rows, sentence, findings, closure, and the ledger of a part."""

from pathlib import Path

import numpy as np
import pytest

from heatproof.assembly.model import Solved, lay_network
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.media.coolants import saturation_temperature_coolant
from heatproof.network import signals as S
from heatproof.network.solve import make_work
from heatproof.verdict.cautions import USUAL
from heatproof.verdict.explain import explain_at, find_part
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import counted, saturation_of
from heatproof.verdict.solving import solve_all
from heatproof.verdict.verdict import judge, others, sentence
from heatproof.verdict.watch import run_findings
from heatproof.verdict.words import clock, difference, margin_text, minutes, number, share, within

SMALL = Path(__file__).parents[1] / "kit" / "small"


@pytest.fixture(scope="module")
def project() -> Project:
    return read_project(SMALL)


@pytest.fixture(scope="module")
def solved(project: Project) -> dict[str, Solved]:
    return solve_all(project.variant(), project.duties)


@pytest.fixture
def limited(tmp_path: Path) -> Project:
    """With limits on coolant, intake and charge air, and a sleeve that has its own."""
    for name in ("car.yaml", "kit.yaml"):
        (tmp_path / name).write_text((SMALL / name).read_text())
    (tmp_path / "duties").mkdir()
    (tmp_path / "duties/hill.yaml").write_text((SMALL / "duties/hill.yaml").read_text())
    car = (tmp_path / "car.yaml").read_text()
    car = car.replace(
        "hot: {height: 0.7 m}", "hot: {height: 0.7 m, limit: {continuous: 118 degC, boil_margin: 5 K}}"
    )
    car = car.replace("wetted_area: 800 cm2}", "wetted_area: 800 cm2, limit: {continuous: 60 degC}}")
    (tmp_path / "car.yaml").write_text(car)
    kit = (tmp_path / "kit.yaml").read_text()
    kit = kit.replace(
        "thickness: 2 mm}", "thickness: 2 mm, skin_mass: 0.1 kg, limit: {continuous: 260 degC}}"
    )
    (tmp_path / "kit.yaml").write_text(kit)
    return read_project(tmp_path)


def test_everything_with_a_limit_is_judged(limited: Project) -> None:
    found = {part.part: part for part in judged(limited.variant(["shield", "sleeve"]))}
    assert set(found) == {"loom", "loom.skin", "coolant.hot", "coolant.hot.boiling", "charge.plenum"}
    assert found["loom.skin"].mass == "loom.skin"
    assert found["charge.plenum"].when == "running"
    assert found["coolant.hot.boiling"].boil
    assert found["coolant.hot"].caution == "coolant"


def test_boiling_temperature_is_that_of_the_junctions_own_pressure(limited: Project) -> None:
    """By hand at one row: ambient + tank + flow + static head, through the coolant's own saturation curve."""
    run = solve_all(limited.variant(), limited.duties)["hill"].run
    row = run.time.size // 3
    found = saturation_of(run, "coolant.hot")[row]
    tank_over = run.signal[row, S.SYSTEM_PRESSURE]
    own = run.pressure[row, run.network.junctions.index("coolant.hot")]
    rho = 1065.0  # kg/m3 of 50 % glycol near 35 degC
    p = run.around.pressure + tank_over + own + rho * 9.81 * (0.8 - 0.7)
    assert found == pytest.approx(saturation_temperature_coolant(p, 0.5), abs=0.05)


def test_air_is_judged_only_while_the_engine_runs(limited: Project) -> None:
    run = solve_all(limited.variant(), limited.duties)["hill"].run
    counts = counted(run, running=True)
    assert run.time[:-1][counts].max() < run.duty.key_off <= run.time[1:][~counts].min()
    assert counted(run, running=False).all()


def test_verdict_of_the_small_car(project: Project, solved: dict[str, Solved]) -> None:
    verdict = judge(project.variant(), project.duties, spreads=False, solved=solved)
    run = solved["hill"].run
    peak = run.state[:, run.network.mass("loom")].max()
    (row,) = verdict.rows
    assert row.found.peak == peak
    assert row.state == verdict.state == "holds"
    assert row.confidence is None
    assert verdict.sentence.startswith("Holds: every part, one duty, spreads left out. Closest: loom, +")
    assert abs(verdict.duties[0].closure) < 1e-4
    assert verdict.masses == len(run.network.masses)
    assert verdict.cautions[: len(USUAL)] == USUAL
    assert verdict.duties[0].key_off == 600.0
    # Heat of the fuel goes somewhere: shaft, walls, exhaust, unburned; what the charge brings in is small.
    heat = verdict.duties[0].balance
    used = (
        heat["brake power"]
        + heat["friction"]
        + heat["cylinder walls"]
        + heat["exhaust ports"]
        + heat["unburned"]
    )
    assert used == pytest.approx(heat["fuel"], rel=0.05)


def test_order_and_sentence_over(limited: Project) -> None:
    """A charge limit below ambient: over, and first."""
    variant = limited.variant().replace("charge.plenum.limit.continuous", 300.0)
    verdict = judge(variant, limited.duties, spreads=False)
    assert verdict.state == "over"
    assert verdict.worst.part == "charge.plenum"
    assert verdict.sentence.startswith("Over: charge temperature passes its limit by ")
    assert "into hill." in verdict.sentence or "after key-off in hill." in verdict.sentence
    lefts = [row.left for row in verdict.rows]
    assert lefts == sorted(lefts)
    assert verdict.row("loom", "hill").state == "holds"
    assert others(verdict.rows) == ""


def test_nothing_to_judge_is_said() -> None:
    assert sentence((), (), 0.95).startswith("Nothing is judged")


def test_boiling_coolant_is_found(limited: Project) -> None:
    """No pressure cap, and a hotter day than water under 50 kPa stands: the warning names places and heat."""
    variant = limited.variant().replace("coolant.cap_pressure", 0.0)
    duty = limited.duties["hill"]
    air = duty.air.model_copy(update={"pressure": 45e3, "ambient": 330.0})
    solved = solve_all(variant, {"hill": duty.model_copy(update={"air": air})})
    assert solved["hill"].run.boiled.max() > 0.0
    (boils,) = [f for f in run_findings(solved) if "boils" in f.what]
    assert boils.level == "warning"
    assert "kJ as vapour" in boils.what


# --- explain ----------------------------------------------------------------------------------------------
def test_causes_sum_to_the_rise_and_paths_to_what_is_stored(
    project: Project, solved: dict[str, Solved]
) -> None:
    part = find_part(project.variant(), solved["hill"].run.network.masses, "Loom")
    assert isinstance(part, Judged)
    told = explain_at(part, "hill", solved["hill"], project.variant(), time=400.0)
    assert sum(rise for _, rise in told.causes) == pytest.approx(told.rise, abs=1e-6)
    # Independent: heat capacity times the slope of the stored history over the neighbouring steps; a step may be
    # 0.3 K off, which is more than the loom moves in ten seconds, so a few per cent of the largest path are noise.
    run = solved["hill"].run
    row = int(np.argmin(np.abs(run.time - told.time)))
    T = run.state[:, run.network.mass("loom")]
    slope = np.interp(run.time[row] + 5.0, run.time, T) - np.interp(run.time[row] - 5.0, run.time, T)
    largest = max(abs(path.heat) for path in told.paths)
    assert told.storing == pytest.approx(450.0 * slope / 10.0, abs=0.06 * largest)


def test_numerical_remainder_is_small(project: Project, solved: dict[str, Solved]) -> None:
    told = explain_at("loom", "hill", solved["hill"], project.variant(), time=400.0)
    assert abs(dict(told.causes)["numerical remainder"]) < 1e-3 * abs(told.rise)


def test_a_stream_passing_on_its_heat_loses_none_by_it(project: Project, solved: dict[str, Solved]) -> None:
    run = solved["hill"].run
    told = explain_at("coolant.hot", "hill", solved["hill"], project.variant(), time=300.0)
    carried = [path for path in told.paths if path.kind == "carried"]
    assert [path.origin for path in carried] == ["coolant.engine.fluid"]
    capacity = run.network.model.capacity[run.network.mass("coolant.hot")]
    assert abs(told.storing) < 0.1 * capacity  # settled: less than 0.1 K/s


# --- words ------------------------------------------------------------------------------------------------
def test_numbers_as_people_read_them() -> None:
    assert number(-1234.4) == "−1\u202f234"
    assert number(-0.2) == "0"
    assert [difference(x) for x in (13.2, -6.0, 0.2)] == ["+13 K", "−6 K", "0 K"]
    assert margin_text(-6.2, 8.1) == "−6 ± 8 K"
    assert margin_text(0.4, 0.41) == "+0.4 ± 0.4 K"
    assert margin_text(0.4, None) == "+0.4 K"
    assert [share(x) for x in (0.5, 0.9934, 0.99999, 0.001)] == ["50 %", "99.3 %", "> 99.9 %", "< 1 %"]
    assert (clock(1570), clock(4570), minutes(45), minutes(361)) == ("26:10", "1:16:10", "45 s", "6 min")
    assert (within("Loom at bulkhead"), within("ECU"), within("T1 kit")) == (
        "loom at bulkhead",
        "ECU",
        "T1 kit",
    )


def test_work_and_surroundings_are_not_shared_between_duties(project: Project) -> None:
    variant = project.variant()
    network = lay_network(variant)
    around = surroundings(variant, network, project.duties["hill"])
    one, two = make_work(network, around), make_work(network, around)
    assert not np.shares_memory(one.T, two.T)
