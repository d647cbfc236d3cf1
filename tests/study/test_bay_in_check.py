"""What a check takes from the bay in space: hottest patch judged, local peaks shown, advice in few lines. Invented car."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest

import heatproof
from heatproof.assembly.bay.lumps import masses_of
from heatproof.assembly.model import Solved
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.study.questions.bay_summary import WORTH_LOOKING, bay_summary, few, local_finding, local_rises
from heatproof.study.questions.check import with_bay
from heatproof.verdict.explain import explain_at, find_part
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import history_of, margin_in
from heatproof.verdict.solving import solve_all
from heatproof.verdict.verdict import Verdict, judge

pytest.importorskip("trimesh")
EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"
SPLIT = "cam_cover"


@pytest.fixture(scope="module")
def variant() -> Variant:
    return read_project(EXAMPLE).variant()


@pytest.fixture(scope="module")
def runs(variant: Variant) -> dict[str, Solved]:
    return solve_all(variant, {"long_hill": read_project(EXAMPLE).duties["long_hill"]})


@pytest.fixture(scope="module")
def verdict(variant: Variant, runs: dict[str, Solved]) -> Verdict:
    duties = {key: one.duty for key, one in runs.items()}
    return with_bay(variant, judge(variant, duties, spreads=False, solved=runs), runs)


def part_of(variant: Variant, key: str) -> Judged:
    return next(part for part in judged(variant) if part.part == key)


def test_a_split_part_is_judged_by_its_hottest_patch(variant: Variant, runs: dict[str, Solved]) -> None:
    run, part = runs["long_hill"].run, part_of(variant, SPLIT)
    bodies = masses_of(variant, SPLIT)
    assert len(bodies) > 1
    peaks = [float(run.state[:, run.network.mass(name)].max()) for name in bodies]
    assert np.ptp(peaks) > 1.0  # the patches do differ
    found = margin_in(run, part)
    assert found is not None
    assert found.peak == pytest.approx(max(peaks))
    every = run.state[:, [run.network.mass(name) for name in bodies]]
    assert np.array_equal(history_of(run, part).value, every.max(axis=1))


def test_explaining_it_explains_that_patch(variant: Variant, runs: dict[str, Solved]) -> None:
    one = runs["long_hill"]
    part = find_part(variant, one.run.network.masses, SPLIT)
    told = explain_at(part, "long_hill", one, variant)
    assert told.margin is not None
    assert told.temperature == pytest.approx(told.margin.peak)
    assert told.mass in masses_of(variant, SPLIT)
    assert sum(rise for _, rise in told.causes) == pytest.approx(told.rise, rel=1e-6)


def test_every_insulated_skin_of_a_split_part_counts(variant: Variant) -> None:
    for part in judged(variant):
        if part.part.endswith(".skin") and part.further:
            assert all(name.endswith(".skin") for name in part.further)


def test_local_peaks_stand_beside_the_margin(
    variant: Variant, runs: dict[str, Solved], verdict: Verdict
) -> None:
    rises = local_rises(variant, verdict, runs)
    shown = {(row.part, row.duty): row.local_rise for row in verdict.rows if row.local_rise is not None}
    assert shown == rises
    assert rises
    for (part, duty), rise in rises.items():
        row = verdict.row(part, duty)
        assert rise > 0.0
        assert row.margin <= WORTH_LOOKING
        assert row.state == ("holds" if row.margin > 0.0 else "over")  # not judged by it
    assert not any(part in rises for part in ("turbine_housing", "exhaust_manifold"))  # iron evens it out


def test_holding_as_a_whole_and_not_everywhere_is_said(verdict: Verdict) -> None:
    row = next(row for row in verdict.rows if row.margin > 1.0)
    (said,) = local_finding([dataclasses.replace(row, local_rise=row.margin + 1.0)])
    assert said.level == "warning"
    assert row.title in said.what
    assert not local_finding([dataclasses.replace(row, local_rise=row.margin - 0.5)])
    assert not local_finding([dataclasses.replace(row, local_rise=None)])


def test_advice_is_short(variant: Variant, verdict: Verdict) -> None:
    found = bay_summary(variant)
    assert 1 <= len(found) <= 6
    assert set(found) <= set(verdict.findings)
    (near,) = [one for one in found if one.what.startswith("clearances below")]
    assert "common practice" in near.allowed
    assert "mm (least" in near.what
    assert few(["a", "b", "c", "d", "e", "f"]) == "a; b; c; d; and 2 more"
    without = bay_summary(variant.with_value("bay.geometry", "off"))
    assert {finding.code for finding in without} <= {"bay.clearance"}
