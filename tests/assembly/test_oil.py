"""The oil circuit laid from records: pump balance, relief valve, pressures as the trade knows them."""

import pytest
from still_car import changed, instant, network_of

from heatproof.assembly.oil import engine_heat_mass, lay_oil, oil_liquid
from heatproof.network import signals as S

RELIEF = 4.5e5


@pytest.fixture(scope="module")
def network(car):
    return network_of(car, lay_oil)


def at(network, rpm, celsius):
    return instant(network, temperatures={"oil": 273.15 + celsius}, signals={S.ENGINE_SPEED: rpm / 60.0})


def test_pump_delivers_displacement_times_speed(network, car):
    """Definition: 9 cm3 a revolution, 88 % of it."""
    rho = oil_liquid(car.oil.grade).stream.rho
    now = at(network, 3000, 100)
    assert now.flow("oil.pump") == pytest.approx(rho * 9e-6 * 0.88 * 50.0, rel=1e-9)
    out = sum(now.flow(f"oil.{n}") for n in ("bearings", "head_oil", "pump.relief"))
    assert out == pytest.approx(now.flow("oil.pump"), rel=1e-6)


def test_relief_valve_holds_its_pressure(network):
    for rpm, celsius in ((6500, 100), (6500, 20), (3000, 20)):
        now = at(network, rpm, celsius)
        assert RELIEF < now.pressure("oil.gallery") < 1.12 * RELIEF
        assert now.flow("oil.pump.relief") > 0.0


def test_pressures_of_warm_oil(network):
    """Common practice, no source: about 0.7 bar per 1000 rpm hot, not under 0.3 bar at hot idle."""
    assert 0.3e5 < at(network, 800, 110).pressure("oil.gallery") < 1.5e5
    assert 1.4e5 < at(network, 2000, 110).pressure("oil.gallery") < RELIEF
    assert at(network, 2000, 130).pressure("oil.gallery") < at(network, 2000, 90).pressure("oil.gallery")


def test_standing_engine_moves_no_oil(network):
    """Oil drains to a free surface: no natural circulation, whatever the temperatures."""
    now = instant(network, temperatures={"oil.bearings.fluid": 420.0, "oil.sump": 380.0})
    assert max(abs(now.flow(b)) for b in network.branches) < 1e-9


def test_engine_heat_enters_where_the_file_says(car):
    assert engine_heat_mass(car) == "oil.bearings.fluid"
    lines = {n: line.model_copy(update={"heat": "none"}) for n, line in car.oil.lines.items()}
    oil = car.oil.model_copy(update={"lines": lines})
    assert engine_heat_mass(changed(car, oil=oil)) == "oil.sump"
