"""Flow networks against closed forms and published pipe, orifice, pump and fan examples."""

import numpy as np
import pytest
from fluids import friction_factor
from small_networks import G0, P_AMBIENT, T_AMBIENT, hold, instant, liquid, sample, surroundings

from heatproof.network import signals as S
from heatproof.network.arrays import AIR, COOLANT
from heatproof.network.builder import NetworkBuilder
from heatproof.network.laid import Network
from heatproof.network.matrix import jacobian
from heatproof.network.rates import rates
from heatproof.network.solve import make_work

GPM = 3.785411784e-3 / 60.0  # m3/s, US gallon a minute
FOOT = 0.3048
WATER = 1000.0


def between(*branches: dict, difference: float, series: bool, rho: float = WATER) -> Network:
    """Branches from a fixed pressure (Pa) to none, one behind the other or side by side."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(rho))
    b.network("water", COOLANT, buoyant=False)
    b.junction("water", "in", "ambient", 0.0, fixed=True, pressure=difference)
    b.junction("water", "out", "ambient", 0.0, fixed=True)
    names = ["in", *(f"j{k}" for k in range(1, len(branches))), "out"] if series else []
    for name in names[1:-1]:
        b.junction("water", name, "ambient", 0.0)
    for k, branch in enumerate(branches):
        first, second = (names[k], names[k + 1]) if series else ("in", "out")
        b.branch("water", f"b{k}", first, second, **({"rho_ref": rho, "nu_ref": 1e-6} | branch))
    return b.build()


def root(a: float, b: float, dp: float) -> float:
    """Positive m of a m + b m² = dp."""
    return (-a + np.sqrt(a * a + 4.0 * b * dp)) / (2.0 * b)


LAWS = [{"a": 50.0, "b": 3e4}, {"a": 900.0, "b": 2e3}, {"a": 1.0, "b": 8e5}]


def test_series_adds_resistances():
    m, work = instant(between(*LAWS, difference=5e3, series=True))
    expected = root(sum(x["a"] for x in LAWS), sum(x["b"] for x in LAWS), 5e3)
    assert m["b0"] == pytest.approx(expected, rel=1e-6)
    assert m["b1"] == pytest.approx(expected, rel=1e-6)
    assert m["b2"] == pytest.approx(expected, rel=1e-6)
    assert work.p[2] == pytest.approx(5e3 - LAWS[0]["a"] * expected - LAWS[0]["b"] * expected**2, rel=1e-5)


def test_parallel_branches_do_not_know_of_each_other():
    m, _ = instant(between(*LAWS, difference=-5e3, series=False))
    for k, law in enumerate(LAWS):
        assert m[f"b{k}"] == pytest.approx(-root(law["a"], law["b"], 5e3), rel=1e-9)


# White, Fluid Mechanics, examples 6.16 to 6.18 (values from memory; the book's answers are hand iterations):
# three pipes, water of 1000 kg/m3 and 1.02e-6 m2/s.
PIPES = ((100.0, 0.08, 0.24e-3), (150.0, 0.06, 0.12e-3), (80.0, 0.04, 0.20e-3))
NU_WATER = 1.02e-6


def pipe_b(pipe: tuple[float, float, float], m: float) -> float:
    """Pa s2/kg2 of a pipe (length, bore, roughness m) with the friction factor at flow m."""
    length, bore, rough = pipe
    area = np.pi * bore**2 / 4.0
    Re = abs(m) / WATER / area * bore / NU_WATER
    return friction_factor(Re=Re, eD=rough / bore) * length / bore / (2.0 * WATER * area**2)


def with_friction(lay, start: float = 3.0) -> dict[str, float]:
    """Repeat a laid network until every pipe's friction factor fits its flow."""
    m = {f"b{k}": start for k in range(3)}
    for _ in range(30):
        m, _ = instant(lay([{"a": 1e-3, "b": pipe_b(pipe, m[f"b{k}"])} for k, pipe in enumerate(PIPES)]))
    return m


def test_three_pipes_in_series_published():
    """150 kPa and 5 m of fall: 10.2 m3/h."""
    m = with_friction(lambda laws: between(*laws, difference=150e3 + WATER * 9.81 * 5.0, series=True))
    assert m["b0"] / WATER * 3600.0 == pytest.approx(10.2, rel=0.01)


def test_three_pipes_in_parallel_published():
    """20.3 m of head: 62.5, 25.9 and 11.4 m3/h, 99.8 in all."""
    m = with_friction(lambda laws: between(*laws, difference=WATER * 9.81 * 20.3, series=False))
    flows = [m[f"b{k}"] / WATER * 3600.0 for k in range(3)]
    assert flows == pytest.approx([62.5, 25.9, 11.4], rel=0.01)
    assert sum(flows) == pytest.approx(99.8, rel=0.01)


def test_three_reservoirs_published():
    """Surfaces at 20, 100 and 40 m, pipes meeting in one point: -52.4, +47.1 and +6.0 m3/h (hand iteration)."""

    def lay(laws: list[dict]) -> Network:
        b = NetworkBuilder()
        b.liquid(COOLANT, liquid(WATER))
        b.network("water", COOLANT, buoyant=False)
        b.junction("water", "meeting", "ambient", 0.0)
        for k, height in enumerate((20.0, 100.0, 40.0)):
            b.junction("water", f"r{k}", "ambient", 0.0, fixed=True, pressure=WATER * 9.81 * height)
            b.branch("water", f"b{k}", f"r{k}", "meeting", rho_ref=WATER, **laws[k])
        return b.build()

    m = with_friction(lay)
    flows = [m[f"b{k}"] / WATER * 3600.0 for k in range(3)]
    assert flows == pytest.approx([-52.4, 47.1, 6.0], abs=0.8)
    assert sum(flows) == pytest.approx(0.0, abs=1e-4)


def test_orifice_published():
    """Crane TP-410 example 7.23: 2 in orifice in a 4.026 in pipe, 13 805 Pa, flow coefficient 0.625: 106 gpm."""
    rho, area, C = 62.364 * 16.018463, np.pi * (2.0 * 0.0254) ** 2 / 4.0, 0.625
    m, _ = instant(
        between({"b": 1.0 / (2.0 * rho * (C * area) ** 2)}, difference=13805.0, series=True, rho=rho)
    )
    assert m["b0"] / rho / GPM == pytest.approx(106.0, rel=0.01)


def pumped(head: float, h2: float, system: float, rho: float) -> Network:
    """Pump (head Pa at 3500 rpm, less h2 m²) in a closed loop of loss system m²."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(rho))
    b.network("water", COOLANT, buoyant=False)
    b.junction("water", "suction", "ambient", 0.0, fixed=True)
    b.junction("water", "delivery", "ambient", 0.0)
    speed = {"head_signal": S.ENGINE_SPEED, "head_reference": 3500.0 / 60.0}
    b.branch("water", "pump", "suction", "delivery", a=1e-3, b=h2, head=head, rho_ref=rho, **speed)
    b.branch("water", "system", "delivery", "suction", a=1e-3, b=system, rho_ref=rho)
    return b.build()


def test_pump_affinity_published():
    """Crane TP-410 example 7.33: 400 gpm and 126 ft at 3500 rpm become 194.3 gpm and 29.7 ft at 1700 rpm."""
    rho = 998.2
    m1, p1 = 400.0 * GPM * rho, rho * G0 * 126.0 * FOOT
    network = pumped(1.25 * p1, 0.25 * p1 / m1**2, p1 / m1**2, rho)
    for rpm, gpm, feet in ((3500.0, 400.0, 126.0), (1700.0, 194.3, 29.7)):
        m, work = instant(network, row=sample(speed=rpm / 60.0))
        assert m["pump"] / rho / GPM == pytest.approx(gpm, rel=0.001)
        assert work.p[1] / (rho * G0 * FOOT) == pytest.approx(feet, rel=0.003)


def test_stopped_pump_is_its_own_resistance():
    m, _ = instant(pumped(1e5, 2e4, 1e4, 1000.0))
    assert m["pump"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("ratio", "Q", "dp"), [(1.0, 1.0, 120.0), (1.5, 1.5, 270.0)])
def test_fan_meets_system(ratio, Q, dp):
    """200 - 80 Q² against 120 Q²: 1 m3/s and 120 Pa; at 1.5 times the speed 1.5 m3/s and 270 Pa (fan laws)."""
    rho = P_AMBIENT / (287.05 * T_AMBIENT)
    b = NetworkBuilder()
    b.network("air", AIR, buoyant=False)
    b.junction("air", "in", "ambient", 0.0, fixed=True)
    b.junction("air", "plenum", "ambient", 0.0)
    b.junction("air", "out", "ambient", 0.0, fixed=True)
    speed = {"head_signal": S.ENGINE_SPEED, "head_reference": 10.0}
    b.branch("air", "fan", "in", "plenum", a=1e-6, b=80.0 / rho**2, head=200.0, rho_ref=rho, **speed)
    b.branch("air", "system", "plenum", "out", a=1e-6, b=120.0 / rho**2, rho_ref=rho)
    m, work = instant(b.build(), row=sample(speed=10.0 * ratio))
    assert m["fan"] / rho == pytest.approx(Q, rel=1e-6)
    assert work.p[1] == pytest.approx(dp, rel=1e-6)


def test_branches_without_laminar_part_start_from_rest():
    """Two equal quadratic losses in series from all-zero pressures: Δp = 2 b m²."""
    m, _ = instant(between({"b": 1e4}, {"b": 1e4}, difference=2e4, series=True))
    assert m["b0"] == pytest.approx(1.0, rel=1e-6)


def test_relief_valve_opens_at_its_pressure():
    for difference, expected in ((3.9e5, 0.0), (4.0e5, 0.0), (4.5e5, np.sqrt(0.5e5 / 1e7)), (-5e5, 0.0)):
        m, _ = instant(between({"b": 1e7, "relief": 4e5}, difference=difference, series=True))
        assert m["b0"] == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_relief_valve_is_found_from_either_side():
    """20 000 pump flows one after the other, each from the pressures of the last, about half of them opening it."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(850.0, 1e-5))
    b.network("oil", COOLANT, buoyant=False)
    b.junction("oil", "sump", "ambient", 0.0, fixed=True)
    b.junction("oil", "gallery", "ambient", 0.0)
    law = {"nu_ref": 1e-5, "rho_ref": 850.0}
    b.branch("oil", "pump", "sump", "gallery", given=S.ENGINE_SPEED, given_factor=0.005)
    b.branch("oil", "bearings", "gallery", "sump", a=3e6, b=1e6, **law)
    b.branch("oil", "relief", "gallery", "sump", a=70.0, b=1.1e5, relief=4.5e5, **law)
    network = b.build()
    around, rng = surroundings(network), np.random.default_rng(0)
    work, y, off = make_work(network, around), np.zeros(0), np.zeros(0)
    given_up = 0.0
    for speed in rng.uniform(20.0, 60.0, 20_000):
        given_up += rates(network.model, around, sample(speed=speed), y, off, work)
    assert given_up == 0.0


def test_prescribed_flow_divides_between_outlet_and_relief():
    """An oil pump's flow: part through the gallery, the rest past the relief valve."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid())
    b.network("oil", COOLANT, buoyant=False)
    b.junction("oil", "sump", "ambient", 0.0, fixed=True)
    b.junction("oil", "gallery", "ambient", 0.0)
    b.branch("oil", "pump", "sump", "gallery", given=S.ENGINE_SPEED, given_factor=0.01)
    b.branch("oil", "bearings", "gallery", "sump", a=1e6, nu_ref=1e-6)
    b.branch("oil", "relief", "gallery", "sump", b=1e7, rho_ref=1000.0, relief=4e5)
    network = b.build()
    m, work = instant(network, row=sample(speed=30.0))
    assert m["pump"] == pytest.approx(0.3, rel=1e-12)
    assert m["relief"] == 0.0
    assert work.p[1] == pytest.approx(0.3e6, rel=1e-4)
    m, work = instant(network, row=sample(speed=60.0))
    over = np.roots([1e7, 1e6, 4e5 - 1e6 * 0.6])  # 4e5 + b m² = a (0.6 - m), m past the relief
    assert m["relief"] == pytest.approx(float(over.max()), rel=1e-6)
    assert m["bearings"] + m["relief"] == pytest.approx(0.6, rel=1e-6)


def warm_space(height: float) -> Network:
    """A zone with two equal openings to the outside, one `height` m above the other."""
    b = NetworkBuilder()
    b.network("air", AIR)
    b.mass("zone", 100.0, kind="air")
    b.junction("air", "outside", "ambient", 0.0, fixed=True)
    b.junction("air", "zone", "zone", 0.0)
    for name, z in (("low", 0.0), ("high", height)):
        b.branch("air", name, "outside", "zone", b=200.0, rho_ref=1.2, a=1e-6, nu_ref=1.5e-5, z1=z, z2=z)
    return b.build()


@pytest.mark.parametrize("T", [250.0, 299.99, 300.01, 350.0, 600.0])
def test_two_openings_breathe_by_buoyancy_and_turn_round(T):
    """Stack effect (Bernoulli between two equal openings): 2 b m² = |ρ - ρ0| g H, in at the bottom when warm."""
    m, _ = instant(warm_space(0.5), T={"zone": T})
    rho0, rho = P_AMBIENT / 287.05 / T_AMBIENT, P_AMBIENT / 287.05 / T
    b = 200.0 * 1.2 / (P_AMBIENT / 287.05 / (0.5 * (T + T_AMBIENT)))
    expected = np.sign(T - T_AMBIENT) * np.sqrt(abs(rho0 - rho) * G0 * 0.5 / (2.0 * b))
    assert m["low"] == pytest.approx(expected, rel=2e-3)
    assert m["high"] == pytest.approx(-expected, rel=2e-3)


@pytest.mark.parametrize("humid", [1.0, 0.98])
def test_nothing_moves_on_a_still_day_however_humid(humid):
    """Vapour makes air lighter inside and outside alike; only a difference of temperature drives."""
    network = warm_space(0.5)
    around = surroundings(network)
    around = around._replace(density=humid * around.density)
    work = make_work(network, around)
    rates(network.model, around, sample(), np.full(network.size, T_AMBIENT), np.zeros(0), work)
    assert np.abs(work.m).max() < 1e-9


# Natural circulation: rho 1015, beta 6.5e-4, mu 7e-4, cp 3600, bore 10 mm, 1.5 m of pipe, 0.25 m rise.
RHO, BETA, MU, CP, BORE, LENGTH = 1015.0, 6.5e-4, 7e-4, 3600.0, 0.01, 1.5
WARM = {"heater": 333.15} | {f"{leg} {k}": 333.15 for leg in ("rising", "falling") for k in range(3)}


def siphon(rise: float, heat: float, *, cells: int = 1, K: float = 0.0) -> Network:
    """Heater (ports at 0 and 10 mm), cooler at `rise` m, held at 60 degC; `cells` lumps of liquid in each leg."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(RHO, MU / RHO, CP, slope=-RHO * BETA))
    b.network("loop", COOLANT)
    b.boundary("cold", 333.15)
    b.mass("heater", 300.0, kind="coolant")
    b.source("heater", S.ONE, heat, "heat")
    b.junction("loop", "bottom", "heater", 0.0)
    b.junction("loop", "top", "cold", rise, fixed=True)
    area = np.pi * BORE**2 / 4.0
    a = 128.0 * MU * LENGTH / (np.pi * BORE**4 * RHO) / (2 * cells)
    law = {"a": a, "b": K / (2.0 * RHO * area**2) / (2 * cells), "nu_ref": MU / RHO, "rho_ref": RHO, "cp": CP}
    for leg, ends in (("rising", ("bottom", "top")), ("falling", ("top", "bottom"))):
        here = ends[0]
        for k in range(cells):
            z = rise * (k + 1) / cells if leg == "rising" else rise * (1.0 - (k + 1) / cells)
            cell = b.mass(f"{leg} {k}", RHO * area * LENGTH / 2.0 / cells * CP, kind="coolant")
            there = ends[1]
            if k + 1 < cells:
                mid = b.mass(f"{leg} joint {k}", 2.0, kind="coolant")
                there = b.junction("loop", f"{leg} {k}", mid, z)
            port = 0.01 if leg == "rising" and k == 0 and rise != 0.0 else None
            b.branch("loop", f"{leg} {k}", here, there, cell=cell, z1=port, **law)
            here = there
    return b.build()


@pytest.mark.parametrize("cells", [1, 3])
def test_natural_circulation_loop(cells):
    """Hagen-Poiseuille against buoyancy at 400 W: 6.531 g/s and 17.01 K, whatever the number of cells."""
    run = hold(siphon(0.25, 400.0, cells=cells), 900, T=WARM)
    rise = run.state[-1, run.network.mass("heater")] - 333.15
    assert run.flow[-1, 0] * 1e3 == pytest.approx(6.531, abs=0.02)
    assert rise == pytest.approx(17.01, abs=0.05)
    assert run.flow[-1, 0] * CP * rise == pytest.approx(400.0, rel=1e-3)


def test_natural_circulation_scales_with_root_of_heat():
    """m ~ Q^0.5 (laminar, imposed heat): four times the heat, twice the flow."""
    small, large = (hold(siphon(0.25, q), 1800, T=WARM).flow[-1, 0] for q in (100.0, 400.0))
    assert large / small == pytest.approx(2.0, rel=0.002)


def test_minor_losses_slow_the_loop():
    """K = 6: 5.18 g/s, root of (a + b m) m² = ρ g β H Q/cp."""
    a = 128.0 * MU * LENGTH / (np.pi * BORE**4 * RHO)
    b = 6.0 / (2.0 * RHO * (np.pi * BORE**2 / 4.0) ** 2)
    roots = np.roots([b, a, 0.0, -RHO * G0 * BETA * 0.25 * 400.0 / CP])
    expected = float(roots[np.isreal(roots)].real.max())
    m = hold(siphon(0.25, 400.0, K=6.0), 1200, T=WARM).flow[-1, 0]
    assert expected * 1e3 == pytest.approx(5.18, abs=0.01)
    assert m == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize("rise", [0.0, -0.25])
def test_no_circulation_without_rise(rise):
    """Heater level with the cooler, or above it: the loop stands still and the heater heats on."""
    run = hold(siphon(rise, 100.0), 300, T=WARM)
    assert abs(run.flow[-1, 0]) < 1e-5
    alone = 333.15 + 100.0 * 300.0 / 300.0
    assert run.state[-1, run.network.mass("heater")] == pytest.approx(alone, abs=4.0)


def random_network(rng: np.random.Generator) -> Network:
    """Connected, 2 to 12 free junctions, laws over many decades, some heads, relief valves, given flows."""
    b = NetworkBuilder()
    b.liquid(COOLANT, liquid(slope=-0.6))
    b.network("n", COOLANT)
    free = int(rng.integers(2, 13))
    names = [f"j{k}" for k in range(free)]
    for name in names:
        b.mass(name, 10.0, kind="coolant")
        b.junction("n", name, name, float(rng.uniform(0.0, 1.0)))
    for k in range(int(rng.integers(1, 3))):
        b.junction(
            "n", f"f{k}", "ambient", 0.5, fixed=True, pressure_coefficient=float(rng.normal(0.0, 50.0))
        )
        names.append(f"f{k}")
    pairs = [(names[int(rng.integers(0, k))], names[k]) for k in range(1, len(names))]
    pairs += [tuple(rng.choice(names, 2, replace=False)) for _ in range(int(rng.integers(1, 2 * free)))]
    for k, (i, j) in enumerate(pairs):
        a = 10.0 ** rng.uniform(-1, 6)
        crossover = 10.0 ** rng.uniform(-6, 2)  # kg/s from laminar to quadratic
        law = {"a": a, "b": a / crossover, "nu_ref": 1e-6, "rho_ref": 1e3}
        if rng.random() < 0.2:
            law |= {
                "head": 10.0 ** rng.uniform(1, 5.5),
                "head_signal": S.ENGINE_SPEED,
                "head_reference": 50.0,
            }
        if k >= len(names) - 1 and rng.random() < 0.1:
            law |= {
                "relief": 10.0 ** rng.uniform(2, 5),
                "a": 10.0 ** rng.uniform(3, 6),
            }  # stiff, never a step
        if k >= len(names) - 1 and rng.random() < 0.1:
            law |= {"given": S.ENGINE_SPEED, "given_factor": float(rng.normal(0.0, 0.01))}
        b.branch("n", f"b{k}", str(i), str(j), **law)
    return b.build()


def solved_at(
    network: Network, row: np.ndarray, y: np.ndarray, start: np.ndarray
) -> tuple[float, np.ndarray]:
    around = surroundings(network)
    work = make_work(network, around)
    work.p[:] = start
    return rates(network.model, around, row, y, np.zeros(0), work), work.m.copy()


def imbalance(network: Network, m: np.ndarray) -> float:
    ju, br = network.model.junctions, network.model.branches
    net = np.zeros(ju.size)
    np.add.at(net, br["second"], m)
    np.subtract.at(net, br["first"], m)
    return float(np.abs(net[ju["fixed"] == 0]).max())


@pytest.mark.parametrize("block", range(4))
def test_random_networks_always_converge_to_one_solution(block):
    """Convex potential: from any start pressures the same flows; here 40 networks at 25 states in each block."""
    rng = np.random.default_rng(1000 + block)
    for _ in range(40):
        network = random_network(rng)
        for _ in range(25):
            y = np.full(network.size, T_AMBIENT) + rng.uniform(-20.0, 80.0, network.size)
            row = sample(
                speed=float(rng.choice([0.0, rng.uniform(5, 120)])), vehicle=float(rng.uniform(0, 60))
            )
            size = 10.0 ** rng.uniform(-3, 6)
            free = np.where(network.model.junctions["fixed"] == 1, 0.0, 1.0)
            start = size * rng.normal(0.0, 1.0, free.size) * free
            given_up, m = solved_at(network, row, y, start)
            again, other = solved_at(network, row, y, np.zeros(free.size))
            assert given_up == again == 0.0
            largest = float(np.abs(m).max())
            assert imbalance(network, m) <= 1e-6 * largest + 2e-9
            np.testing.assert_allclose(m, other, atol=1e-4 * largest + 1e-7)


def test_jacobian_is_exact_where_films_are_constant():
    """Carried heat and the flows' answer to buoyancy, against central differences of the rates."""
    network = siphon(0.25, 400.0, cells=3)
    around = surroundings(network)
    y = hold(network, 60, T=WARM).state[-1]
    work, off = make_work(network, around), np.zeros(0)
    pattern = network.model.pattern
    K, out = np.zeros(pattern.column.size + 1), np.zeros(network.size)
    rates(network.model, around, sample(), y, off, work)
    jacobian(network.model, around, work, K, out)
    J, D = K[pattern.slot], np.empty((y.size, y.size))
    for i in range(y.size):
        ends = []
        for h in (1e-2, -1e-2):
            moved = y.copy()
            moved[i] += h
            rates(network.model, around, sample(), moved, off, work)
            ends.append(work.rate.copy())
        D[:, i] = (ends[0] - ends[1]) / 2e-2
    np.testing.assert_allclose(J, D, atol=1e-3 * np.abs(D).max())
    assert np.count_nonzero(np.abs(D) > 1e-3 * np.abs(D).max()) > 3 * y.size, "buoyancy couples the loop"
