"""Water and steam in a jacket with two lines: hand cases of the laws, and routings that keep it wet or let it run dry.

Hand cases: saturated water at 2.2 bar absolute from the steam tables (123.3 degC, 1.24 kg/m3, 2.18 MJ/kg, 0.0543 N/m),
laws as their docstrings cite them. Which routing is good: common practice, no source.
"""

import numpy as np
import pytest
from small_networks import hold, liquid, surroundings

from heatproof.laws.two_phase import (
    LATENT_HEAT,
    bubble_rise,
    critical_heat_flux,
    flooding_steam,
    steam_density,
)
from heatproof.network import signals as S
from heatproof.network.arrays import COOLANT
from heatproof.network.builder import NetworkBuilder

AT = 2.2e5  # Pa absolute


@pytest.mark.parametrize(("bore", "watts"), [(5e-3, 207.0), (6e-3, 327.0), (9e-3, 900.0), (13e-3, 2260.0)])
def test_flooding(bore, watts):
    """No water down against so much steam, C = 0.8; by hand from sqrt(j*) = C."""
    assert flooding_steam(bore, AT) * LATENT_HEAT == pytest.approx(watts, rel=0.01)


@pytest.mark.parametrize(("bore", "speed"), [(5e-3, 0.008), (6e-3, 0.017), (9e-3, 0.063), (13e-3, 0.113)])
def test_long_bubbles_rise(bore, speed):
    """By hand from the correlation of Viana and others (2003)."""
    assert bubble_rise(bore) == pytest.approx(speed, abs=0.001)


def test_no_bubble_rises_in_a_narrow_line():
    """Bretherton (1961): rho g r2 / sigma < 0.842, here below a bore of 4.45 mm."""
    assert bubble_rise(4.4e-3) == 0.0 == flooding_steam(4.4e-3, AT)
    assert bubble_rise(4.6e-3) > 0.0


def test_critical_flux_and_density():
    """1.50 MW/m2 at 2.2 bar by hand; saturated steam 0.590 kg/m3 at 1 bar, 2.16 at 4 bar (steam tables)."""
    assert critical_heat_flux(AT) == pytest.approx(1.50e6, rel=0.02)
    assert steam_density(1e5) == pytest.approx(0.590, rel=0.02)
    assert steam_density(4e5) == pytest.approx(2.16, rel=0.02)


def turbo_loop(return_to: float, bore: float = 0.009, watts: float = 1600.0, cool: float = 360.0):
    """Feed from 0.58 m down to a jacket at 0.50 to 0.54 m, return to `return_to` (m); the engine stands at `cool` K."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid())
    b.network("water", COOLANT)
    b.mass("wall", 600.0)
    b.source("wall", S.ONE, watts, "heat")
    for name, capacity in (
        ("low", 80.0),
        ("high", 80.0),
        ("feed", 150.0),
        ("jacket", 300.0),
        ("return", 200.0),
    ):
        b.mass(name, capacity, kind="coolant")
    for name in ("engine", "end", "tank"):
        b.boundary(name, cool)
    b.mass("tank water", 5000.0, kind="coolant")
    b.conduction("tank water", "tank", 500.0)
    b.junction("water", "engine", "engine", 0.58, fixed=True, pressure=0.0)
    b.junction("water", "end", "end", return_to, fixed=True, pressure=0.0)
    b.junction("water", "tank water", "tank water", 0.8, fixed=True)
    b.junction("water", "low", "low", 0.50)
    b.junction("water", "high", "high", 0.54)
    loss = 7.0 / (2.0 * 950.0 * (np.pi / 4.0 * bore**2) ** 2)
    law = {"a": 50.0, "b": loss, "rho_ref": 950.0, "nu_ref": 3e-7, "cp": 3700.0}
    b.branch("water", "feed", "engine", "low", cell="feed", **law)
    b.branch("water", "jacket", "low", "high", cell="jacket", **law)
    b.branch("water", "return", "high", "end", cell="return", **law)
    b.wetted("wall", "jacket", "jacket", G_ref=5.0, m_ref=0.05, G_still=4.0, boiling_area=70e-4)
    line = {"bore": bore}
    b.boiling("low", "low", 0.50, 400.0, liquid=0.02, **line)
    b.boiling("high", "high", 0.54, 400.0, liquid=0.02, **line)
    b.boiling("feed", "low", 0.58, 400.0, branch="feed", length=0.55, liquid=0.035, **line)
    b.boiling("jacket", "high", 0.54, 400.0, branch="jacket", length=0.08, liquid=0.08, **line)
    top = max(0.54, return_to)
    b.boiling("return", "end", top, 400.0, branch="return", length=0.7, liquid=0.045, **line)
    b.boiling("tank water", "tank water", 0.8, 400.0, liquid=1.2, is_tank=True)
    network = b.build()
    around = surroundings(network, saturation_T=np.full((1, 100), 396.4))
    return hold(network, 600, around=around, T=dict.fromkeys(network.masses, cool))


def course_of(run):
    """Filling of the jacket, and K of its wall."""
    return run.state[:, run.network.model.states.wet], run.state[:, run.network.mass("wall")]


def test_a_return_that_rises_keeps_the_wall_wet_and_one_that_falls_does_not():
    """Was: both alike, a jacket of 80 g boiling away kilograms. Boiling holds a wet wall within 30 K of saturation."""
    (full, wet), (empty, dry) = (course_of(turbo_loop(z)) for z in (0.84, 0.42))
    assert full[-1] > 0.5
    assert wet.max() < 396.4 + 30.0
    assert empty.min() < 0.1
    assert dry.max() > wet.max() + 60.0


def test_energy_closes_wet_and_dry():
    for z in (0.84, 0.42):
        assert abs(turbo_loop(z).closure) < 1e-4


def test_a_wider_line_never_leaves_the_jacket_emptier():
    narrow, wide = (course_of(turbo_loop(0.60, bore))[0] for bore in (0.006, 0.013))
    assert wide.min() >= narrow.min() - 0.02
