"""Air paths laid from records, against closed forms; trends as a workshop knows them."""

from math import sqrt

import pytest
from still_car import T_AMBIENT, changed, instant, network_of

from heatproof.assembly.air import lay_air
from heatproof.assembly.coolant import lay_coolant
from heatproof.kit.records.air import Air, Fan, Passage, Zone
from heatproof.network import signals as S

RHO = 101325.0 / (287.05 * T_AMBIENT)


def box(car, passages, fan=None):
    """One zone and the ways out of it, on the car's coolant (which carries the fan's sensor)."""
    zone = Zone(volume=0.1, flow_area=0.1, height=0.7)
    air = Air(zones={"box": zone}, passages=passages, fan=fan)
    return network_of(changed(car, air=air, cores={}, coolant=plain_coolant(car)), lay_coolant, lay_air)


def plain_coolant(car):
    lines = {n: line.model_copy(update={"core": None}) for n, line in car.coolant.lines.items()}
    return car.coolant.model_copy(update={"lines": lines})


def opening(height, **more):
    return Passage(from_="outside", to="box", area=0.05, loss=1 / 0.61**2, height=height, **more)


def test_two_openings_of_a_warm_box_draw_as_the_stack_formula_says(car):
    """Bernoulli, ideal gas: (rho_o - rho_i) g H = (1/rho_o + 1/rho_i) m2/(2 Cd2 A2); handbook stack flow."""
    network = box(car, {"low": opening(0.2), "high": opening(1.2)})
    now = instant(network, temperatures={"air.box": 330.0})
    warm = RHO * T_AMBIENT / 330.0
    flow = 0.61 * 0.05 * sqrt(2 * (RHO - warm) * 9.80665 * 1.0 / (1 / RHO + 1 / warm))
    assert now.flow("air.low") == pytest.approx(flow, rel=0.015)
    assert now.flow("air.high") == pytest.approx(-now.flow("air.low"), rel=1e-4)


def test_ram_pressure_through_two_openings(car):
    """Bernoulli with loss coefficients: dCp rho v2/2 = (K1 + K2) m2/(2 rho A2)."""
    passages = {"front": opening(0.5, pressure_coefficient=0.9), "back": opening(0.5)}
    now = instant(box(car, passages), signals={S.VEHICLE_SPEED: 30.0})
    flow = RHO * 0.05 * 30.0 * sqrt(0.9 / (2 / 0.61**2))
    assert now.flow("air.front") == pytest.approx(flow, rel=2e-3)


def blown(car, **more):
    fan = Fan(passage="fan", pressure_at_rest=200.0, free_flow=1.0, sensor="radiator_in")
    passage = Passage(from_="box", to="outside", kind="fan", height=0.5, **more)
    return box(car, {"in": opening(0.5), "fan": passage}, fan)


@pytest.mark.parametrize("speed", [1.0, 0.65])
def test_fan_works_where_its_curve_meets_the_opening(car, speed):
    """Parabola through head at rest and free flow, affinity laws (both textbook), meets K/(2 rho A2) m2."""
    now = instant(blown(car), fan=speed)
    K = 1 / 0.61**2 / (2 * RHO * 0.05**2)
    flow = speed * sqrt(200.0 / (K + 200.0 / RHO**2))
    assert now.flow("air.fan") == pytest.approx(flow, rel=3e-3)


def test_stopped_fan_lets_air_through_and_a_flap_only_one_way(car):
    wind = {S.VEHICLE_SPEED: 30.0}
    passages = {
        "in": opening(0.5, pressure_coefficient=0.5),
        "flap": Passage(from_="outside", to="box", area=0.05, height=0.5, one_way=True),
    }
    shut = instant(box(car, passages), signals=wind)
    assert abs(shut.flow("air.flap")) < 1e-9
    passages["flap"] = passages["flap"].model_copy(update={"one_way": False})
    assert instant(box(car, passages), signals=wind).flow("air.flap") < -0.1


def sealed(car, area):
    """The car with this much gap (m2) round the radiator; the engine draws nothing."""
    return network_of(car.replace("air.passages.gap_round_radiator.area", area), lay_coolant, lay_air)


def test_seal_strips_raise_core_flow_at_speed(car):
    """Common practice, no source: air that finds a gap goes round the core."""
    wind = {S.VEHICLE_SPEED: 100 / 3.6}
    wide, tight = (instant(sealed(car, area), signals=wind) for area in (300e-4, 15e-4))
    assert tight.flow("air.radiator_open") > 1.02 * wide.flow("air.radiator_open")
    assert 0 < tight.flow("air.gap_round_radiator") < 0.2 * wide.flow("air.gap_round_radiator")
    assert 0.5 < tight.flow("air.radiator_open") < 2.5  # kg/s at 100 km/h; common practice, no source


def test_at_standstill_the_fan_draws_bay_air_back_through_the_gap(car):
    """Common practice, no source: the same gap recirculates when only the fan moves air."""
    wide, tight = (instant(sealed(car, area), fan=1.0) for area in (300e-4, 15e-4))
    assert wide.flow("air.gap_round_radiator") < -0.02
    assert wide.flow("air.gap_round_radiator") < tight.flow("air.gap_round_radiator") < 0.0


def test_nothing_moves_on_a_still_day(car):
    now = instant(sealed(car, 160e-4))
    assert max(abs(now.flow(b)) for b in now.network.branches if b.startswith("air.")) < 1e-6
