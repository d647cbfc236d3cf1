"""The margin rule against histories worked out by hand, and against a brute-force count."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heatproof.kit.records.parts import Limit
from heatproof.verdict.margins import History, boil_margin_of, exceeded_for, margin_of, time_above

MINUTE = 60.0


def history(*points: tuple[float, float], counts: list[bool] | None = None) -> History:
    time, value = np.array(points, dtype=float).T
    return History(time, value, np.ones(time.size - 1, dtype=bool) if counts is None else np.array(counts))


TENT = history((0, 300), (100, 400), (200, 300))
"""Up and down 1 K/s: above x for 2 (400 − x) s, so T(t) = 400 − t/2."""


@pytest.mark.parametrize("seconds", [0.0, 1.0, 20.0, 60.0, 150.0, 199.0])
def test_tent_exceeds_what_its_slope_says(seconds: float) -> None:
    assert exceeded_for(TENT, seconds) == pytest.approx(400.0 - seconds / 2.0, abs=1e-9)


def test_plateau_is_exceeded_for_its_whole_length() -> None:
    plateau = history((0, 300), (10, 350), (110, 350), (120, 300))
    assert exceeded_for(plateau, 50.0) == 350.0
    assert exceeded_for(plateau, 100.0) == 350.0
    # 10 s more come from two flanks of 5 K/s: 5 s each, 25 K down.
    assert exceeded_for(plateau, 110.0) == pytest.approx(325.0)


def test_two_peaks_add_up() -> None:
    two = history((0, 300), (10, 320), (20, 300), (30, 320), (40, 300))
    # Four flanks of 2 K/s: above x for 4 (320 − x)/2 s.
    assert exceeded_for(two, 10.0) == pytest.approx(315.0)
    assert time_above(two, 315.0) == pytest.approx(10.0)


def test_history_shorter_than_the_allowed_time_cannot_break_it() -> None:
    assert exceeded_for(TENT, 200.0) == -np.inf
    assert exceeded_for(TENT, 1e6) == -np.inf


values = st.lists(st.floats(250.0, 1200.0), min_size=2, max_size=40)


@settings(deadline=None, max_examples=200)
@given(values, st.floats(0.0, 0.999))
def test_time_above_what_is_exceeded_is_the_time_asked_for(temperatures: list[float], share: float) -> None:
    """Independent count: the history cut into 1 ms pieces, the hottest pieces taken."""
    time = np.arange(len(temperatures), dtype=float)
    one = History(time, np.array(temperatures), np.ones(time.size - 1, dtype=bool))
    seconds = share * time[-1]
    fine = np.linspace(0.0, time[-1], 20_001)
    middle = np.interp(0.5 * (fine[1:] + fine[:-1]), time, one.value)
    piece = fine[1]
    rank = min(int(seconds / piece), middle.size - 1)
    ordered = np.sort(middle)[::-1]
    steepest = np.abs(np.diff(one.value)).max() * piece
    assert exceeded_for(one, seconds) == pytest.approx(ordered[rank], abs=2.0 * steepest + 1e-6)


# --- the rule ---------------------------------------------------------------------------------------------
def test_continuous_alone_is_against_the_peak() -> None:
    found = margin_of(TENT, Limit(continuous=390.0))
    assert (found.margin, found.rule, found.peak, found.time) == (-10.0, "continuous", 400.0, 100.0)
    assert found.over_time == pytest.approx(20.0)


def test_short_passage_within_the_allowed_time_holds() -> None:
    """Above 390 K for 20 s, 60 s allowed: T(60) = 370, 20 K to spare there; 25 K to the short limit."""
    found = margin_of(TENT, Limit(continuous=390.0, short=425.0, short_time=60.0))
    assert found.margin == pytest.approx(20.0)
    assert (found.rule, found.judged, found.limit) == ("continuous", pytest.approx(370.0), 390.0)


def test_too_long_above_the_continuous_limit_is_over() -> None:
    found = margin_of(TENT, Limit(continuous=350.0, short=425.0, short_time=60.0))
    assert found.margin == pytest.approx(-20.0)
    assert found.over_time == pytest.approx(100.0)


def test_peak_past_the_short_limit_is_over() -> None:
    found = margin_of(TENT, Limit(continuous=390.0, short=395.0, short_time=60.0))
    assert (found.margin, found.rule) == (-5.0, "short")


@pytest.mark.parametrize("rise", [-5.0, 3.0, 12.5])
def test_margin_is_how_far_the_whole_history_may_rise(rise: float) -> None:
    """A history lifted by its own margin just meets the rule: slope −1, no jump at the continuous limit."""
    limit = Limit(continuous=390.0, short=425.0, short_time=60.0)
    lifted = History(TENT.time, TENT.value + rise, TENT.counts)
    assert margin_of(lifted, limit).margin == pytest.approx(margin_of(TENT, limit).margin - rise)
    at_limit = History(TENT.time, TENT.value + margin_of(TENT, limit).margin, TENT.counts)
    assert time_above(at_limit, 390.0) == pytest.approx(60.0)


def test_only_what_counts_is_judged() -> None:
    """Air after key-off: the hot stretch from 100 s on is left out."""
    air = history((0, 300), (100, 320), (200, 500), counts=[True, False])
    found = margin_of(air, Limit(continuous=330.0))
    assert (found.peak, found.time, found.margin) == (320.0, 100.0, 10.0)


def test_nothing_that_counts_is_refused() -> None:
    with pytest.raises(ValueError, match="no part"):
        margin_of(history((0, 300), (10, 300), counts=[False]), Limit(continuous=330.0))


def test_still_above_the_limit_at_the_end_is_said() -> None:
    rising = history((0, 300), (100, 400))
    limit = Limit(continuous=390.0, short=425.0, short_time=60.0)
    assert margin_of(rising, limit).ends_over
    assert not margin_of(TENT, limit).ends_over


def test_boil_margin_is_the_worst_instant_not_the_hottest() -> None:
    """Pressure falls: at 100 s the liquid is hottest, at 200 s it is nearest to its limit."""
    found = boil_margin_of(TENT, np.array([390.0, 415.0, 302.0]))
    assert (found.margin, found.time, found.peak, found.limit) == (2.0, 200.0, 300.0, 302.0)
