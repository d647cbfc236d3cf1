"""The duty that a log records: what the car did, second by second, and the day it was done on.

Speed and engine speed come from the log. Crank power comes from the logged air flow where there is one,
through the variant's own engine (so that a correction of the engine keeps the air that was measured), else
from the air that its filling draws at the logged manifold pressure, else from the road load. Ambient and pressure are the medians of their channels; the sun is not in a log and has to
be told.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatproof.assembly.duties.car import make_car
from heatproof.assembly.duties.follow import follow
from heatproof.assembly.duties.steps import second_means
from heatproof.kit.records.duty import Duty, Start, Trace, Weather
from heatproof.kit.records.variant import Variant
from heatproof.laws.engine import motored_friction_pressure, power_factor_mixture
from heatproof.logs.reading.records import Channel, Floats, Log, LogError, LogFinding
from heatproof.logs.reducing.events import stops
from heatproof.network.engine import OVERRUN_PRESSURE, T_VOLUMETRIC
from heatproof.network.fluids import R_AIR

RPM = 1 / 60
RUNNING_RPM = 300.0
COLD_K = 8.0
"""A coolant that starts this near ambient means a cold start."""
PEDAL_UP = 0.03
CUT_ROOM = 1.05
"""Above the model's overrun pressure, what still counts as a shut throttle."""
SMOOTH_GRADE_M = 200.0
LONGEST_HOLE_S = 60.0


@dataclass(frozen=True)
class Day:
    """What the log cannot say of the day; None: from the log."""

    ambient: float | None = None
    pressure: float | None = None
    altitude: float = 0.0
    sun: float = 0.0
    humidity: float = 0.4
    air_conditioning: bool = False
    added_mass: float = 0.0


@dataclass(frozen=True, eq=False)
class LoggedDuty:
    """One row a second: speed m/s, engine speed rev/s, air kg/s, manifold pressure Pa and grade where known. `key_off`: s of it,
    `soak`: s after it that the log covers. `from_s`: log time of the first row."""

    name: str
    from_s: float
    speed: Floats
    engine_speed: Floats | None
    air: Floats | None
    mixture: Floats | None
    pedal: Floats | None
    grade: Floats | None
    key_off: int
    soak: float
    weather: Weather
    start: Start
    day: Day
    notes: tuple[LogFinding, ...] = ()
    manifold: Floats | None = None

    def drawn(self, variant: Variant) -> Floats | None:
        """kg/s of air: as measured, else by speed and density ṁ = η_v V N/2 · p/(R T) from the manifold pressure,
        at the temperature of the filling curve's reference; None where neither was logged."""
        if self.engine_speed is None or self.air is not None:
            return self.air
        return None if self.manifold is None else self.air_per_pascal(variant) * self.manifold

    def air_per_pascal(self, variant: Variant) -> Floats:
        """kg/(s Pa) that the engine draws for each pascal in its manifold, at the logged engine speed."""
        assert self.engine_speed is not None
        e = variant.engine
        curve = e.volumetric_efficiency
        filling = curve.factor * np.interp(self.engine_speed, curve.speed, curve.value)
        return np.asarray(filling * e.displacement * self.engine_speed / 2.0 / (R_AIR * T_VOLUMETRIC))

    def duty(self, variant: Variant) -> Duty:
        """The record for a variant."""
        columns: dict[str, Floats] = {"speed": self.speed[: self.key_off]}
        if self.engine_speed is not None:
            columns["engine_speed"] = self.engine_speed[: self.key_off]
        if self.grade is not None:
            columns["grade"] = self.grade[: self.key_off]
        if self.drawn(variant) is not None:
            columns["power"] = self.power(variant)[: self.key_off]
        # One point more than there are seconds: a trace ends with its last point.
        told: dict[str, Any] = {
            name: (*values.tolist(), float(values[-1])) for name, values in columns.items()
        }
        time = tuple(float(k) for k in range(self.key_off + 1))
        trace = Trace(time=time, added_mass=self.day.added_mass, **told)
        return Duty(
            name=self.name,
            note="as logged",
            air=self.weather,
            air_conditioning=self.day.air_conditioning,
            start=self.start,
            drive=trace,
            soak=self.soak,
        )

    def power(self, variant: Variant) -> Floats:
        """W at the crank that makes the variant's engine draw the air that was logged.

        P = ṁ_air/(λ L_st) H_u η_i f(λ) min(λ, 1) − friction; the pumping of a blown engine is left out. Where
        the manifold is at overrun pressure the fuel is cut, as in the model: no power but friction.
        """
        air = self.drawn(variant)
        assert air is not None
        assert self.engine_speed is not None
        e = variant.engine
        friction = self.friction(variant)
        full = float(np.max(air, initial=1e-6))
        rich = np.clip((air / full - 0.7) / 0.3, 0.0, 1.0)
        fall_back = e.mixture_part_load + rich * (e.mixture_full_load - e.mixture_part_load)
        lam = fall_back if self.mixture is None else np.clip(self.mixture, 0.7, 1.2)
        share = np.array([power_factor_mixture(float(x)) for x in lam]) * np.minimum(lam, 1.0)
        fuel = air / (lam * e.fuel.stoichiometric_air_fuel)
        power = fuel * e.fuel.lower_heating_value * e.indicated_efficiency * share - friction
        power = np.where(self.cut(variant), -1.2 * friction, power)
        return np.where(self.engine_speed > 0.0, power, 0.0)

    def friction(self, variant: Variant) -> Floats:
        """W."""
        assert self.engine_speed is not None
        e = variant.engine
        pressure = np.array([motored_friction_pressure(float(n)) for n in self.engine_speed])
        return np.asarray(e.friction_factor * pressure * e.displacement / 2.0 * self.engine_speed)

    def cut(self, variant: Variant) -> NDArray[np.bool_]:
        """Rows in which the throttle is shut above idle, where the model cuts the fuel: the manifold at overrun
        pressure (at the temperature of the filling curve's reference) and the pedal up, or, without a pedal in
        the log, a car that drives its engine."""
        air = self.drawn(variant)
        assert air is not None
        assert self.engine_speed is not None
        e = variant.engine
        shut = air <= self.air_per_pascal(variant) * OVERRUN_PRESSURE * CUT_ROOM
        if self.pedal is not None:
            up = self.pedal < float(np.min(self.pedal)) + PEDAL_UP
        else:
            up = self.road_load(variant) < -0.8 * self.friction(variant)
        return np.asarray(shut & up & (self.engine_speed > 1.5 * e.idle_speed))

    def road_load(self, variant: Variant) -> Floats:
        """W at the crank that the speed and the grade ask for, a mean for each second."""
        car = make_car(variant, self.weather, self.day.added_mass)
        time = np.arange(self.speed.size + 1.0)
        v = np.append(self.speed, self.speed[-1])
        grade = 0.0 if self.grade is None else np.append(self.grade, self.grade[-1])
        steps = follow(car, time, v, grade=grade)
        return second_means(steps.dt, steps.P, self.speed.size)


def logged_duty(log: Log, *, name: str, day: Day | None = None, cold: bool | None = None) -> LoggedDuty:
    """The duty of a cleaned log. LogError where speed is missing or the ambient is not known."""
    day = day or Day()
    speed = log.find("vehicle_speed") or log.find("gps_speed")
    if speed is None or not speed.measured.any():
        raise LogError(
            "the drive needs vehicle speed",
            where=log.path,
            next_step="name the speed column in the channel map, or add the engine logger of the same run",
        )
    notes: list[LogFinding] = []
    engine = log.find("engine_speed")
    key_off_s, end_s = _key_off(log, engine)
    drivers = [c for c in (speed, engine) if c is not None and c.measured.any()]
    first = max(float(c.time_s[c.measured][0]) for c in drivers)
    grid = np.arange(first, key_off_s, 1.0)
    if grid.size < 10:
        raise LogError(
            "the drive is too short", where=log.path, got=f"{grid.size} s", allowed="at least 10 s"
        )
    v = np.maximum(_on(speed, grid, notes), 0.0)
    N = None
    if engine is not None and engine.measured.any():
        N = _on(engine, grid, notes)
        N = np.where(N < RUNNING_RPM * RPM, 0.0, N)
    weather, ambient_notes = _weather(log, day, grid)
    notes += ambient_notes
    air, mixture = log.find("air_flow"), log.find("lambda")
    air_rows = _optional(air, grid, notes) if N is not None else None
    pressure = log.find("manifold_pressure") if N is not None and air_rows is None else None
    manifold = _optional(pressure, grid, notes)
    if manifold is not None:
        notes.append(LogFinding("note", "no air flow: power from manifold pressure and the engine's filling"))
    elif air_rows is None:
        notes.append(LogFinding("note", "no air flow with engine speed: power from the road load"))
    return LoggedDuty(
        name=name,
        from_s=float(grid[0]),
        speed=v,
        engine_speed=N,
        air=None if air_rows is None else np.maximum(air_rows, 0.0),
        mixture=_optional(mixture, grid, notes),
        pedal=_optional(log.find("pedal"), grid, notes),
        grade=_grade(log, grid, v),
        key_off=grid.size,
        soak=max(float(int(end_s - key_off_s)), 0.0),
        weather=weather,
        start=_start(log, weather.ambient, float(grid[0]), v, cold, notes),
        day=day,
        notes=tuple(notes),
        manifold=None if manifold is None else np.maximum(manifold, 0.0),
    )


def _key_off(log: Log, engine: Channel | None) -> tuple[float, float]:
    """Log times of key-off and of the end. Only a soak that lasts to the end of the log counts."""
    end = log.span_s[1]
    if engine is None:
        return end, end
    soaks = [e for e in stops(log) if e.kind == "soak" and e.end_s >= end - 1.0]
    return (soaks[-1].start_s, end) if soaks else (end, end)


def _on(channel: Channel, grid: Floats, notes: list[LogFinding]) -> Floats:
    """On the grid, ends held, and a finding for holes."""
    ok = channel.measured
    holes = np.diff(channel.time_s[ok])
    if holes.size and holes.max() > LONGEST_HOLE_S:
        text = f"hole of {holes.max():.0f} s bridged by a straight line"
        notes.append(LogFinding("warning", text, channel.column))
    return np.interp(grid, channel.time_s[ok], channel.values[ok])


def _optional(channel: Channel | None, grid: Floats, notes: list[LogFinding]) -> Floats | None:
    if channel is None or channel.measured.sum() < 10:
        return None
    return _on(channel, grid, notes)


def _weather(log: Log, day: Day, grid: Floats) -> tuple[Weather, list[LogFinding]]:
    notes: list[LogFinding] = []
    ambient = day.ambient
    channel = log.find("ambient_temperature")
    if ambient is None and channel is not None and channel.measured.any():
        inside = channel.measured & (channel.time_s >= grid[0]) & (channel.time_s <= grid[-1])
        values = channel.values[inside] if inside.any() else channel.values[channel.measured]
        ambient = float(np.median(values))
        text = f"ambient {ambient - 273.15:.1f} °C, median of the drive; it moved by {np.ptp(values):.1f} K"
        notes.append(LogFinding("warning" if np.ptp(values) > 4.0 else "note", text, channel.column))
    if ambient is None:
        raise LogError(
            "the ambient temperature is not known",
            where=log.path,
            next_step="log it, or give it with --ambient '24 degC'",
        )
    pressure = day.pressure
    barometer = log.find("ambient_pressure")
    if pressure is None and barometer is not None and barometer.measured.any():
        pressure = float(np.nanmedian(barometer.values))
    return Weather(
        ambient=ambient, altitude=day.altitude, pressure=pressure, sun=day.sun, humidity=day.humidity
    ), notes


def _grade(log: Log, grid: Floats, v: Floats) -> Floats | None:
    """Rise over way from logged altitude, smoothed over 200 m; None without altitude."""
    altitude = log.find("altitude")
    if altitude is None or altitude.measured.sum() < 10:
        return None
    ok = altitude.measured
    z = np.interp(grid, altitude.time_s[ok], altitude.values[ok])
    way = np.cumsum(np.maximum(v, 0.01))
    ahead, behind = way + 0.5 * SMOOTH_GRADE_M, way - 0.5 * SMOOTH_GRADE_M
    rise = np.interp(ahead, way, z) - np.interp(behind, way, z)
    run = np.interp(ahead, way, way) - np.interp(behind, way, way)
    return np.clip(rise / np.maximum(run, 20.0), -0.25, 0.25)


def _start(
    log: Log, ambient: float, first: float, v: Floats, cold: bool | None, notes: list[LogFinding]
) -> Start:
    coolant = log.find("coolant_temperature") or log.find("radiator_in_temperature")
    if cold is None and coolant is not None and coolant.measured.any():
        t, x = coolant.time_s[coolant.measured], coolant.values[coolant.measured]
        begin = float(x[np.argmin(np.abs(t - first))])
        cold = abs(begin - ambient) < COLD_K
        text = f"coolant starts at {begin - 273.15:.0f} °C: {'cold' if cold else 'warm'} start"
        notes.append(LogFinding("note", text, coolant.column))
    if cold:
        return Start(cold=True)
    text = "how the car was driven before the log is not known: a steady cruise of 15 min is assumed"
    notes.append(LogFinding("warning", text, next_step="leave the first minutes out of the comparison"))
    moving = v[: min(v.size, 300)]
    mean = float(np.mean(moving[moving > 3.0])) if (moving > 3.0).any() else 15.0
    return Start(speed=min(mean, 36.0), settle=900.0)


# --- as files of a project --------------------------------------------------------------------------------
