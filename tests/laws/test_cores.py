"""Compact cores: sides built from geometry against handbook geometry, and their behaviour."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heatproof.laws import core
from heatproof.laws.compressor_map import (
    ABOVE,
    BELOW,
    CHOKE,
    INSIDE,
    SURGE,
    SpeedLine,
    map_sheet,
    tabulate_map,
)
from heatproof.laws.core_geometry import BarAndPlate, OffsetStrip, PlainFin, TabulatedFin, TubeAndFin
from heatproof.laws.fin_surfaces import offset_strip_diameter, offset_strip_f, offset_strip_j, wieting_j
from heatproof.laws.kays_london import surface, surface_j_f, surface_range, surfaces
from heatproof.laws.turbo import ReferenceState
from heatproof.media.names import UnknownName

AIR = core.Stream(1.12, 1.9e-5, 1007.0, 0.027)
COOLANT = core.Stream(1030.0, 9e-4, 3560.0, 0.41)
RADIATOR = TubeAndFin(0.65, 0.40, 0.027, 1.8e-3, 0.25e-3, 8e-3, 1.3e-3)


def cooler(charge, air):
    return BarAndPlate(0.55, 0.30, 0.065, charge, air)


def test_plain_fin_geometry_against_the_handbook_surface():
    """Kays and London plain 11.1: pitch 25.4/11.1 mm, spacing 6.35 mm, fin 0.152 mm, Dh 3.085 mm, A_f/A
    0.756.

    Measured fins have brazing fillets and rounded corners, sharp rectangles do not: 4 % on Dh, 6 % on area.
    """
    plain = PlainFin(25.4e-3 / 11.1, 6.35e-3, 0.152e-3)
    side = cooler(plain, plain).charge_side()
    table = cooler(TabulatedFin("11.1"), TabulatedFin("11.1")).charge_side()
    assert side.Dh == pytest.approx(3.085e-3, rel=0.04)
    assert side.fin_share == pytest.approx(0.756, rel=0.02)
    assert side.area == pytest.approx(table.area, rel=0.06)
    assert side.free_area == pytest.approx(table.free_area, rel=0.06)


def test_plain_channel_law_against_the_measured_surface():
    """Laminar plain fins: the channel law lies within 30 % of plain 11.1 (finite length 20 Dh, real fins)."""
    side = cooler(PlainFin(25.4e-3 / 11.1, 6.35e-3, 0.152e-3), TabulatedFin("11.1")).charge_side()
    for Re in (600.0, 1000.0, 6000.0):
        j, f = side.law(Re, 0.7)
        j_table, f_table = surface_j_f(Re, "11.1")
        assert j == pytest.approx(j_table, rel=0.30)
        assert f == pytest.approx(f_table, rel=0.30)


def test_offset_strip_law_against_the_measured_surface():
    """Manglik and Bergles against Kays and London strip 3/32-12.22: their stated scatter is 20 %.

    Their Dh counts the cut edges of the strips, the handbook's does not: 5 %.
    """
    pitch, b, t, l = 25.4e-3 / 12.22, 12.3e-3, 0.102e-3, 2.38e-3
    s, h = pitch - t, b - t
    assert offset_strip_diameter(s, h, t, l) == pytest.approx(surface("3/32-12.22").Dh, rel=0.05)
    for Re in (500.0, 1000.0, 2000.0, 4000.0):
        j, f = surface_j_f(Re, "3/32-12.22")
        assert offset_strip_j(Re, s / h, t / l, t / s) == pytest.approx(j, rel=0.20)
        assert offset_strip_f(Re, s / h, t / l, t / s) == pytest.approx(f, rel=0.20)


def test_wieting_transition_is_continuous():
    for Re in (1000.0, 2000.0):
        assert wieting_j(Re * 0.99999, 2.0, 0.2, 0.06) == pytest.approx(
            wieting_j(Re * 1.00001, 2.0, 0.2, 0.06), rel=1e-3
        )


@pytest.mark.parametrize(
    "side",
    [
        RADIATOR.air_side(),
        cooler(OffsetStrip(3e-3, 6.5e-3, 0.2e-3, 5e-3), PlainFin(2.5e-3, 9e-3, 0.15e-3)).air_side(),
        cooler(TabulatedFin("1/4(s)-11.1"), TabulatedFin("11.44-3/8 W")).air_side(),
    ],
)
def test_more_air_more_heat_more_loss(side):
    flows = [0.3, 0.6, 1.2, 2.4]
    results = [core.core_side(side, m, AIR) for m in flows]
    for low, high in pairwise(results):
        assert high.hA >= low.hA  # equal in fully developed laminar flow
        assert high.dp > low.dp
    assert 0.05 < side.sigma < 1.0
    assert 0.3 < results[0].efficiency <= 1.0


def test_coolant_side_of_more_passes_is_faster_and_dearer():
    one = core.core_side(RADIATOR.coolant_side(), 1.5, COOLANT)
    two_passes = TubeAndFin(0.65, 0.40, 0.027, 1.8e-3, 0.25e-3, 8e-3, 1.3e-3, passes=2)
    two = core.core_side(two_passes.coolant_side(), 1.5, COOLANT)
    assert two.Re == pytest.approx(2.0 * one.Re, rel=1e-9)
    assert two.dp > 4.0 * one.dp
    assert two_passes.coolant_side().area == pytest.approx(RADIATOR.coolant_side().area)


def test_core_side_arithmetic_by_hand():
    """h = j G cp Pr^(-2/3) and the four terms of the pressure drop, spelled out."""
    side = cooler(TabulatedFin("11.1"), TabulatedFin("11.1")).air_side()
    G = 1000.0 * AIR.mu / side.Dh
    result = core.core_side(side, G * side.free_area, AIR)
    assert result.Re == pytest.approx(1000.0)
    assert result.h == pytest.approx(0.00515 * G * 1007.0 * AIR.Pr ** (-2 / 3), rel=1e-9)
    s = side.sigma
    Kc = -0.4252 * s**2 + 0.0326 * s + 1.1798
    Ke = 1 - 2 * 1.378 * s + s**2
    terms = (1 - s**2 + Kc) + 0.019 * side.area / side.free_area - (1 - s**2 - Ke)
    assert result.dp == pytest.approx(G**2 / 2 / AIR.rho * terms, rel=1e-9)


def test_compact_forms_meet_their_two_points():
    side = RADIATOR.air_side()
    c, n = core.conductance_power_law(side, AIR, 0.3, 2.0)
    a, b = core.branch_constants(side, AIR, 0.3, 2.0)
    for m in (0.3, 2.0):
        full = core.core_side(side, m, AIR)
        assert c * m**n == pytest.approx(full.hA, rel=1e-9)
        assert a * m + b * m * m == pytest.approx(full.dp, rel=1e-9)
    middle = core.core_side(side, 0.8, AIR)
    assert c * 0.8**n == pytest.approx(middle.hA, rel=0.03)
    assert a * 0.8 + b * 0.64 == pytest.approx(middle.dp, rel=0.10)


def test_zero_flow_is_refused_by_name():
    with pytest.raises(ValueError, match="positive"):
        core.core_side(RADIATOR.air_side(), 0.0, AIR)


def test_surfaces_are_complete_and_unknown_ones_named():
    assert len(surfaces()) == 24
    for name in surfaces():
        low, high = surface_range(name)
        assert 0.0 < low < high
        j, f = surface_j_f((low * high) ** 0.5, name)
        assert 0.001 < j < 0.1
        assert j < f < 1.0
    with pytest.raises(UnknownName) as error:
        surface("11.2")
    assert error.value.nearest == "11.1"
    with pytest.raises(ValueError, match="not a plate-fin"):
        cooler(TabulatedFin("9.68-0.87"), TabulatedFin("11.1")).layers()


# An invented map, shaped like a small automotive compressor's.
LINES = (
    SpeedLine(1000.0, (0.05, 0.08, 0.11, 0.12), (1.50, 1.45, 1.30, 1.10), (0.65, 0.72, 0.68, 0.50)),
    SpeedLine(1500.0, (0.09, 0.13, 0.17, 0.18), (2.20, 2.10, 1.80, 1.40), (0.66, 0.75, 0.68, 0.50)),
    SpeedLine(1800.0, (0.14, 0.18, 0.22, 0.225), (2.80, 2.70, 2.30, 1.70), (0.65, 0.74, 0.66, 0.50)),
)
TABLE = tabulate_map(LINES, ReferenceState(298.15, 100e3), n_flow=121, n_pr=91)


@pytest.mark.parametrize("line", LINES)
def test_map_returns_its_own_points(line):
    """Inner points of the lines, to the grid's resolution."""
    for m, pr, eta in list(zip(line.flow, line.pressure_ratio, line.efficiency, strict=True))[1:3]:
        got, speed, flag = TABLE.at(m, pr)
        assert got == pytest.approx(eta, abs=0.015)
        assert speed == pytest.approx(line.speed, rel=0.02)
        assert flag == INSIDE or line is not LINES[1]  # the lowest and the highest line are the edge


def test_map_flags_what_it_was_not_given():
    assert TABLE.at(0.05, 1.15)[2] == BELOW
    assert TABLE.at(0.02, 2.0)[2] == SURGE
    assert TABLE.at(0.235, 1.5)[2] == CHOKE
    assert TABLE.at(0.21, 2.9)[2] == ABOVE
    assert TABLE.at(0.13, 2.0)[2] == INSIDE


@settings(max_examples=100, deadline=None)
@given(st.floats(0.0, 0.3), st.floats(1.0, 3.5))
def test_map_is_finite_everywhere(m, pr):
    eta, speed, flag = TABLE.at(m, pr)
    assert 0.3 < eta < 0.8
    assert 0.0 <= speed < 6000.0
    assert flag in (INSIDE, SURGE, CHOKE, BELOW, ABOVE)


def test_map_sheet_is_monotone_between_lines():
    speeds, sheet = map_sheet(LINES)
    assert speeds[0] == 1000.0
    assert (sheet[0, 1:, 20] > sheet[0, :-1, 20]).all()
    assert (sheet[1, 1:, 20] > sheet[1, :-1, 20]).all()


def test_bad_maps_are_refused():
    with pytest.raises(ValueError, match="at least two"):
        map_sheet(LINES[:1])
    wrong = SpeedLine(1200.0, (0.1, 0.09, 0.12), (1.8, 1.7, 1.5), (0.6, 0.7, 0.6))
    with pytest.raises(ValueError, match="rise"):
        map_sheet([LINES[0], wrong])
