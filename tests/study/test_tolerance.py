"""Tolerances: the limit really is lost just beyond the allowed figure; sampling against first order."""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

from heatproof.doors.cli import run
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.study.questions.tolerance import Tolerances, tolerance
from heatproof.study.runs.cases import Outcome, case, run_case
from heatproof.study.runs.sampling import agreement, draws, sample, sampled
from heatproof.study.search.values import measure_values, ranged
from heatproof.verdict.spread import Sensitivities, sensitivities

FITTED = ("wrap", "loom_sleeve", "loom_moved", "hose_moved", "box_foil", "vent")


PATHS = (
    "parts.manifold.cover.coverage",
    "links.manifold_to_loom.distance",
    "air.passages.vent.area",
    "links.manifold_to_box.distance",
)


@pytest.fixture(scope="module")
def found(choice_project: Project) -> Tolerances:
    return tolerance(choice_project, FITTED, paths=PATHS, spreads=False, draws=20)


def test_values_are_those_the_measures_write(choice_project: Project, found: Tolerances) -> None:
    variant = choice_project.variant(FITTED)
    paths = list(measure_values(choice_project, variant))
    assert "parts.manifold.cover.coverage" in paths
    assert "links.manifold_to_loom.distance" in paths
    assert "air.passages.vent.area" in paths
    assert "parts.box.emissivity" in paths
    assert "parts.loom.cover.kind" not in paths
    assert [one.path for one in found.items] == list(PATHS)


def test_limit_is_lost_just_beyond(choice_project: Project, found: Tolerances) -> None:
    variant = choice_project.variant(FITTED)
    tight = [one for one in found.items if one.end == "limit"]
    assert tight
    for one in tight:
        there = run_case(case(variant.replace(one.path, one.alone), choice_project.duties))
        outwards = 0.012 * one.nominal * np.sign(one.alone - one.nominal)
        further = run_case(case(variant.replace(one.path, one.alone + outwards), choice_project.duties))
        assert there.smallest >= 0.0
        assert further.smallest < 0.0 or there.smallest < 0.25
        assert min(further.margins, key=further.margins.__getitem__) == (one.part, one.duty)


def test_direction_hurts(found: Tolerances) -> None:
    by_path = {one.path: one for one in found.items}
    assert (
        by_path["links.manifold_to_loom.distance"].alone < by_path["links.manifold_to_loom.distance"].nominal
    )
    assert by_path["parts.manifold.cover.coverage"].alone < by_path["parts.manifold.cover.coverage"].nominal


def test_together_is_tighter_and_holds(choice_project: Project, found: Tolerances) -> None:
    assert found.holding >= found.required
    assert 0.0 < found.share <= 1.0
    variant = choice_project.variant(FITTED)
    for one in found.items:
        assert one.together == pytest.approx(one.nominal + found.share * (one.alone - one.nominal))
        variant = variant.replace(one.path, one.nominal + 0.5 * (one.together - one.nominal))
    assert run_case(case(variant, choice_project.duties)).smallest > -2.0


def test_what_is_lost_already_is_left_out(choice_project: Project) -> None:
    found = tolerance(choice_project, ("box_foil",), paths=["parts.box.surface"], spreads=False, draws=0)
    assert {part for part, _, _ in found.lost} >= {"loom"}


@pytest.mark.parametrize(
    "path", ["parts.lom.mass", "parts.loom", "parts.loom.limit.title", "links.manifold_to_loom.9"]
)
def test_wrong_paths_are_refused(choice_project: Project, path: str) -> None:
    with pytest.raises(Refused):
        choice_project.variant(()).quantity(path)


def test_ranges(choice_project: Project) -> None:
    variant = choice_project.variant(())
    path, low, high, _ = ranged(variant, "links.manifold_to_loom.distance=50 mm..0.2 m")
    assert (path, low, high) == ("links.manifold_to_loom.distance", pytest.approx(0.05), pytest.approx(0.2))
    for wrong in (
        "links.manifold_to_loom.distance",
        "links.manifold_to_loom.distance=2 m..1 m",
        "links.manifold_to_loom.distance=5 K..6 K",
    ):
        with pytest.raises(Refused):
            ranged(variant, wrong)


def test_command_line(choice_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = [
        "tolerance",
        str(choice_folder),
        "--variant",
        ",".join(FITTED),
        "--no-spread",
        "--duty",
        "crawl",
    ]
    assert run([*arguments, "--draws", "8", "--json", "--path", "parts.manifold.cover.coverage"]) == 0
    (item,) = json.loads(capsys.readouterr().out)["values"]
    assert item["nominal"] == "80 %"
    assert "steel rule" in item["how_to_check"]
    assert run([*arguments, "--path", "parts.manifold.cover.cover"]) == 2


# --- sampling against first order -------------------------------------------------------------------------
def test_draws_are_a_latin_hypercube(choice_project: Project) -> None:
    paths, z = draws(choice_project.variant(("wrap", "radiator")), 64, seed=5)
    assert z.shape == (64, len(paths))
    for column in z.T:
        assert sorted((ndtr(column) * 64).astype(int)) == list(range(64))  # one draw in each stratum
    assert np.array_equal(z, draws(choice_project.variant(("wrap", "radiator")), 64, seed=5)[1])


def test_first_order_and_sampling_agree_on_a_straight_line() -> None:
    """Margins 3 + 2 z₁ − z₂: mean 3 K, sd √5 K, confidence Φ(3/√5) = 0.910."""
    z = np.random.default_rng(1).normal(size=(4000, 2))
    outcomes = [Outcome({("part", "a"): 3.0 + 2.0 * a - b}) for a, b in z]
    found = sampled(("u", "v"), z, outcomes)
    first = Sensitivities((("part", "a"),), ("u", "v"), np.ones(2), np.array([[2.0, -1.0]]), np.array([0, 1]))
    (row,) = agreement(found, first, {("part", "a"): 3.0})
    assert row.agrees
    assert row.sd_first_order == pytest.approx(5.0**0.5)
    assert row.confidence_sampled == pytest.approx(row.confidence_first_order, abs=0.015)


def test_disagreement_is_told_where_a_line_bends() -> None:
    """Within a thermostat's band the margin does not move, beyond it does: max(z − 1, 0) has slope 0 at nominal."""
    z = np.random.default_rng(1).normal(size=(500, 1))
    found = sampled(("u",), z, [Outcome({("part", "a"): 5.0 - 8.0 * max(a - 0.5, 0.0)}) for a in z[:, 0]])
    first = Sensitivities((("part", "a"),), ("u",), np.ones(1), np.zeros((1, 1)), np.array([0]))
    (row,) = agreement(found, first, {("part", "a"): 5.0})
    assert not row.agrees


@pytest.mark.slow
def test_both_ways_on_the_full_model(choice_project: Project) -> None:
    """Parts heated by radiation and air agree; where they do not, the report says so."""
    variant = choice_project.variant(FITTED)
    base = run_case(case(variant, choice_project.duties)).margins
    first = sensitivities(variant, choice_project.duties, base)
    found = sample(variant, choice_project.duties, count=120, seed=2)
    rows = {row.key: row for row in agreement(found, first, base)}
    for key in (("loom", "hill"), ("box", "hill"), ("hose", "hill")):
        assert rows[key].agrees, rows[key]
        assert rows[key].sd_sampled == pytest.approx(rows[key].sd_first_order, rel=0.3)
