"""Blankets and sleeves on round parts, against published pipes and hand calculations: layers by their logarithm, skins that grow."""

import itertools
import math

import numpy as np
import pytest
from bay_cars import changed, with_measures, with_part
from scipy.optimize import brentq

from heatproof.assembly.model import lay_network
from heatproof.kit.records.parts import Cover, Part
from heatproof.kit.records.shapes import Tube

SIGMA = 5.670374419e-8
LENGTH = 1.0


def laid(diameter: float, cover: Cover) -> tuple[float, float, float]:
    """(W/K of the layers, convection area m2, length of convection m) of one metre of covered pipe, geometry off."""
    straight = Tube(diameter=diameter, path=((0.0, 0.0, 0.5), (0.0, LENGTH, 0.5)))
    part = Part(
        mass=1.0,
        material="carbon steel",
        surface=math.pi * diameter * LENGTH,
        zone="bay_rear",
        size=diameter,
        cover=cover,
        shape=straight,
    )
    network = lay_network(with_part(changed(with_measures(), "bay.geometry", "off"), "pipe", part))
    inner, skin = network.mass("pipe"), network.mass("pipe.skin")
    G = [float(r["G"]) for r in network.model.conduction if {int(r["i"]), int(r["j"])} == {inner, skin}]
    air = [r for r in network.model.convection if int(r["i"]) == skin]
    return sum(G), sum(float(r["area"]) for r in air), float(air[0]["length"])


def sleeve(thickness: float, k: float) -> Cover:
    return Cover(kind="sleeve", thickness=thickness, conductivity=k, skin_mass=0.1)


def test_published_pipe_in_glass_wool() -> None:
    """Cengel, Heat and Mass Transfer, example 3-8 (from memory): steam at 320 °C, 60 W/m²K inside 50 mm, pipe to 55 mm of
    80 W/m/K, 30 mm of wool of 0.05, 18 W/m²K outside, air at 5 °C: 121 W/m. Laid flat on the pipe's own area it was 81."""
    G, area, _ = laid(0.055, sleeve(0.030, 0.05))
    inside = 1.0 / (60.0 * math.pi * 0.05) + math.log(55.0 / 50.0) / (2.0 * math.pi * 80.0)
    heat = (320.0 - 5.0) / (inside + 1.0 / G + 1.0 / (18.0 * area))
    assert heat == pytest.approx(121.0, rel=0.005)


def test_published_steam_line_with_radiation() -> None:
    """Incropera/DeWitt, problem on a 0.20 m steam line (6th ed., chapter 3; answer from memory, recomputed): 486 K inside,
    50 mm of magnesia of 0.058, 20 W/m²K and emissivity 0.8 outside, 25 °C: 163 W/m. Both films lie on the skin."""
    G, area, _ = laid(0.20, sleeve(0.050, 0.058))

    def left(T: float) -> float:
        return G * (486.0 - T) - area * (20.0 * (T - 298.0) + 0.8 * SIGMA * (T**4 - 298.0**4))

    skin = brentq(left, 298.0, 486.0)
    assert G * (486.0 - skin) == pytest.approx(163.0, rel=0.01)


def test_a_sleeve_on_a_thin_line_still_helps_but_less_than_flat() -> None:
    """6 mm line at 100 °C, air and walls 40 °C, 2 mm of 0.06, skin emissivity 0.9, h of still air 12 W/m²K with radiation in
    it on both: by hand G = 2π k/ln(5/3), skin on 10 mm; beyond k/h the skin grows faster than the layer resists."""
    G, area, length = laid(0.006, sleeve(0.002, 0.06))
    assert pytest.approx(2.0 * math.pi * 0.06 / math.log(5.0 / 3.0), rel=1e-6) == G
    assert area == pytest.approx(math.pi * 0.010, rel=1e-6)
    assert length == pytest.approx(0.010)
    bare, sleeved = 12.0 * math.pi * 0.006, 1.0 / (1.0 / G + 1.0 / (12.0 * area))
    flat = 1.0 / (0.002 / (0.06 * math.pi * 0.006) + 1.0 / (12.0 * math.pi * 0.006))
    assert flat < 0.75 * sleeved
    assert (
        sleeved > bare
    )  # thicker than nothing, and loses more: r2 = 5 mm lies at the critical radius k/h = 5 mm


@pytest.mark.parametrize("layers", [1, 2, 3])
def test_layers_one_on_another_are_one_thick_layer(layers: int) -> None:
    """The sum of logarithms is the logarithm of the whole, whatever the cuts, and the air of a stand-off counts as one."""
    from heatproof.assembly.covers import Round

    bend = Round(0.010, 1)
    cuts = np.linspace(0.0, 0.012, layers + 1)
    parts = sum(bend.flat_thickness(a, b) for a, b in itertools.pairwise(cuts))
    assert parts == pytest.approx(0.010 * math.log(22.0 / 10.0), rel=1e-12)


def test_a_ball_and_a_plate() -> None:
    """Incropera/DeWitt eq. 3.36: 4πk/(1/r1 − 1/r2); a flat wall keeps its thickness and area."""
    from heatproof.assembly.covers import FLAT, Round

    ball = Round(0.05, 2)
    per_area = 1.0 / ball.flat_thickness(0.0, 0.01)
    assert per_area * 4.0 * math.pi * 0.05**2 == pytest.approx(4.0 * math.pi / (1.0 / 0.05 - 1.0 / 0.06))
    assert ball.growth(0.01) == pytest.approx((0.06 / 0.05) ** 2)
    assert (FLAT.flat_thickness(0.002, 0.007), FLAT.growth(0.007)) == (pytest.approx(0.005), 1.0)
