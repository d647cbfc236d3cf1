"""The coolant circuit laid from records, against the library `fluids` and closed forms."""

from math import pi

import numpy as np
import pytest
from fluids import friction_factor
from ht import Nu_vertical_plate_Churchill, turbulent_Gnielinski
from still_car import changed, instant, network_of

from heatproof.assembly.coolant import circulation_check, coolant_circuit, coolant_liquid, lay_coolant
from heatproof.assembly.liquid import lay_circuit, pipe_losses
from heatproof.assembly.liquid_walls import coefficient, still_coefficient
from heatproof.kit.records.liquids import Coolant, ElectricPump, Hose, Junction, Pump
from heatproof.network import signals as S
from heatproof.network.arrays import COOLANT_2

HOT = {"coolant": 363.15}
FLUID_BORE = 0.02
USUAL_JACKETS = {
    **{"block.bore": 0.034, "block.loss": 4.0, "head.bore": 0.034, "head.loss": 5.0, "radiator.bore": 0.032},
    **{"radiator.loss": 3.0, "upper_hose.bore": 0.032, "upper_hose.loss": 2.0, "bypass.bore": 0.011},
    **{"heater_feed.bore": 0.014, "heater_return.bore": 0.014},
}


def at_speed(network, rpm, **more):
    return instant(network, temperatures=HOT, signals={S.ENGINE_SPEED: rpm / 60.0}, **more)


def litres(now, line):
    """L/min at 1038 kg/m3."""
    return now.flow(f"coolant.{line}") / 1038.0 * 60e3


def test_hose_loss_against_fluids(car):
    """Darcy-Weisbach with the friction factor of library fluids (Colebrook), at 2 m/s; Hagen-Poiseuille."""
    fluid = coolant_liquid(car.coolant)
    d, L, K, v = FLUID_BORE, 0.8, 3.0, 2.0
    area, Re = pi / 4 * d**2, v * d / fluid.nu
    a, b = pipe_losses(fluid, d, L, K)
    m = fluid.stream.rho * area * v
    expected = (K + friction_factor(Re=Re) * L / d) * fluid.stream.rho * v**2 / 2
    assert a * m + b * m * m == pytest.approx(expected, rel=0.01)
    assert a == pytest.approx(128 * fluid.nu * L / (pi * d**4), rel=1e-9)


def test_film_coefficients_against_handbook_values(car):
    """Gnielinski by library ht; Churchill-Chu for standing liquid by ht."""
    fluid = coolant_liquid(car.coolant)
    s, d = fluid.stream, FLUID_BORE
    Re = fluid.speed * d / fluid.nu
    Nu = turbulent_Gnielinski(Re=Re, Pr=s.Pr, fd=friction_factor(Re=Re)) * (1 + (d / 0.8) ** (2 / 3))
    assert coefficient(fluid, d, 0.8, 1.0) == pytest.approx(Nu * s.k / d, rel=0.03)
    Gr = 9.80665 * fluid.expansion * 10.0 * 0.1**3 / fluid.nu**2
    assert still_coefficient(fluid, 0.1) == pytest.approx(
        Nu_vertical_plate_Churchill(s.Pr, Gr) * s.k / 0.1, rel=1e-6
    )


def loop(car, lines):
    junctions = {n: Junction(height=0.5, volume=0.5e-3) for n in ("a", "b", "tank")}
    make_up = Hose(from_="tank", to="a", bore=0.01, length=0.5)
    record = Coolant(fixed_pressure="tank", junctions=junctions, lines={**lines, "make_up": make_up})
    return changed(car, coolant=record, cores={})


def test_pump_works_where_its_curve_meets_the_hose(car):
    """h0 s2 - h2 m2 = a m + b m2, solved by hand; a closed loop of a pump and one hose."""
    pump = Pump(from_="a", to="b", head=1e5, head_speed=100.0, free_flow=4e-3)
    hose = Hose(from_="b", to="a", bore=FLUID_BORE, length=0.8, loss=3.0)
    network = network_of(loop(car, {"pump": pump, "hose": hose}), lay_coolant)
    fluid = coolant_liquid(car.coolant)
    for rpm in (6000.0, 1500.0):
        a, b = pipe_losses(fluid, FLUID_BORE, 0.8, 3.0)
        b += 1e5 / (fluid.stream.rho * 4e-3) ** 2
        head = 1e5 * (rpm / 6000.0) ** 2
        flow = (np.sqrt(a * a + 4 * b * head) - a) / (2 * b)
        assert at_speed(network, rpm).flow("coolant.hose") == pytest.approx(flow, rel=5e-3)


@pytest.mark.parametrize(("driving", "with_engine"), [(True, 1.0), (False, -1.0)])
def test_electric_pump_has_a_relay_of_its_own(car, driving, with_engine):
    pump = ElectricPump(
        from_="a", to="b", head=2e4, free_flow=3e-4, run_on=300.0, while_driving=driving, on_temperature=350.0
    )
    hose = Hose(from_="b", to="a", bore=0.012, length=0.8)
    network = network_of(loop(car, {"pump": pump, "hose": hose}), lay_coolant)
    assert abs(instant(network, temperatures=HOT).flow("coolant.hose")) < 1e-6
    assert instant(network, temperatures=HOT, fan=1.0).flow("coolant.hose") > 0.05
    (relay,) = network.model.fans
    assert network.fans == ("coolant.pump",)
    assert (relay["with_engine"], relay["run_on"], relay["on"]) == (with_engine, 300.0, 350.0)
    assert relay["sensor"] == network.mass("coolant.a")


def test_circuit_with_usual_jackets_moves_usual_flows(car):
    """Common practice, no source: 90 to 200 L/min through the radiator of a small car at 6000 rpm."""
    for path, value in USUAL_JACKETS.items():
        car = car.replace(f"coolant.lines.{path}", value)
    network = network_of(car, lay_coolant)
    fast, half, shut = at_speed(network, 6000), at_speed(network, 3000), at_speed(network, 6000, lift=0.0)
    assert 90.0 < litres(fast, "radiator") < 200.0
    assert litres(half, "radiator") == pytest.approx(0.5 * litres(fast, "radiator"), rel=0.05)
    assert litres(shut, "upper_hose") < 0.05 * litres(fast, "upper_hose")
    assert litres(shut, "bypass") > litres(fast, "bypass")


def test_every_liquid_mass_may_boil_and_its_vapour_rises_to_the_tank(car):
    network = network_of(car, lay_coolant)
    boiling = network.model.boiling
    names = {network.masses[i] for i in boiling["cell"]}
    assert names == {n for n in network.masses if network.kinds[n] == "coolant"}
    assert network.tanks == {"coolant": "coolant.tank"}
    receivers = dict(zip(boiling["cell"], boiling["receiver"], strict=True))
    heights = dict(zip(boiling["cell"], boiling["z"], strict=True))
    tank = network.mass("coolant.tank")
    assert receivers.pop(tank) == len(network.masses)  # ambient: it leaves the car
    for cell, receiver in receivers.items():
        assert receiver == tank or heights[receiver] >= heights[cell]
        way = [cell]
        while way[-1] != tank:
            assert len(way) < len(names)
            way.append(receivers[way[-1]])
    assert receivers[network.mass("coolant.radiator_in")] == network.mass("coolant.vent.fluid")
    wetted = network.model.wetted
    assert np.all(wetted["boiling_cell"][wetted["boiling_area"] > 0.0] >= 0)


def test_liquid_in_the_masses_is_what_the_file_says(car):
    record, network = car.coolant, network_of(car, lay_coolant)
    listed = sum(j.volume for j in record.junctions.values()) + sum(
        line.volume or 0.0 for line in record.lines.values()
    )
    small = record.small_junctions.volume * len({"block_in"})
    capacity = sum(
        network.model.capacity[network.mass(n)] for n in network.masses if network.kinds[n] == "coolant"
    )
    pump = 20e-6  # the pump has no volume of its own; a small one is laid where its ends differ in height
    assert capacity == pytest.approx(coolant_liquid(record).capacity(listed + small + pump), rel=1e-6)


def test_a_second_circuit_beside_the_first(car):
    junctions = {n: Junction(height=0.5) for n in ("a", "b")}
    lines = {
        "pump": ElectricPump(from_="a", to="b", head=2e4, free_flow=3e-4, while_driving=True),
        "back": Hose(from_="b", to="a", bore=0.012, length=1.0),
    }
    second = Coolant(fixed_pressure="a", junctions=junctions, lines=lines)

    def lay_second(b, variant):
        lay_circuit(coolant_circuit(b, variant, second, "cold", COOLANT_2))

    network = network_of(car, lay_coolant, lay_second)
    now = instant(network, temperatures=HOT, fan=1.0)
    assert now.flow("cold.back") > 0.05
    assert network.networks == ("coolant", "cold")


# --- does the turbo's water move by itself? ---------------------------------------------------------------
def test_return_that_falls_does_not_circulate_and_one_that_rises_does(project):
    """Common practice, no source: inlet low, return rising all the way."""
    (falling,) = circulation_check(project.variant([]))
    (rising,) = circulation_check(project.variant(["rising_water_line"]))
    assert (falling.circulates, falling.ends_at) == (False, "engine_in")
    assert (rising.circulates, rising.rises_all_the_way, rising.ends_at) == (True, True, "radiator_in")
    assert rising.lines == ("turbo_return",)
    assert not rising.against_pump


def test_trap_on_the_way_is_found(project):
    variant = project.variant(["rising_water_line"])
    lines = dict(variant.coolant.lines)
    lines["turbo_return"] = lines["turbo_return"].model_copy(update={"heights": (0.54, 0.58, 0.45, 0.60)})
    dipped = changed(variant, coolant=variant.coolant.model_copy(update={"lines": lines}))
    (finding,) = circulation_check(dipped)
    assert finding.shape.deepest_trap == pytest.approx(0.13)
    assert not finding.circulates


def test_no_turbo_or_no_water_no_finding(car, project):
    assert circulation_check(car) == []
    assert circulation_check(project.variant(["no_turbo_water"])) == []
