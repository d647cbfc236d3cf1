"""Whole chains through the real solvers: flow networks, transients, the ledger and traced view factors.

The networks are those of the tests of the room; here each gives the figures a source states, so that they stand
beside the single laws. degC where a source says degC.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "network"))

import test_flow as flow
import test_heat as heat
from small_networks import course, hold, instant, sample, surroundings
from test_ledger import two_lumps

from heatproof.network.builder import NetworkBuilder
from heatproof.shapes.placement import place, place_along
from heatproof.shapes.primitives import cylinder, plate, sphere
from heatproof.shapes.scene import Body, Scene, solid_part
from heatproof.shapes.view_factors import view_factors

ZERO = 273.15
RAYS = 2**16


# --- heat through the transient ---------------------------------------------------------------------------
def soak(K_Bw, T_turbine, T_bearing):
    """Peak [degC] of a bearing housing after key-off, turbine and housing as two lumps."""
    run = hold(heat.housing(K_Bw), 1200, T={"turbine": T_turbine + ZERO, "bearing": T_bearing + ZERO})
    return course(run, "bearing").max() - ZERO


def soak_deviation(K_Bw, T_turbine, T_bearing):
    """Largest deviation [K] of either lump from the matrix exponential over 20 minutes."""
    run = hold(heat.housing(K_Bw), 1200, T={"turbine": T_turbine + ZERO, "bearing": T_bearing + ZERO})
    return np.abs(run.state - ZERO - heat.exact_housing(K_Bw, run.time, (T_turbine, T_bearing))).max()


def lump():
    """3 kg of 500 J/kg/K, 0.05 m2 at 10 W/m2/K, from 600 degC in air of 25 degC: degC after 1800 s."""
    b = NetworkBuilder()
    b.boundary("air", 25.0 + ZERO)
    b.mass("body", 1500.0)
    b.conduction("body", "air", 0.5)
    return hold(b.build(), 1800, T={"body": 600.0 + ZERO}).state[-1, 0] - ZERO


def radiating_plate(T_space):
    """4 mm plate, 7500 kg/m3, 500 J/kg/K, emissivity 0.8: seconds from 1000 to 500 K."""
    b = NetworkBuilder()
    b.boundary("space", T_space)
    b.mass("plate", 7500.0 * 500.0 * 0.004)
    b.radiation("plate", "space", 0.8)
    run = hold(b.build(), 900, T={"plate": 1000.0}, tolerance=0.05)
    return np.interp(-500.0, -course(run, "plate"), run.time)


def radiator():
    """Heat [W] and outlets [degC] of a core with metal, at rest after 600 s."""
    network = heat.radiator(1, 1)
    run = hold(network, 600)
    hot, cold = (run.state[-1, network.mass(f"{side} out")] - ZERO for side in ("hot", "cold"))
    return 1.2 * 3500.0 * (95.0 - hot), hot, cold


def kettle():
    """A heated cell at 1 atm: degC at rest and heat leaving as vapour [W]."""
    network = heat.kettle(2000.0, 500.0)
    run = hold(network, 900, around=surroundings(network, saturation_T=np.full((1, 100), 373.15)))
    return course(run, "cell")[-1] - ZERO, run.boiled[-1, 0]


def two_causes():
    """Rises [K] of two lumps by the ledger: of a by P, of b by P, of a by Q, of b by Q."""
    ledger = two_lumps()
    rows = [ledger.causes.index(cause) for cause in ("P", "Q")]
    return ledger.rise[0][rows][:, [ledger.masses.index("a"), ledger.masses.index("b")]].ravel()


# --- flow networks ----------------------------------------------------------------------------------------
def pipes_in_series():
    """m3/h."""
    m = flow.with_friction(
        lambda laws: flow.between(*laws, difference=150e3 + flow.WATER * 9.81 * 5.0, series=True)
    )
    return m["b0"] / flow.WATER * 3600.0


def pipes_in_parallel():
    """m3/h of each and in all."""
    m = flow.with_friction(
        lambda laws: flow.between(*laws, difference=flow.WATER * 9.81 * 20.3, series=False)
    )
    each = [m[f"b{k}"] / flow.WATER * 3600.0 for k in range(3)]
    return [*each, sum(each)]


def orifice():
    """US gallons a minute."""
    rho, area = 62.364 * 16.018463, np.pi * (2.0 * 0.0254) ** 2 / 4.0
    branch = {"b": 1.0 / (2.0 * rho * (0.625 * area) ** 2)}
    m, _ = instant(flow.between(branch, difference=13805.0, series=True, rho=rho))
    return m["b0"] / rho / flow.GPM


def pump(rpm):
    """US gallons a minute and feet of head of a pump in its loop."""
    rho = 998.2
    m1, p1 = 400.0 * flow.GPM * rho, rho * flow.G0 * 126.0 * flow.FOOT
    network = flow.pumped(1.25 * p1, 0.25 * p1 / m1**2, p1 / m1**2, rho)
    m, work = instant(network, row=sample(speed=rpm / 60.0))
    return m["pump"] / rho / flow.GPM, work.p[1] / (rho * flow.G0 * flow.FOOT)


def siphon(K):
    """Flow [g/s] and rise [K] of a natural circulation loop at 400 W with loss coefficient K besides friction."""
    run = hold(flow.siphon(0.25, 400.0, K=K), 1200, T=flow.WARM)
    return run.flow[-1, 0] * 1e3, run.state[-1, run.network.mass("heater")] - 333.15


def stack(T_zone):
    """kg/s through two equal openings of a space at T_zone [K], 0.5 m apart, in air of 300 K."""
    return instant(flow.warm_space(0.5), T={"zone": T_zone})[0]["low"]


# --- view factors by rays ---------------------------------------------------------------------------------
def seen(a, b):
    found = view_factors(Scene((a, b)), rays_per_patch=RAYS)
    return found.between((a.name, "whole"), (b.name, "whole"))[0]


def traced_parallel_rectangles(width, depth, distance, shift):
    low = solid_part("low", plate((width, depth), edge=0.5))
    above = place((shift, 0, distance), turn_deg=(180, 0, 0))
    return seen(low, solid_part("high", plate((width, depth), edge=0.5, placement=above)))


def traced_perpendicular_rectangles(height, width):
    floor = plate((width, 1), edge=0.5, placement=place((width / 2, 0, 0)))
    upright = plate((height, 1), edge=0.5, placement=place((0, 0, height / 2), turn_deg=(0, 90, 0)))
    return seen(solid_part("floor", floor), solid_part("upright", upright))


def disc(name, radius, height, up):
    """One-sided disc: the cap of a cylinder."""
    mesh = cylinder(radius, 1.0, edge=radius / 24)
    cap = mesh.faces[np.abs(mesh.vertices[mesh.faces][:, :, 2] - 0.5).max(axis=1) < 1e-9]
    turn = place((0, 0, height - 0.5)) if up else place((0, 0, height + 0.5), turn_deg=(180, 0, 0))
    return Body(name, turn.apply(mesh.vertices), cap)


def traced_discs(r1, r2, distance):
    return seen(disc("low", r1, 0.0, True), disc("high", r2, distance, False))


def traced_sphere_to_disc(radius, distance):
    ball = solid_part("ball", sphere(0.3, edge=0.02, placement=place_along((0, 0, 1), position=(0, 0, 0))))
    return seen(ball, disc("disc", radius, distance, False))
