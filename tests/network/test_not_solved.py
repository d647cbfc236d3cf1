"""A run that cannot go on says which mass, from what to what temperature, when, in which duty, and what to do;
whatever is no number, anywhere in a network, ends in such a sentence or does no harm."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from small_networks import hold

from heatproof.assembly.duties.samples import duty_samples
from heatproof.assembly.model import lay_network
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.read import read_project
from heatproof.network import signals as S
from heatproof.network.builder import NetworkBuilder
from heatproof.network.laid import Network
from heatproof.network.not_solved import NotSolved
from heatproof.network.solve import Duty, Run, settle_start, solve_duty, uniform_state
from heatproof.verdict.solving import DutyNotSolved, solve_duty_of

ANY = settings(
    deadline=None, derandomize=True, database=None, print_blob=True, suppress_health_check=list(HealthCheck)
)
SMALL = Path(__file__).parent.parent / "kit" / "small"
NO_NUMBERS = (float("nan"), float("inf"), -float("inf"))
FAR_OUT = (*NO_NUMBERS, 1e300, -1e300, 0.0, -1.0)
SECONDS = 12


def heated(power: float) -> Network:
    """A brick of 1000 J/K beside a second one, with a source no surface carries off."""
    b = NetworkBuilder()
    b.mass("brick", 1000.0)
    b.mass("neighbour", 5000.0)
    b.conduction("brick", "neighbour", 1.0)
    b.source("brick", S.ONE, power, "test")
    return b.build()


def test_a_mass_past_the_range_is_named_with_its_temperatures_and_the_time():
    """2 kW into 1000 J/K: 2 K/s from 27 °C, past 2227 °C after 1100 s and, less what leaks, a little more."""
    with pytest.raises(NotSolved) as said:
        hold(heated(2000.0), 4000)
    assert 1100.0 < said.value.time < 3000.0
    text = str(said.value)
    assert "brick" in text
    assert "2227 °C" in text
    assert "allowed -123 °C to 2227 °C" in text
    assert "neighbour" not in text
    assert "mass, heat and links of brick" in said.value.next_step


def test_heat_that_is_no_number_is_named_where_it_enters():
    network = heated(100.0)
    network.model.source["factor"] = np.nan
    with pytest.raises(NotSolved, match="heat into brick is not a number") as said:
        hold(network, 10)
    assert "brick" in said.value.next_step


def test_the_sentence_says_duty_mass_time_and_what_to_do():
    project = read_project(SMALL)
    variant = project.variant().with_value("parts.loom.heat", 19e3).with_value("parts.loom.surface", 1e-3)
    with pytest.raises(DutyNotSolved) as said:
        solve_duty_of(variant, "hill", project.duties["hill"], lay_network(variant))
    text = str(said.value)
    assert text.startswith(f"{project.duties['hill'].name}: not solved at {said.value.time:.0f} s: ")
    assert "loom passes 2227 °C" in text or "loom from" in text
    assert "next step: look at mass, heat and links of loom" in text
    assert said.value.next_step in text


@cache
def laid():
    """The small project's network, surroundings, some seconds of its duty with key-off, and a warm start."""
    project = read_project(SMALL)
    variant, duty = project.variant(), project.duties["hill"]
    network = lay_network(variant)
    around = surroundings(variant, network, duty)
    samples = duty_samples(duty, variant).samples[:SECONDS].copy()
    samples[SECONDS - 4 :] = 0.0
    start, _ = settle_start(network, around, samples[0], seconds=60)
    return network, around, samples, start


def tables(network: Network) -> list[tuple[str, str, int]]:
    """(table, field, rows) of everything in a model that holds plain numbers."""
    found = []
    for name, table in network.model._asdict().items():
        if isinstance(table, np.ndarray) and table.size:
            fields = table.dtype.names or ("",)
            found += [
                (name, field, table.size)
                for field in fields
                if (table.dtype[field] if field else table.dtype) == np.float64
            ]
    return found


def spoilt(network: Network, table: str, field: str, row: int, value: float) -> Network:
    """The network with one number exchanged."""
    copy = getattr(network.model, table).copy()
    (copy[field] if field else copy).flat[row] = value
    return replace(network, model=network.model._replace(**{table: copy}))


def outcome(network: Network, samples: np.ndarray, start: np.ndarray) -> Run | NotSolved:
    """The run, or the error that says why there is none."""
    try:
        return solve_duty(network, laid()[1], Duty(samples, SECONDS - 4), start)
    except NotSolved as error:
        return error


def assert_numbers_or_a_sentence(network: Network, samples: np.ndarray, start: np.ndarray) -> None:
    """A run of numbers throughout, or a sentence that names something and says what to do."""
    found = outcome(network, samples, start)
    if isinstance(found, NotSolved):
        assert "none out of range" not in str(found)
        assert len(str(found).split()) >= 4
        assert len(found.next_step) > 10
        assert 0.0 <= found.time <= SECONDS
        return
    for values in (found.state, found.flow, found.pressure, found.signal, found.boiled):
        assert np.isfinite(values).all()
    assert np.isfinite([found.heat_in, found.heat_out, found.heat_put_in, found.stored]).all()


@st.composite
def spoilings(draw):
    """Table, field, row and value."""
    table, field, rows = draw(st.sampled_from(tables(laid()[0])))
    return table, field, draw(st.integers(0, rows - 1)), draw(st.sampled_from(FAR_OUT))


@settings(ANY, max_examples=150)
@given(spoilings())
def test_no_number_in_a_network_ends_in_numbers_or_a_sentence(spoiling):
    network, _, samples, start = laid()
    assert_numbers_or_a_sentence(spoilt(network, *spoiling), samples, start)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(8))
@settings(ANY, max_examples=500)
@given(spoiling=spoilings())
def test_many_a_number_in_a_network_ends_in_numbers_or_a_sentence(block, spoiling):
    network, _, samples, start = laid()
    assert_numbers_or_a_sentence(spoilt(network, *spoiling), samples, start)


@settings(ANY, max_examples=60)
@given(st.integers(0, 10**6), st.sampled_from(FAR_OUT), st.booleans())
@example(0, float("nan"), True)
def test_no_number_in_drive_or_start_ends_in_numbers_or_a_sentence(place, value, in_drive):
    network, around, samples, start = laid()
    samples, start = samples.copy(), start.copy()
    target = samples if in_drive else start
    target.flat[place % target.size] = value
    assert_numbers_or_a_sentence(network, samples, start)
    assert uniform_state(network, around).size == start.size
