"""Duties against closed forms, SciPy's integrator, CoolProp's moist air and the published schedules."""

import math
from pathlib import Path

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

import heatproof
from heatproof.assembly.duties.car import ROTATING, air_density, full_power, make_car, resistance
from heatproof.assembly.duties.full_load import full_load_power
from heatproof.assembly.duties.gears import road_gear
from heatproof.assembly.duties.lap import DRIVEN_SHARE, lap_steps
from heatproof.assembly.duties.pulls import pull
from heatproof.assembly.duties.samples import duty_samples, held_longer, plan_duty, start_sample
from heatproof.assembly.duties.schedules import schedule
from heatproof.assembly.duties.steps import FULL_LOAD, CannotDrive, second_means
from heatproof.assembly.duties.trace import TraceError, read_columns, trace_columns
from heatproof.assembly.model import lay_network, solve
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import (
    Crawl,
    Cruise,
    Drive,
    Duty,
    Grade,
    Lap,
    Pulls,
    Schedule,
    Start,
    Stretch,
    Trace,
    Weather,
)
from heatproof.kit.records.variant import Variant
from heatproof.network.engine import AC, COLUMNS, DEMAND, RUNNING, SPEED, VEHICLE

G = 9.80665
RPM = 1 / 60
KM_H = 1 / 3.6
DAY = Weather(ambient=308.15, altitude=0.0, humidity=0.35)


@pytest.fixture(scope="module")
def project():
    return read_project(Path(heatproof.__file__).parent / "examples" / "hatchback", strict=False)


@pytest.fixture(scope="module")
def variant(project) -> Variant:
    """The invented demo car with its kit."""
    return project.variant()


def changed(variant: Variant, **values: float) -> Variant:
    for path, value in values.items():
        variant = variant.with_value(path.replace("__", "."), value)
    return variant


@pytest.fixture(scope="module")
def slippery(variant) -> Variant:
    """No air drag, no rolling resistance, no accessories; constant power from 600 rpm up."""
    return changed(
        variant,
        vehicle__drag_area=0.0,
        vehicle__rolling_resistance=0.0,
        engine__idle_power=0.0,
        engine__rated_speed=600 * RPM,
        engine__boost_from=500 * RPM,
    )


def duty(drive: Drive, **more) -> Duty:
    return Duty(name="test", air=more.pop("air", DAY), drive=drive, **more)


# ---------------------------------------------------------------- official schedules


@pytest.mark.parametrize(
    ("name", "seconds", "top_km_h", "distance_km"),
    [
        ("udds", 1369, 91.25, 11.99),  # 40 CFR 86 App. I: 7.45 miles, 56.7 mph
        ("us06", 600, 129.23, 12.89),  # 40 CFR 86 App. I: 8.01 miles, 80.3 mph
        ("hwfet", 765, 96.4, 16.51),  # 40 CFR 600 App. I: 10.26 miles, 59.9 mph
        ("wltc_3b", 1800, 131.3, 23.27),  # UN GTR 15: 23 266 m, 131.3 km/h
    ],
)
def test_schedules_have_their_published_figures(variant, name, seconds, top_km_h, distance_km):
    plan = plan_duty(duty(Schedule(name=name)), variant)
    rows = plan.duty.samples
    assert rows.shape == (seconds, COLUMNS)
    # 0.2 %: 1 Hz points joined by straight lines against the published sum (0.08 % for UDDS).
    assert rows[:, VEHICLE].sum() / 1e3 == pytest.approx(distance_km, rel=2e-3)
    assert schedule(name)[1].max() * 3.6 == pytest.approx(top_km_h, abs=0.06)
    assert rows[:, VEHICLE].max() <= schedule(name)[1].max() + 1e-6


def test_schedule_repeats(variant):
    once = duty_samples(duty(Schedule(name="hwfet")), variant).samples
    twice = duty_samples(duty(Schedule(name="hwfet", repeat=2)), variant).samples
    assert twice.shape[0] == 2 * once.shape[0]
    assert np.allclose(twice[765:], once, atol=1e-5)


# ---------------------------------------------------------------- road load


def test_air_density_is_that_of_moist_air():
    # CoolProp, ASHRAE RP-1485 moist air; 0.1 % is the range stated for ideal gases.
    air = Weather(ambient=311.15, pressure=94_000.0, humidity=0.6)
    per_dry = HAPropsSI("V", "T", 311.15, "P", 94_000.0, "R", 0.6)
    w = HAPropsSI("W", "T", 311.15, "P", 94_000.0, "R", 0.6)
    assert air_density(air) == pytest.approx((1 + w) / per_dry, rel=1e-3)


def test_altitude_thins_the_air():
    # U.S. Standard Atmosphere 1976, table 1: 79 495 Pa at 2000 m.
    high, low = Weather(ambient=300.0, altitude=2000.0, humidity=0.0), Weather(ambient=300.0, humidity=0.0)
    assert air_density(high) / air_density(low) == pytest.approx(79_495 / 101_325, rel=1e-4)


def test_grade_power_is_weight_times_climb_plus_losses(variant):
    # Newton, by hand: 7 % rise over run, 30 m/s.
    v, grade, added = 30.0, 0.07, 350.0
    rows = duty_samples(duty(Grade(speed=v, grade=grade, duration=60.0, added_mass=added)), variant).samples
    m = variant.vehicle.mass + variant.mass + added
    angle = math.atan(grade)
    rho = (
        1
        / HAPropsSI("V", "T", 308.15, "P", 101_325, "R", 0.35)
        * (1 + HAPropsSI("W", "T", 308.15, "P", 101_325, "R", 0.35))
    )
    force = m * G * (0.012 * math.cos(angle) + math.sin(angle)) + 0.5 * rho * 0.64 * v**2
    assert rows[30, DEMAND] == pytest.approx(force * v / 0.92 + 2000.0, rel=1e-3)


def test_head_wind_counts_in_the_drag(variant):
    still = duty_samples(duty(Cruise(speed=30.0, duration=9.0)), variant).samples[0, DEMAND]
    wind = DAY.model_copy(update={"wind": 10.0})
    windy = duty_samples(duty(Cruise(speed=30.0, duration=9.0), air=wind), variant).samples[0, DEMAND]
    extra = 0.5 * air_density(DAY) * 0.64 * (40.0**2 - 30.0**2) * 30.0 / 0.92
    assert windy - still == pytest.approx(extra, rel=1e-6)


def test_demand_beyond_the_engine_stays_and_is_said(variant):
    plan = plan_duty(duty(Grade(speed=50.0, grade=0.2, duration=30.0)), variant)
    assert 165e3 < plan.duty.samples[0, DEMAND] < FULL_LOAD
    assert "full load there is about" in plan.notes[0]
    assert plan.figures["power_short"] > 0.0


def test_steep_descent_is_overrun_with_no_more_than_engine_friction(variant):
    row = duty_samples(duty(Grade(speed=25.0, grade=-0.15, duration=9.0)), variant).samples[0]
    friction = make_car(variant, DAY)
    assert row[DEMAND] < 0.0
    # Half the swept volume a revolution times a motored pressure of 0.5–3 bar (common range, from memory).
    swept = variant.engine.displacement * row[SPEED] / 2
    assert 0.5e5 * swept * friction.friction * 2 / variant.engine.displacement < -row[DEMAND] < 3e5 * swept


def test_speed_beyond_the_gearing_is_cut_and_said(variant):
    plan = plan_duty(duty(Cruise(speed=400 * KM_H, duration=9.0)), variant)
    assert plan.duty.samples[:, SPEED].max() <= variant.engine.max_speed
    assert "beyond the gearing" in plan.notes[0]
    fixed = plan_duty(duty(Cruise(speed=100 * KM_H, duration=9.0, gear=1)), variant)
    # Kinematics: v = N 2πr / (i₁ i_f).
    top = variant.engine.max_speed * 2 * math.pi * 0.292 / (3.45 * 4.05)
    assert fixed.duty.samples[0, VEHICLE] == pytest.approx(top, rel=1e-6)


# ---------------------------------------------------------------- full load and gears


def test_full_load_is_rated_power_at_rated_speed_and_falls_outside(project, variant):
    for engine in (variant.engine, project.bare_car().engine):
        assert full_load_power(engine, engine.rated_speed) == pytest.approx(engine.rated_power)
        torque = [full_load_power(engine, N) / N for N in np.linspace(10.0, engine.max_speed, 60)]
        assert max(torque) == pytest.approx(engine.rated_power / engine.rated_speed)
        assert torque[0] < max(torque)
        assert torque[-1] < max(torque)


def test_full_load_falls_with_air_pressure_as_boost_control_says(project, variant):
    high = 79_495.0  # Pa, U.S. Standard Atmosphere 1976 at 2000 m
    bare, boosted = project.bare_car().engine, variant.engine
    assert full_load_power(bare, bare.rated_speed, high) == pytest.approx(bare.rated_power * high / 101_325)
    expected = boosted.rated_power * (high + boosted.boost) / (101_325 + boosted.boost)
    assert full_load_power(boosted, boosted.rated_speed, high) == pytest.approx(expected)


@given(v=st.floats(0.0, 60.0), power=st.floats(0.0, 150e3))
@settings(max_examples=200, deadline=None)
def test_road_gear_is_the_highest_that_serves(v, power):
    car = make_car(_VARIANT[0], DAY)
    serves = [
        g
        for g, k in enumerate(car.per_metre)
        if 25.0 <= k * v <= car.max_speed and 0.9 * np.interp(k * v, car.full_speed, car.full_power) >= power
    ]
    if serves:
        assert road_gear(car, v, power) == max(serves)
    else:
        got = car.per_metre[road_gear(car, v, power)] * v
        assert got <= car.max_speed * (1 + 1e-12)


_VARIANT: list[Variant] = []


@pytest.fixture(scope="module", autouse=True)
def _keep_variant(variant):
    _VARIANT[:] = [variant]


# ---------------------------------------------------------------- pulls


def test_pull_at_constant_power_takes_the_closed_form_time(slippery):
    car = make_car(slippery, DAY)
    one, reached = pull(car, 3, 2500 * RPM, 6500 * RPM)
    k = 1.37 * 4.05 / (2 * math.pi * 0.292)
    v1, v2 = 2500 * RPM / k, 6500 * RPM / k
    m = ROTATING * car.mass
    P = 0.92 * 165e3
    # P t = ½m(v2² − v1²);  P x = m(v2³ − v1³)/3.  Newton.
    assert one.duration == pytest.approx(0.5 * m * (v2**2 - v1**2) / P, rel=1e-9)
    assert one.dt @ one.v == pytest.approx(m * (v2**3 - v1**3) / (3 * P), rel=1e-4)
    assert reached == pytest.approx(v2)


def test_pull_with_drag_agrees_with_scipy(variant):
    car = make_car(variant, DAY, added_mass=80.0)
    k = float(car.per_metre[2])

    def rate(t, y):
        v = y[0]
        P = np.interp(k * v, car.full_speed, car.full_power) - 2000.0
        drag = car.mass * G * 0.012 + 0.5 * car.rho * 0.64 * v**2
        return [(0.92 * P / v - drag) / (1.05 * car.mass), v, 0.92 * P]

    def there(t, y):
        return k * y[0] - 6500 * RPM

    there.terminal = True
    truth = solve_ivp(
        rate, (0, 60), [2000 * RPM / k, 0.0, 0.0], events=there, rtol=1e-9, atol=1e-9, max_step=0.02
    )
    one, _ = pull(car, 3, 2000 * RPM, 6500 * RPM)
    assert one.duration == pytest.approx(truth.t[-1], rel=2e-4)
    assert one.dt @ one.v == pytest.approx(truth.y[1, -1], rel=2e-4)
    # Energy: work at the wheels = gain in kinetic energy + losses on the way.
    work = 0.92 * (one.dt @ (one.P - 2000.0))
    gain = 0.5 * 1.05 * car.mass * (6500**2 - 2000**2) * (RPM / k) ** 2
    losses = one.dt @ (one.v * (car.mass * G * 0.012 + 0.5 * car.rho * 0.64 * one.v**2))
    assert work == pytest.approx(gain + losses, rel=1e-6)


def test_pulls_last_count_times_pull_and_rest(variant):
    drive = Pulls(gear=3, from_speed=2500 * RPM, to_speed=6500 * RPM, rest=45.0, rest_speed=20.0, count=4)
    plan = plan_duty(duty(drive), variant)
    assert plan.duty.duration == math.ceil(4 * (plan.figures["pull_time"] + 45.0))
    share = 4 * plan.figures["pull_time"] / plan.duty.duration
    assert plan.figures["full_load_share"] == pytest.approx(share, rel=1e-6)
    full = plan.duty.samples[:, DEMAND] == FULL_LOAD
    # Whole seconds only: a pull of T s holds at least floor(T) − 1 of them, at most floor(T).
    whole = math.floor(plan.figures["pull_time"])
    assert 4 * (whole - 1) <= full.sum() <= 4 * whole
    assert plan.duty.samples[30, VEHICLE] == pytest.approx(20.0)


def test_pull_that_cannot_finish_is_said(variant):
    weak = changed(variant, engine__rated_power=15e3)
    drive = Pulls(gear=5, from_speed=2000 * RPM, to_speed=6500 * RPM, rest=20.0, rest_speed=20.0, count=1)
    plan = plan_duty(duty(drive), weak)
    assert "gathers no more speed" in plan.notes[0]
    assert plan.duty.samples[:, SPEED].max() < 6500 * RPM


# ---------------------------------------------------------------- crawl


@pytest.mark.parametrize(("speed", "moving", "standing"), [(14 * KM_H, 20.0, 25.0), (30 * KM_H, 60.0, 0.0)])
def test_crawl_has_its_mean_speed(variant, speed, moving, standing):
    cycles = 12
    length = cycles * (moving + standing)
    rows = duty_samples(
        duty(Crawl(speed=speed, moving=moving, standing=standing, duration=length)), variant
    ).samples
    # Trapezium with ramps of 0.8 m/s²: area v (t − v/a).
    assert rows[:, VEHICLE].mean() == pytest.approx(
        speed * (moving - speed / 0.8) / (moving + standing), rel=1e-7
    )
    assert rows[:, SPEED].min() >= variant.engine.idle_speed - 1e-6
    assert rows.shape[0] == length


def test_crawl_too_short_for_its_speed_is_a_triangle(variant):
    plan = plan_duty(duty(Crawl(speed=10.0, moving=5.0, standing=5.0, duration=100.0)), variant)
    assert plan.figures["distance"] == pytest.approx(10 * 0.8 * 2.5**2, rel=1e-9)  # a (t/2)² each
    assert "too short" in plan.notes[0]


# ---------------------------------------------------------------- lap


def test_circle_is_driven_at_corner_speed(variant):
    R = 45.0
    steps = lap_steps(
        make_car(variant, DAY), (Stretch(radius=R, length=2 * math.pi * R),), grip=0.95, braking=0.9
    )
    # √(μ g R); a little below, as holding speed takes some of the grip.
    assert 0.995 * math.sqrt(0.95 * G * R) < steps.v.mean() <= math.sqrt(0.95 * G * R)
    assert steps.v.max() - steps.v.min() < 0.05
    assert steps.full.sum() == 0


def test_endless_straight_is_driven_at_terminal_speed(slippery):
    car = make_car(changed(slippery, vehicle__drag_area=0.64, vehicle__rolling_resistance=0.012), DAY)
    car = car._replace(full_power=np.full_like(car.full_power, 80e3))
    steps = lap_steps(car, (Stretch(straight=20e3),), grip=0.95, braking=0.9)
    # 0.92 P = c_r m g v + ½ρ C_dA v³
    roots = np.roots([0.5 * car.rho * 0.64, 0.0, 0.012 * car.mass * G, -0.92 * 80e3])
    terminal = roots[np.isreal(roots)].real.max()
    assert steps.v.mean() == pytest.approx(terminal, rel=1e-4)
    assert steps.full.all()
    assert steps.P.mean() == pytest.approx(80e3, rel=1e-3)


def test_straight_between_corners_agrees_with_scipy(slippery):
    car = make_car(changed(slippery, vehicle__drag_area=0.64, vehicle__rolling_resistance=0.012), DAY)
    L, R, grip, braking = 700.0, 30.0, 0.95, 0.9
    steps = lap_steps(
        car, (Stretch(straight=L), Stretch(radius=R, length=math.pi * R)), grip=grip, braking=braking
    )
    drag = lambda v2: car.mass * G * 0.012 + 0.5 * car.rho * 0.64 * v2  # noqa: E731

    def power(x, y):
        force = min(0.92 * 165e3 / math.sqrt(y[0]), DRIVEN_SHARE * grip * car.mass * G)
        return [2 * (force - drag(y[0])) / (1.05 * car.mass)]

    def brakes(x, y):  # against the direction of travel
        return [2 * (braking * G + drag(y[0]) / (1.05 * car.mass))]

    x = np.linspace(0, L, 7001)
    corner = [grip * G * R]
    up = solve_ivp(power, (0, L), corner, t_eval=x, rtol=1e-8, max_step=1.0).y[0]
    down = solve_ivp(brakes, (0, L), corner, t_eval=x, rtol=1e-8, max_step=1.0).y[0][::-1]
    truth = np.sqrt(np.minimum(up, down))
    n = 700
    assert steps.v.max() == pytest.approx(truth.max(), rel=2e-3)
    assert steps.dt[:n].sum() == pytest.approx(np.trapezoid(1 / truth, x), rel=2e-3)
    limited = (up < down) & (0.92 * 165e3 / np.sqrt(up) < DRIVEN_SHARE * grip * car.mass * G)
    full_time = np.trapezoid(np.where(limited, 1 / truth, 0.0), x)
    assert steps.dt[:n] @ steps.full[:n] == pytest.approx(full_time, rel=1e-2)


def test_lap_repeats_and_closes_its_energy(project, variant):
    track = project.duties["track_session"].drive
    car = make_car(variant, DAY)
    steps = lap_steps(car, track.lap, grip=0.95, braking=0.9)
    assert (steps.dt @ steps.v) == pytest.approx(2600.0)
    # Over a closed flat lap: wheel work − losses = what the brakes took, never negative.
    losses = steps.dt @ (steps.v * np.array([resistance(car, v, 0.0) for v in steps.v]))
    driving = steps.P > 2000.0
    work = 0.92 * (steps.dt[driving] @ (steps.P[driving] - 2000.0))
    assert work > losses
    limit = np.array([full_power(car, N) for N in steps.N])
    assert np.all(limit * (1 + 1e-9) >= steps.P)
    assert steps.N.max() <= 0.97 * variant.engine.max_speed * (1 + 1e-9)


def test_short_lap_settles_at_the_same_terminal_speed(variant):
    car = make_car(variant, DAY)
    car = car._replace(full_power=np.full_like(car.full_power, 60e3))
    speeds = [
        lap_steps(car, (Stretch(straight=length),), grip=0.95, braking=0.9).v.mean() for length in (3.0, 9e3)
    ]
    assert speeds[0] == pytest.approx(speeds[1], rel=1e-3)


def test_climbing_stretch_costs_speed(variant):
    car = make_car(variant, DAY)
    lap = [Stretch(straight=400.0), Stretch(radius=30.0, length=90.0)]
    flat = lap_steps(car, tuple(lap), grip=0.95, braking=0.9)
    climb = lap_steps(car, (Stretch(straight=400.0, grade=0.1), lap[1]), grip=0.95, braking=0.9)
    assert climb.duration > flat.duration
    assert climb.v.max() < flat.v.max()


def test_demo_track_session_is_plausible(project, variant):
    plan = plan_duty(project.duties["track_session"], variant)
    # Share of a lap at full load 35–65 %: common practice, no source.
    assert 0.35 < plan.figures["full_load_share"] < 0.65
    assert 75.0 < plan.figures["lap_time"] < 100.0
    assert plan.duty.duration == 20 * 60 + 15 + 40 * 60
    assert plan.duty.key_off == 20 * 60 + 15


def test_lap_that_cannot_be_laid_is_refused(variant):
    with pytest.raises(CannotDrive, match="lap is empty"):
        duty_samples(duty(Lap(duration=60.0, lap=())), variant)
    with pytest.raises(CannotDrive, match="stretch 2"):
        duty_samples(duty(Lap(duration=60.0, lap=(Stretch(straight=50.0), Stretch(radius=5.0)))), variant)


# ---------------------------------------------------------------- one-second means, idle, key-off, start


@given(
    dt=st.lists(st.floats(0.01, 3.0), min_size=1, max_size=30),
    seed=st.integers(0, 2**31),
)
@settings(max_examples=60, deadline=None)
def test_means_keep_the_integral(dt, seed):
    lengths = np.array(dt)
    value = np.random.default_rng(seed).normal(size=lengths.size)
    lengths *= math.ceil(lengths.sum()) / lengths.sum()
    seconds = round(lengths.sum())
    means = second_means(lengths, value, seconds)
    assert means.sum() == pytest.approx(lengths @ value, abs=1e-9)
    assert np.all((value.min() - 1e-9 <= means) & (means <= value.max() + 1e-9))


def test_demand_of_mixed_seconds_keeps_the_energy(project, variant):
    plan = plan_duty(project.duties["ten_pulls"], variant)
    rows = plan.duty.samples[: plan.duty.key_off - 10]
    full = rows[:, DEMAND] == FULL_LOAD
    car = make_car(variant, project.duties["ten_pulls"].air)
    at_full = np.interp(rows[full, SPEED], car.full_speed, car.full_power).sum()
    assert rows[~full, DEMAND].sum() + at_full == pytest.approx(
        plan.figures["mean_power"] * len(rows), rel=2e-3
    )


def test_idle_key_off_and_soak_rows(variant):
    out = duty_samples(
        duty(Cruise(speed=20.0, duration=100.0), idle_before_key_off=15.0, soak=300.0, air_conditioning=True),
        variant,
    )
    assert out.key_off == 115
    assert out.duration == 415
    idle = out.samples[100:115]
    e = variant.engine
    assert np.all(idle == [e.idle_speed, 0.0, e.idle_power, 1.0, 1.0])
    soak = out.samples[115:]
    assert np.all(soak == 0.0)


def test_no_soak_means_never_key_off(variant):
    out = duty_samples(duty(Cruise(speed=20.0, duration=50.0)), variant)
    assert out.key_off == out.duration == 50
    assert np.all(out.samples == out.samples[0])


def test_start_is_a_cruise_or_cold(variant):
    drive = Cruise(speed=20.0, duration=50.0)
    row, settle = start_sample(duty(drive, start=Start(speed=30.0, settle=600.0)), variant)
    cruise = duty_samples(duty(Cruise(speed=30.0, duration=5.0)), variant).samples[0]
    assert np.array_equal(row, cruise)
    assert settle == 600
    row, settle = start_sample(duty(drive, start=Start(cold=True)), variant)
    assert not row.any()
    assert settle == 0


DRIVES = st.one_of(
    st.builds(
        Cruise, speed=st.floats(0, 120), duration=st.floats(1, 90), gear=st.sampled_from([None, 1, 3, 5])
    ),
    st.builds(
        Grade,
        speed=st.floats(0, 80),
        grade=st.floats(-0.4, 0.4),
        duration=st.floats(1, 90),
        gear=st.sampled_from([None, 2]),
    ),
    st.builds(
        Crawl,
        speed=st.floats(0.3, 22),
        moving=st.floats(1, 60),
        standing=st.floats(0, 60),
        duration=st.floats(1, 300),
    ),
    st.builds(
        Pulls,
        gear=st.integers(1, 5),
        from_speed=st.floats(10, 60),
        to_speed=st.floats(61, 200),
        rest=st.floats(1, 60),
        rest_speed=st.floats(0, 40),
        count=st.integers(1, 4),
    ),
    st.builds(
        Lap,
        duration=st.floats(30, 200),
        lap=st.lists(
            st.one_of(
                st.builds(Stretch, straight=st.floats(1, 900), grade=st.floats(-0.1, 0.1)),
                st.builds(Stretch, radius=st.floats(3, 500), length=st.floats(1, 300)),
            ),
            min_size=1,
            max_size=6,
        ).map(tuple),
    ),
)


@given(drive=DRIVES, idle=st.integers(0, 20), soak=st.integers(0, 20), on=st.booleans())
@settings(max_examples=60, deadline=None)
def test_any_drive_gives_sound_samples(drive, idle, soak, on):
    v = _VARIANT[0]
    d = duty(drive, idle_before_key_off=float(idle), soak=float(soak), air_conditioning=on)
    plan = plan_duty(d, v)
    rows = plan.duty.samples
    assert np.all(np.isfinite(rows))
    if not isinstance(drive, Pulls):
        assert plan.duty.duration == math.ceil(drive.duration - 1e-6) + idle + soak
    assert plan.duty.key_off == plan.duty.duration - soak
    on_rows, off_rows = rows[: plan.duty.key_off], rows[plan.duty.key_off :]
    assert np.all(on_rows[:, SPEED] <= v.engine.max_speed)
    assert np.all(on_rows[:, SPEED] >= v.engine.idle_speed - 1e-9)
    assert np.all(on_rows[:, RUNNING] == 1.0)
    assert np.all(on_rows[:, AC] == float(on))
    assert np.all(rows[:, VEHICLE] >= 0.0)
    assert not off_rows.any()


# ---------------------------------------------------------------- traces


def test_trace_of_straight_lines_covers_its_distance(variant):
    out = plan_duty(duty(Trace(time=(0.0, 20.0, 60.0, 80.5), speed=(0.0, 20.0, 20.0, 0.0))), variant)
    assert out.duty.duration == 81
    assert out.figures["distance"] == pytest.approx(200 + 800 + 205)


def test_trace_keeps_given_engine_speed_and_power(variant):
    drive = Trace(time=(0.0, 30.0), speed=(10.0, 10.0), engine_speed=(50.0, 500.0), power=(20e3, 20e3))
    plan = plan_duty(duty(drive), variant)
    assert plan.duty.samples[:, SPEED].max() == pytest.approx(variant.engine.max_speed)
    assert np.allclose(plan.duty.samples[:, DEMAND], 20e3)
    assert "engine speed of the trace is cut" in plan.notes[0]


def test_trace_may_hold_a_stopped_engine(variant):
    drive = Trace(time=(0.0, 10.0, 10.5, 30.0), speed=(0.0,) * 4, engine_speed=(14.0, 14.0, 0.0, 0.0))
    rows = duty_samples(duty(drive), variant).samples
    assert np.all(rows[:10, RUNNING] == 1.0)
    assert np.all(rows[11:, RUNNING] == 0.0)
    assert not rows[11:].any()


def test_trace_file_with_units_in_its_columns(tmp_path, variant):
    path = tmp_path / "run.csv"
    path.write_text("# a run\ntime_s,speed_km_h,engine_speed_rpm,power_kW,grade_percent\n"
                    + "".join(f"{t},72,3000,15,2\n" for t in range(11)))  # fmt: skip
    columns = read_columns(path)
    assert columns["speed"][0] == pytest.approx(20.0)
    assert columns["engine_speed"][0] == pytest.approx(50.0)
    assert columns["power"][0] == 15e3
    assert columns["grade"][0] == pytest.approx(0.02)
    rows = duty_samples(duty(Trace(file="run.csv")), variant, folder=tmp_path).samples
    assert rows.shape[0] == 10
    assert np.allclose(rows[:, DEMAND], 15e3)
    assert read_columns(_write(tmp_path, "time [s],speed [m/s]\n0,1\n1,2\n"))["speed"] == (1.0, 2.0)


def _write(folder: Path, text: str) -> Path:
    path = folder / "bad.csv"
    path.write_text(text)
    return path


@pytest.mark.parametrize(
    ("text", "place", "what"),
    [
        ("time_s,speed_km_h\n0,1\n2,1\n1,1\n", "bad.csv:4 (time)", "runs back"),
        ("time_s,speed_km_h\n0,1\n1,1\n1,1\n", "bad.csv:4 (time)", "stands still"),
        ("time_s,speed_km_h\n0,1\n1,nan\n", "bad.csv:3 (speed)", "no number"),
        ("time_s,speed_km_h\n0,1\n\n1,\n", "bad.csv:4 (speed)", "missing"),
        ("time_s,speed_km_h\n0,1\n1,1\n2,1\n60,1\n", "bad.csv:5 (time)", "gap"),
        ("time_s,speed_km_h\n0,1\n1\n", "bad.csv:3", "number of columns"),
        ("time_s,sped_km_h\n0,1\n1,1\n", "bad.csv:1", "not known"),
        ("time_s,grade\n0,1\n1,1\n", "bad.csv:1", "'speed' is missing"),
        ("time_s,speed_km_h,speed_mph\n0,1,1\n1,1,1\n", "bad.csv:1", "given twice"),
        ("time_s,speed_km_h\n", "bad.csv", "fewer than two rows"),
    ],
)
def test_bad_trace_files_say_where(tmp_path, text, place, what):
    with pytest.raises(TraceError) as caught:
        read_columns(_write(tmp_path, text))
    first = str(caught.value).splitlines()[0]
    assert first.startswith(place + ": error: ")
    assert what in first


def test_trace_file_outside_or_missing_is_refused(tmp_path):
    with pytest.raises(TraceError, match="outside the project"):
        trace_columns(Trace(file="../x.csv"), tmp_path)
    with pytest.raises(TraceError, match="missing"):
        trace_columns(Trace(file="x.csv"), tmp_path)
    with pytest.raises(TraceError, match="not read yet"):
        trace_columns(Trace(file="x.csv"))


@pytest.mark.parametrize(
    "drive",
    [
        Trace(),
        Trace(time=(0.0, 1.0), speed=(1.0,)),
        Trace.model_construct(time=(0.0, 1.0), speed=(1.0, math.nan)),
        Trace(time=(0.0, 1.0), speed=(1.0, -1.0)),
        Trace(time=(1.0, 0.0), speed=(1.0, 1.0)),
    ],
)
def test_bad_trace_lists_are_refused(drive):
    with pytest.raises(TraceError):
        trace_columns(drive)


def test_gear_the_car_has_not_is_refused(variant):
    with pytest.raises(CannotDrive, match="gears 1 to 5"):
        duty_samples(duty(Cruise(speed=20.0, duration=9.0, gear=7)), variant)


@pytest.mark.parametrize("seconds", [1, 2, 7])
def test_a_drive_held_longer_asks_the_same_work_and_leaves_the_soak(project, seconds: int) -> None:
    """A mean over equal times keeps the integral."""
    duty = duty_samples(project.duties["track_session"], project.variant())
    longer = held_longer(duty, seconds)
    off = duty.key_off
    assert longer.key_off == off
    full = duty.samples[:off, DEMAND] == FULL_LOAD
    assert 0.1 < full.mean() < 0.9
    assert np.array_equal(longer.samples[:off, DEMAND] == FULL_LOAD, full)  # no second more, none less
    part = ~full
    assert longer.samples[:off, DEMAND][part].sum() == pytest.approx(
        duty.samples[:off, DEMAND][part].sum(), rel=1e-12
    )
    assert np.array_equal(longer.samples[off:], duty.samples[off:])


def test_a_coarse_run_ends_where_a_fine_one_does(project) -> None:
    """Two seconds' mean moves the peaks of the exhaust by less than 5 K in 800, of all else by less than 2 K: enough
    for differences of like and like, and what the search for measures allows for."""
    variant = project.variant()
    network = lay_network(variant)
    duty = project.duties["track_session"]
    n = len(network.masses)
    fine, coarse = (solve(variant, duty, network, hold=k).run.state[:, :n].max(axis=0) for k in (1, 2))
    solid = [i for i, m in enumerate(network.masses) if network.kinds[m] == "solid"]
    hot = [i for i in solid if fine[i] > 700.0]
    assert np.abs(fine - coarse)[hot].max() < 5.0
    assert np.abs(fine - coarse)[[i for i in solid if i not in hot]].max() < 2.0
