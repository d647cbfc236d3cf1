"""Heat in small networks through the real transient, against exact solutions."""

import numpy as np
import pytest
from scipy.linalg import expm
from small_networks import T_AMBIENT, course, hold, liquid, sample, state_of, surroundings

from heatproof.network import signals as S
from heatproof.network.arrays import AIR, COOLANT
from heatproof.network.builder import NetworkBuilder
from heatproof.network.engine import COLUMNS, RUNNING, SPEED
from heatproof.network.laid import Network
from heatproof.network.paths import paths_at
from heatproof.network.solve import Duty, solve_duty
from heatproof.network.steady import steady

ZERO = 273.15


def housing(K_Bw: float) -> Network:
    """Turbine and bearing housing after key-off: two lumps, ambient 60 degC, water 105 degC."""
    b = NetworkBuilder()
    b.boundary("air", 60.0 + ZERO)
    b.boundary("water", 105.0 + ZERO)
    b.mass("turbine", 2400.0)
    b.mass("bearing", 825.0)
    b.conduction("turbine", "bearing", 3.0)
    b.conduction("turbine", "air", 2.0)
    b.conduction("bearing", "air", 0.5)
    b.conduction("bearing", "water", K_Bw)
    return b.build()


def exact_housing(K_Bw: float, t: np.ndarray, start: tuple[float, float]) -> np.ndarray:
    """(times, 2) degC by the matrix exponential."""
    M = np.array([[-5.0 / 2400.0, 3.0 / 2400.0], [3.0 / 825.0, -(3.5 + K_Bw) / 825.0]])
    steady = np.linalg.solve(M, -np.array([2.0 * 60.0 / 2400.0, (0.5 * 60.0 + K_Bw * 105.0) / 825.0]))
    return np.array([steady + expm(M * x) @ (np.array(start) - steady) for x in t])


# Two-node balance, exact by eigenvectors: (K_Bw, start, peak degC, its time s).
SOAKS = [
    (0.0, (750.0, 130.0), 408.2, 384.0),
    (5.0, (750.0, 130.0), 261.3, 193.0),
    (15.0, (750.0, 130.0), 188.4, 106.0),
    (0.0, (550.0, 120.0), 310.2, 377.0),
]


@pytest.mark.parametrize(("K_Bw", "start", "peak", "when"), SOAKS)
def test_two_node_soak(K_Bw, start, peak, when):
    run = hold(housing(K_Bw), 1200, T={"turbine": start[0] + ZERO, "bearing": start[1] + ZERO})
    bearing = course(run, "bearing") - ZERO
    assert bearing.max() == pytest.approx(peak, abs=0.3)
    assert run.time[bearing.argmax()] == pytest.approx(when, abs=10.0)  # stored steps are up to 10 s apart
    exact = exact_housing(K_Bw, run.time, start)
    assert np.abs(course(run, "turbine") - ZERO - exact[:, 0]).max() < 0.3
    assert np.abs(bearing - exact[:, 1]).max() < 0.3


def test_soak_error_falls_with_the_square_of_the_step():
    """Second order: a hundredth of the tolerance is a tenth of the step and about a hundredth of the error."""
    errors = []
    for tolerance in (1e-1, 1e-3):
        run = hold(
            housing(5.0), 600, T={"turbine": 750.0 + ZERO, "bearing": 130.0 + ZERO}, tolerance=tolerance
        )
        exact = exact_housing(5.0, run.time, (750.0, 130.0))
        errors.append(np.abs(course(run, "bearing") - ZERO - exact[:, 1]).max())
    assert errors[1] < 0.03 * errors[0]
    assert errors[1] < 2e-3


def test_nothing_happens_at_one_temperature():
    b = NetworkBuilder()
    b.mass("a", 10.0)
    b.mass("b", 20.0)
    b.conduction("a", "b", 1.0)
    b.radiation("a", "ambient", 0.1)
    run = hold(b.build(), 100)
    assert np.abs(run.state - T_AMBIENT).max() == 0.0


def test_lumped_cooling():
    """3 kg, 500 J/kg/K, 0.05 m2 at 10 W/m2/K, 600 to 25 degC: 340.6 degC after 1800 s (Incropera eq. 5.6)."""
    b = NetworkBuilder()
    b.boundary("air", 25.0 + ZERO)
    b.mass("body", 1500.0)
    b.conduction("body", "air", 0.5)
    run = hold(b.build(), 1800, T={"body": 600.0 + ZERO})
    assert run.state[-1, 0] - ZERO == pytest.approx(340.6, abs=0.2)
    assert run.heat_out == pytest.approx(-run.stored, rel=1e-10)


@pytest.mark.parametrize(("T_sur", "seconds"), [(0.0, 771.55), (300.0, 824.61)])
def test_radiation_only_cooling(T_sur, seconds):
    """4 mm iron plate, 7500 kg/m3, 500 J/kg/K, emissivity 0.8, 1000 to 500 K (Incropera eqs 5.18, 5.19)."""
    b = NetworkBuilder()
    b.boundary("space", T_sur)
    b.mass("plate", 7500.0 * 500.0 * 0.004)
    b.radiation("plate", "space", 0.8)
    run = hold(b.build(), 900, T={"plate": 1000.0}, tolerance=0.05)
    T = course(run, "plate")
    assert np.interp(-500.0, -T, run.time) == pytest.approx(seconds, rel=1e-3)


def test_two_insulated_bodies_keep_their_heat():
    b = NetworkBuilder()
    b.mass("a", 400.0)
    b.mass("b", 1000.0)
    b.conduction("a", "b", 5.0)
    b.radiation("a", "b", 0.05)
    run = hold(b.build(), 3600, T={"a": 900.0, "b": 320.0})
    C = np.array([400.0, 1000.0])
    heat = run.state @ C
    assert np.abs(heat - heat[0]).max() < 1e-9 * heat[0]
    assert run.state[-1] == pytest.approx(np.full(2, heat[0] / C.sum()), abs=0.01)


def radiator(hot_sense: int, cold_sense: int) -> Network:
    """Coolant 1.2 kg/s and air 1.5 kg/s through a core of UA 1800 W/K; sense -1: the branch is laid the other way."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(cp=3500.0))
    for name, fluid in (("water", COOLANT), ("air", AIR)):
        b.network(name, fluid, buoyant=False)
    b.boundary("hot in", 95.0 + ZERO)
    b.boundary("cold in", 35.0 + ZERO)
    b.mass("hot out", 500.0, kind="coolant")
    b.mass("cold out", 50.0, kind="air")
    b.mass("core", 3000.0)
    for side, net, flow, cp, sense in (
        ("hot", "water", 1.2, 3500.0, hot_sense),
        ("cold", "air", 1.5, 1007.0, cold_sense),
    ):
        ends = [f"{side} in", f"{side} out"]
        for end in ends:
            b.junction(net, end, end, 0.0, fixed=True)
        first, second = ends if sense > 0 else ends[::-1]
        b.branch(net, side, first, second, given=S.ONE, given_factor=sense * flow, cp=cp)
    table = (np.array([0.1, 10.0]), np.array([3600.0, 3600.0]))
    b.exchanger("core", hot="hot", cold="cold", metal="core", hot_table=table, cold_table=table)
    return b.build()


@pytest.mark.parametrize("hot_sense", [1, -1])
@pytest.mark.parametrize("cold_sense", [1, -1])
def test_exchanger_with_metal_is_effectiveness_at_steady_state(hot_sense, cold_sense):
    """Crossflow unmixed, exact: 56.475 kW, coolant out 81.55 and air out 72.39 degC (ht, Mason 1954)."""
    network = radiator(hot_sense, cold_sense)
    run = hold(network, 600)
    T = {name: run.state[-1, network.mass(name)] for name in network.masses}
    assert 1.2 * 3500.0 * (95.0 + ZERO - T["hot out"]) == pytest.approx(56475.0, rel=5e-4)
    assert 1.5 * 1007.0 * (T["cold out"] - 35.0 - ZERO) == pytest.approx(56475.0, rel=5e-4)
    assert T["hot out"] - ZERO == pytest.approx(81.55, abs=0.02)
    assert T["cold out"] - ZERO == pytest.approx(72.39, abs=0.02)
    at_rest = steady(network, surroundings(network), sample())
    assert at_rest == pytest.approx(run.state[-1], abs=0.01)


def kettle(heat: float, conductance: float) -> Network:
    """A cell of water, heated, that may only lose heat as vapour."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid())
    b.network("water", COOLANT)
    b.mass("cell", 4000.0, kind="coolant")
    b.junction("water", "tank", "cell", 0.0, fixed=True)
    b.source("cell", S.ONE, heat, "heat")
    b.boiling("cell", "tank", 0.0, None, conductance)
    return b.build()


def test_boiling_cell_stays_at_saturation_and_its_vapour_is_counted():
    network = kettle(2000.0, 500.0)
    around = surroundings(network, saturation_T=np.full((1, 100), 373.15))
    run = hold(network, 900, around=around)
    T = course(run, "cell")
    assert T[-1] == pytest.approx(373.15 + 2000.0 / 500.0, abs=0.02)
    assert T.max() < 373.15 + 2000.0 / 500.0 + 0.5
    # Warming takes C (T_sat - T_a)/Q; after it all heat leaves as vapour.
    until_boiling = 4000.0 * (373.15 - T_AMBIENT) / 2000.0
    assert np.interp(373.15, T[T < 374.0], run.time[T < 374.0]) == pytest.approx(until_boiling, abs=1.0)
    assert run.boiled[-1, 0] == pytest.approx(2000.0, abs=10.0)
    assert run.heat_in == pytest.approx(2000.0 * 900.0, rel=1e-12)
    assert run.heat_out == pytest.approx(run.heat_in - 4000.0 * (T[-1] - T_AMBIENT), rel=1e-9)
    assert abs(run.closure) < 1e-9


def test_vapour_reaches_its_receiver():
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid())
    b.network("water", COOLANT)
    b.mass("cell", 2000.0, kind="coolant")
    b.mass("tank", 8000.0, kind="coolant")
    b.junction("water", "tank", "tank", 0.0, fixed=True)
    b.source("cell", S.ONE, 1000.0, "heat")
    b.boiling("cell", "tank", 0.0, "tank", 500.0)
    run = hold(b.build(), 400, around=surroundings(b.build(), saturation_T=np.full((1, 100), 373.15)))
    gained = run.state[-1] @ np.array([2000.0, 8000.0]) - T_AMBIENT * 10000.0
    assert gained == pytest.approx(400e3, rel=1e-9)
    assert run.state[-1, 1] > T_AMBIENT + 20.0


def test_thermostat_opens_and_lets_the_loop_flow():
    """Lift follows the smooth ramp of the sensor's temperature; the branch opens with it."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid())
    b.network("water", COOLANT, buoyant=False)
    b.boundary("cold", 320.0)
    b.mass("engine", 2000.0, kind="coolant")
    b.source("engine", S.ONE, 5000.0, "heat")
    b.thermostat("thermostat", "engine", 340.0, 380.0, 4.0)
    b.junction("water", "engine", "engine", 0.0)
    b.junction("water", "radiator", "cold", 0.0, fixed=True)
    law = {"rho_ref": 1000.0, "nu_ref": 1e-6, "cp": 4180.0}
    b.branch("water", "supply", "radiator", "engine", a=0.1, b=1e5, head=2e4, head_signal=S.ONE, **law)
    b.branch("water", "valve", "engine", "radiator", a=1e-6, b=1e7, lift="thermostat", leak=0.002, **law)
    run = hold(b.build(), 900)
    T, lift = course(run, "engine"), run.state[:, 1]
    flow = run.flow[:, run.network.branches.index("valve")]
    before = T < 339.0
    assert before.any()
    assert np.abs(lift[before & (run.time < 15.0)]).max() < 1e-9
    assert flow[1] == pytest.approx(np.sqrt(2e4 / (1e5 + 1e7 / 0.002**2)), rel=1e-3)
    f = (T[-1] - 340.0) / 40.0
    assert 0.0 < f < 1.0
    assert lift[-1] == pytest.approx(f * f * (3.0 - 2.0 * f), abs=1e-3)
    assert flow[-1] == pytest.approx(np.sqrt(2e4 / (1e5 + 1e7 / (lift[-1] + 0.002) ** 2)), rel=1e-4)
    assert flow[-1] * 4180.0 * (T[-1] - 320.0) == pytest.approx(5000.0, rel=0.01)


def test_fan_relay_has_hysteresis():
    """On above 350 K, off again only below 340 K; speed follows with its lag."""
    b = NetworkBuilder()
    b.mass("sensor", 100.0)
    b.source("sensor", S.ENGINE_SPEED, 1.0, "heat")
    b.conduction("sensor", "ambient", 1.0)
    signal = b.fan("fan", "sensor", on=350.0, high=1000.0, hysteresis=10.0, low_speed=0.6, with_ac=False)
    rows = np.zeros((900, COLUMNS))
    rows[:300, SPEED] = 60.0  # W: towards 360 K
    rows[300:600, SPEED] = 44.0  # towards 344 K: between off and on
    run = hold(b.build(), 900, rows=rows)
    T, speed = course(run, "sensor"), run.state[:, 1]
    assert speed[T < 349.0][0] == 0.0
    assert speed[(run.time < 300.0) & (T < 350.0)].max() == 0.0
    assert speed[np.searchsorted(run.time, 300.0)] == pytest.approx(0.6, abs=1e-3)
    assert speed[np.searchsorted(run.time, 599.0)] == pytest.approx(0.6, abs=1e-3), "344 K does not stop it"
    assert speed[-1] == pytest.approx(0.0, abs=1e-3), "300 K does"
    assert run.signal[np.searchsorted(run.time, 599.0), signal] == pytest.approx(0.6, abs=1e-3)


@pytest.mark.parametrize("run_on", [0.0, 120.0])
def test_fan_runs_on_as_long_as_it_is_fitted_for(run_on):
    b = NetworkBuilder()
    b.boundary("hot", 400.0)
    b.mass("sensor", 100.0)
    b.conduction("sensor", "hot", 10.0)
    b.fan("fan", "sensor", on=350.0, high=1e3, hysteresis=5.0, low_speed=1.0, with_ac=False, run_on=run_on)
    network = b.build()
    around = surroundings(network)
    start = state_of(network, around, {"sensor": 400.0})
    run = solve_duty(network, around, Duty(np.zeros((300, COLUMNS)), 60), start)
    running = run.time[run.state[:, 1] > 0.5]
    assert running.max() == pytest.approx(60.0 + run_on, abs=12.0)


@pytest.mark.parametrize(
    ("with_engine", "sensor", "driving", "soaking"),
    [(1, 320.0, 1.0, 0.0), (1, 400.0, 1.0, 1.0), (-1, 320.0, 0.0, 0.0), (-1, 400.0, 0.0, 1.0)],
)
def test_electric_pump_goes_with_the_engine_and_runs_on_where_its_sensor_is_hot(
    with_engine, sensor, driving, soaking
):
    """Speed while the engine runs, and after key-off with 60 s of run-on above 350 K; none later."""
    b = NetworkBuilder()
    b.boundary("water", sensor)
    b.mass("sensor", 100.0)
    b.conduction("sensor", "water", 10.0)
    relay = {
        "on": 350.0,
        "high": 350.0,
        "hysteresis": 3.0,
        "low_speed": 1.0,
        "with_ac": False,
        "run_on": 60.0,
    }
    b.fan("pump", "sensor", **relay, with_engine=with_engine)
    network = b.build()
    around = surroundings(network)
    rows = np.zeros((200, COLUMNS))
    rows[:60, RUNNING], rows[:60, SPEED] = 1.0, 30.0
    run = solve_duty(network, around, Duty(rows, 60), state_of(network, around, {"sensor": sensor}))
    speed = np.interp([50.0, 100.0, 190.0], run.time, run.speed_of("pump"))
    assert speed == pytest.approx([driving, soaking, 0.0], abs=1e-3)
    assert np.all(run.speed_of("none such") == 0.0)


def test_paths_sum_to_what_every_mass_stores():
    """Heat into each mass over all paths = C dT/dt, from the states of a fine run."""
    network = radiator(1, -1)
    run = hold(network, 60, tolerance=1e-3)
    row = int(np.searchsorted(run.time, 20.0))
    into = dict.fromkeys(network.masses, 0.0)
    for path in paths_at(run, row):
        if path.second in into:
            into[path.second] += path.heat
        if path.first in into and path.kind != "carried":
            into[path.first] -= path.heat
    for name in network.masses:
        T, C = course(run, name), network.model.capacity[network.mass(name)]
        slope = np.gradient(T[row - 1 : row + 2], run.time[row - 1 : row + 2])[1]
        assert into[name] == pytest.approx(C * slope, abs=60.0), name
