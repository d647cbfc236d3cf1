"""The new kit file, the shop's memory, and what a test could not tell apart."""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from heatproof.assembly.model import lay_network
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.logs.correcting.correct import correct
from heatproof.logs.correcting.corrected_kit import (
    corrected_values,
    kit_text,
    new_name,
    project_with_kit,
    write_new_kit,
)
from heatproof.logs.correcting.memory import Lesson, combined, lessons_of, read_memory, remember, remembered
from heatproof.logs.correcting.parameters import chosen_parameters, parameters_of
from heatproof.logs.correcting.undecided import undecided
from heatproof.logs.predicting.places import places


# --- new kit file -----------------------------------------------------------------------------------------
def test_new_kit_reads_back_with_the_corrected_values(day, correction):
    project = read_project(day["project"])
    before = (day["project"] / "kit.yaml").read_bytes()
    values = corrected_values(correction)
    text, edits = kit_text(project, day["variant"], values, "log day1.csv")
    again = project_with_kit(project, text).variant()
    for one in values:
        assert again.value(one.path) == pytest.approx(one.after, abs=0.1 * one.after_sd)
        assert again.spreads[one.path].sd == pytest.approx(one.after_sd, rel=0.06)
        assert again.spreads[one.path].source.startswith("corrected from log day1.csv")
    assert len(edits) == len(values)
    path = new_name(day["project"])
    write_new_kit(project, path, text)
    assert path.name == "kit-corrected-1.yaml"
    assert (day["project"] / "kit.yaml").read_bytes() == before
    with pytest.raises(Refused, match="already"):
        write_new_kit(project, path, text)
    with pytest.raises(Refused, match="already"):
        new_name(day["project"], path.name)
    path.unlink()


def test_corrected_values_stand_alone(day, correction):
    """Values of one source share their error in a verdict; corrected ones must not."""
    from heatproof.verdict.uncertain import groups

    project = read_project(day["project"])
    text, _ = kit_text(project, day["variant"], corrected_values(correction), "log a.csv")
    again = project_with_kit(project, text).variant()
    found = dict(zip(again.spreads, groups(again.spreads), strict=True))
    numbers = [found[one.path] for one in corrected_values(correction)]
    assert len(set(numbers)) == len(numbers)


def test_value_of_a_measure_and_of_a_curve_win(tmp_path):
    """A value set by a fitted measure is edited there; a curve's spread stands beside its factor."""
    import shutil
    from importlib.resources import files

    folder = tmp_path / "hatchback"
    shutil.copytree(str(files("heatproof") / "examples" / "hatchback"), folder)
    project = read_project(folder)
    variant = project.variant()
    paths = [
        "parts.turbine_housing.cover.coverage",
        "engine.volumetric_efficiency.factor",
        "engine.gas_temperature",
    ]
    parameters = chosen_parameters(variant, paths)
    from heatproof.logs.correcting.corrected_kit import CorrectedValue

    values = [
        CorrectedValue(m, m.v0, m.sd, m.at(-0.8), 0.4 * m.sd, -0.8, 0.4)
        for p in parameters
        for m in p.members
    ]
    text, edits = kit_text(project, variant, values, "log x.csv")
    assert "measures.turbine_blanket.set.parts.turbine_housing.cover.coverage" in edits
    again = project_with_kit(project, text).variant()
    for one in values:
        assert again.value(one.path) == pytest.approx(one.after, rel=2e-3)
        assert again.spreads[one.path].sd == pytest.approx(one.after_sd, rel=0.06)


# --- what was not told apart ------------------------------------------------------------------------------
def test_two_values_with_one_effect_are_named_together(day):
    """Heat into the coolant and the radiator move the coolant alike: with coolant probes alone they cannot be
    told apart, and another thermocouple is named."""
    run = day["run"]
    few = replace(run, readings=[r for r in run.readings if r.place in ("coolant.hot", "coolant.cold")])
    paths = ("engine.coolant_heat_factor", "cores.radiator.rated.heat_per_kelvin", "engine.gas_temperature")
    found = correct(day["variant"], chosen_parameters(day["variant"], paths), [few])
    weak = undecided(found, places(day["variant"], lay_network(day["variant"])))
    assert weak
    assert any(len(one.weights) >= 2 for one in weak)
    assert all(0.0 <= one.told < 0.5 for one in weak)
    helping = [one for one in weak if one.probe]
    assert helping
    assert all(one.left < 1.0 and one.probe not in ("coolant.hot", "coolant.cold") for one in helping)


def test_values_without_spread_are_refused_with_the_nearest(day):
    with pytest.raises(Refused, match="has no spread"):
        chosen_parameters(day["variant"], ["vehicle.mass"])
    with pytest.raises(Refused):
        chosen_parameters(day["variant"], ["engine.coolant_heat_facto"])


# --- memory -----------------------------------------------------------------------------------------------
def test_combined_equals_the_joint_normal():
    """Against the joint normal distribution of c, r_1, r_2 and the next kit's r, conditioned by numpy."""
    s, f = 0.12, 0.5
    lessons = [Lesson("a", math.exp(0.10), 0.06), Lesson("b", math.exp(0.04), 0.10)]
    mean, sd = combined(s, lessons, f)
    shared, own = f * s**2, (1 - f) * s**2
    C = shared * np.ones((3, 3)) + own * np.eye(3)
    seen = C[1:, 1:] + np.diag([0.03**2, 0.05**2])
    gain = np.linalg.solve(seen, C[1:, 0])
    assert mean == pytest.approx(float(gain @ [0.10, 0.04]))
    assert sd == pytest.approx(math.sqrt(float(C[0, 0] - C[0, 1:] @ gain)))


def test_memory_never_claims_more_than_kits_share():
    many = [Lesson(str(k), 1.2, 0.01) for k in range(200)]
    mean, sd = combined(0.1, many, 0.5)
    assert mean == pytest.approx(math.log(1.2), rel=0.02)
    assert sd == pytest.approx(0.1 * math.sqrt(0.5), rel=0.01)
    assert combined(0.1, many, 0.0) == (0.0, 0.1)


def test_memory_file_round_trip(tmp_path, day, correction):
    path = tmp_path / "memory.yaml"
    values = corrected_values(correction)
    remember(path, lessons_of(values, kit="Kit A", logs="a.csv", day=date(2026, 11, 2)))
    path.write_text(path.read_text().replace("common_share: 0.5", "common_share: 0.6  # our shop"))
    remember(path, lessons_of(values[:1], kit="Kit B", logs="b.csv", day=date(2026, 11, 9)))
    text = path.read_text()
    assert "# our shop" in text
    once = remember(path, lessons_of(values[:1], kit="Kit B", logs="b.csv", day=date(2026, 11, 9)))
    assert path.read_text() == text
    assert [one.kit for one in once.values[values[0].path]] == ["Kit A", "Kit B"]
    found = remembered(day["variant"], read_memory(path))
    assert {one.member.path for one in found} == {one.path for one in values}
    for one in found:
        assert one.value.after_sd / one.value.after < one.member.sd / one.member.v0
    assert len(text.splitlines()) < 20


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "not a memory"),
        ("format: other\n", "not a memory"),
        ("format: heatproof memory 1\ncommon_share: 3\n", "share"),
        ("format: heatproof memory 1\nvalues: [1]\n", "table"),
        (
            "format: heatproof memory 1\nvalues:\n  a.b:\n  - {kit: x, ratio: -1, spread: 3 %}\n",
            "lesson of a.b",
        ),
        ("format: heatproof memory 1\nvalues: {a: [\n", "YAML"),
    ],
)
def test_bad_memory_is_refused(tmp_path, text, message):
    path = tmp_path / "memory.yaml"
    path.write_text(text)
    with pytest.raises(Refused, match=message):
        read_memory(path)
    assert path.read_text() == text


# --- parameters -------------------------------------------------------------------------------------------
def test_parameters_stay_in_their_range(day):
    for parameter in parameters_of(day["variant"]):
        low, high = parameter.bounds
        assert low <= 0.0 <= high
        for member in parameter.members:
            assert member.low <= member.at(low) <= member.at(high) <= member.high
            assert member.x_of(member.at(0.3)) == pytest.approx(0.3, abs=1e-6) or high < 0.3
