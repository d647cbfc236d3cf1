"""Doubt by joint draws: the laws' factors, the model's own doubt, and what is made of the draws."""

from pathlib import Path

import numpy as np
import pytest

import heatproof
from heatproof.assembly.law_doubt import law_doubts, with_factors
from heatproof.assembly.model import lay_network
from heatproof.kit.read import read_project
from heatproof.verdict.draws import Drawn, Uncertain, draw_margins, standard_draws, uncertain_of
from heatproof.verdict.own_doubt import OWN, OwnDoubt
from heatproof.verdict.spread import Sensitivities

EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"
KEY = ("part", "duty")


@pytest.fixture(scope="module")
def project():
    return read_project(EXAMPLE)


@pytest.fixture(scope="module")
def network(project):
    return lay_network(project.variant())


def test_a_factor_is_log_normal_and_its_half_width_is_two_standard_deviations(network):
    for law in law_doubts(network):
        # Two standard deviations up is the half width as stated, as far down its inverse.
        assert law.factor(2.0) == pytest.approx(1.0 + law.half)
        assert law.factor(-2.0) == pytest.approx(1.0 / (1.0 + law.half))
        assert law.source


def test_every_family_changes_what_it_laid_and_nothing_without_a_draw(network):
    assert with_factors(network, {}).model is network.model
    for law in law_doubts(network):
        model = with_factors(network, {law.path: 1.0}).model
        changed = [
            name
            for name, old in network.model._asdict().items()
            if isinstance(old, np.ndarray) and not np.array_equal(old, getattr(model, name))
        ]
        assert len(changed) == 1, law.key
        assert model.pattern is network.model.pattern


def test_air_side_convection_is_one_family_a_zone(network):
    zones = {network.masses[j] for j in network.model.convection["j"] if j < len(network.masses)}
    keys = {law.key for law in law_doubts(network)}
    assert {f"convection.{zone.removeprefix('air.')}" for zone in zones} <= keys


def test_draws_are_standard_normal_and_repeatable(project, network):
    uncertain = uncertain_of(project.variant(), network)
    z = standard_draws(uncertain, 256, seed=3)
    assert z.shape == (256, len(uncertain))
    # A scrambled net of 256 points: mean and variance of a standard normal to a few thousandths.
    assert np.abs(z.mean(axis=0)).max() < 0.03
    assert np.abs(z.std(axis=0) - 1.0).max() < 0.05
    assert np.array_equal(z, standard_draws(uncertain, 256, seed=3))
    assert not np.array_equal(z, standard_draws(uncertain, 256, seed=4))


def made(margins: list[float], centre: float) -> Drawn:
    column = np.array(margins)[:, None]
    return Drawn((KEY,), (), np.zeros((column.size, 0)), column, np.array([centre]), np.array([0.0]))


def test_the_deviation_is_about_the_car_as_it_stands():
    # By hand: moves of −3 and −1 K about a nominal of 10 K; root of (9 + 1 + 1 + 9)/4 = 5.
    assert made([7.0, 9.0, 9.0, 7.0], 10.0).sds()[0] == pytest.approx(5.0**0.5)
    assert made([7.0, np.nan, 9.0, 9.0, 7.0], 10.0).unsolved == 1
    assert np.isnan(made([7.0, np.nan, np.nan], 10.0).sds()[0])


def test_two_outcomes_are_told_with_their_shares():
    low, high = [-9.0, -8.0, -8.5, -9.5], [6.0, 7.0, 6.5, 7.5, 6.2, 7.1, 6.6, 7.4, 6.9, 7.0, 6.4, 7.2]
    outcomes = made([*low, *high], 6.0).two_outcomes(KEY)
    assert outcomes is not None
    (low_share, low_mean), (high_share, high_mean) = outcomes
    assert (low_share, high_share) == (0.25, 0.75)
    assert low_mean == pytest.approx(np.mean(low))
    assert high_mean == pytest.approx(np.mean(high))
    assert made(list(np.linspace(-5.0, 5.0, 16)), 0.0).two_outcomes(KEY) is None


def test_own_doubt_grows_with_the_rise_and_no_band_is_narrower_than_two_kelvin():
    # By hand: 2 K and 5 % of a rise of 60 K (3 K) in quadrature.
    assert OwnDoubt(2.0, 0.05, "").at(60.0) == pytest.approx(13.0**0.5)
    assert OwnDoubt(2.0, 0.05, "").at(-60.0) == 2.0
    for phases in OWN.values():
        for doubt in phases.values():
            assert doubt.source
            # Twice the standard deviation, at a metal 300 K over ambient or anything else at ambient.
            assert 2.0 * doubt.at(300.0 if doubt.sd == 0.0 else 0.0) >= 2.0


def test_variances_of_values_rest_and_model_add():
    matrix = Sensitivities(
        keys=(KEY,),
        paths=("a", "b"),
        sd=np.ones(2),
        change=np.array([[3.0, 4.0]]),
        group=np.array([0, 1]),
        rest=np.array([12.0]),
        own=np.array([84.0]),
    )
    assert matrix.value_sds()[0] == pytest.approx(5.0)
    assert matrix.sds()[0] == pytest.approx(85.0)  # 5, 12, 13 and 13, 84, 85


def test_draws_move_margins_by_what_is_in_doubt(project):
    duties = {"flat_out": project.duties["flat_out"]}
    still = draw_margins(project.variant(), duties, whose=(), count=3)
    assert still.sds().max() == 0.0
    drawn = draw_margins(project.variant(), duties, whose=("assumed", "laws"), count=6, seed=1)
    assert drawn.counts["yours"] == 0
    assert drawn.counts["assumed"] > 300
    assert np.isfinite(drawn.sds()).all()
    assert np.median(drawn.sds()) > 0.5
    assert (drawn.own > 0.0).all()
    assert all(isinstance(value, Uncertain) for value in drawn.uncertain)
