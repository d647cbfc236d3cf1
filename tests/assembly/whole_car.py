"""The invented hatchback through whole duties, with one change at a time: what tests and the page of trends measure."""

from functools import cache
from pathlib import Path

import numpy as np

import heatproof
from heatproof.assembly.bay.lumps import masses_of
from heatproof.assembly.model import Solved, lay_network, solve
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.network import signals as S

STANDING = 24.0 + 20 * 45.0  # s into the crawl: standing, fan on for the air conditioning
RADIATOR = ("air.radiator_open", "air.radiator_covered")


@cache
def project() -> Project:
    return read_project(Path(heatproof.__file__).parent / "examples" / "hatchback")


@cache
def solved(duty: str, fit: tuple[str, ...] = (), leave: tuple[str, ...] = ()) -> Solved:
    """The kit as shipped, with and without some measures."""
    return of_variant(project().variant((set(project().fitted) | set(fit)) - set(leave)), duty)


def of_variant(variant: Variant, duty: str, **changes: object) -> Solved:
    """A variant through a duty, some of the duty's values changed."""
    return solve(variant, project().duties[duty].model_copy(update=changes), lay_network(variant))


# --- read off a run -----------------------------------------------------------------------------------------
def peak(s: Solved, mass: str, *, after_key_off: bool = False) -> float:
    """Highest temperature of a mass, or of the hottest mass of a part, degC."""
    run = s.run
    rows = run.time >= run.duty.key_off if after_key_off else run.time >= 0.0
    names = masses_of(s.variant, mass) if mass in s.variant.parts else (mass,)
    return float(max(run.state[rows, run.network.mass(name)].max() for name in names) - 273.15)


def flow(s: Solved, branch: str, time: float) -> float:
    """Flow of a branch (kg/s) at a time (s)."""
    return float(np.interp(time, s.run.time, s.run.flow[:, s.run.network.branches.index(branch)]))


def core_flow(s: Solved, time: float) -> float:
    """Air through the radiator (kg/s)."""
    return sum(flow(s, branch, time) for branch in RADIATOR)


def at(s: Solved, mass: str, time: float) -> float:
    """Temperature of a mass at a time (s), degC."""
    return float(np.interp(time, s.run.time, s.run.state[:, s.run.network.mass(mass)]) - 273.15)


def intake_rise(s: Solved) -> float:
    """Highest temperature of the air in the filter over ambient while driving (K)."""
    run = s.run
    rows = run.time < run.duty.key_off
    return float(run.state[rows, run.network.mass("charge.filter")].max() - run.around.temperature)


def highest(s: Solved, signal: int) -> float:
    """Highest value of a signal."""
    return float(s.run.signal[:, signal].max())


def short_of_boost(s: Solved) -> float:
    """Boost asked for and not given, Pa s over the duty."""
    return float(np.trapezoid(s.run.signal[:, S.BOOST_SHORT], s.run.time))


# --- changes that are no measure of the kit -----------------------------------------------------------------
def without_water(duty: str) -> Solved:
    """The turbo's water left off."""
    return solved(duty, fit=("no_turbo_water",), leave=("rising_water_line",))


@cache
def at_altitude(duty: str, altitude: float) -> Solved:
    """On a day at so many metres."""
    air = project().duties[duty].air.model_copy(update={"altitude": altitude})
    return of_variant(project().variant(), duty, air=air)


@cache
def idled(seconds: float) -> Solved:
    """Flat out, the engine left to idle before key-off."""
    return of_variant(project().variant(), "flat_out", idle_before_key_off=seconds)


@cache
def fed_after_the_head() -> Solved:
    """The turbo's water taken where the coolant leaves the engine; long hill."""
    return of_variant(
        project().variant().with_value("coolant.lines.turbo_feed.from", "engine_out"), "long_hill"
    )


@cache
def cooler_in_front() -> Solved:
    """Long hill, the fan held at its low speed: its relay would hide what the cooler costs."""
    return of_variant(slow_fan(), "long_hill")


@cache
def cooler_in_a_duct() -> Solved:
    """The same, with the charge cooler where it neither warms nor blocks the radiator's air."""
    variant = slow_fan()
    passages = dict(variant.air.passages)
    for name in ("radiator_covered", "gap_between_cores"):
        del passages[name]
    own = {"from_": "outside", "to": "tunnel"}
    passages["charge_cooler"] = passages["charge_cooler"].model_copy(update=own)
    passages["radiator_open"] = passages["radiator_open"].model_copy(update={"share": 1.0})
    zones = {name: zone for name, zone in variant.air.zones.items() if name != "behind_cooler"}
    return of_variant(
        variant.with_value("air.passages", passages).with_value("air.zones", zones), "long_hill"
    )


def slow_fan() -> Variant:
    """The kit as shipped, its fan always at low speed."""
    variant = project().variant().with_value("air.fan.on_temperature", 300.0)
    return variant.with_value("air.fan.high_temperature", 500.0)
