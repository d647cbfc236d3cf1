"""What is always judged, limit or not: boiling coolant, a compressor outside its map, power not delivered, air
conditioning stopped by its pressure."""

from collections.abc import Iterator, Mapping

import numpy as np

from heatproof.assembly.coolant import circulation_check
from heatproof.assembly.model import Solved
from heatproof.kit.findings import Finding, Where
from heatproof.kit.records.variant import Variant
from heatproof.laws.exhaust_pipe import pressure_ahead
from heatproof.network import signals as S
from heatproof.network.solve import Run
from heatproof.units.quantity import Amount
from heatproof.verdict.words import bars, clock, kilowatts, minutes, number

LEAST_VAPOUR = 100.0  # J; less is the rounding of a step that ends at saturation
LEAST_SHORT_POWER, LEAST_SHORT_BOOST, LEAST_SHORT_TIME = 500.0, 2000.0, 1.0
"""W, Pa, s: less is not worth saying."""


def run_findings(solved: Mapping[str, Solved]) -> list[Finding]:
    """Of all duties."""
    found: list[Finding] = []
    for key, one in solved.items():
        found += [
            *boiling(key, one),
            *outside_map(key, one),
            *short_of_power(key, one),
            *held_by_exhaust(key, one),
            *short_of_boost(key, one),
            *condenser_cut_out(key, one),
        ]
    return found


def boiling(key: str, solved: Solved) -> Iterator[Finding]:
    """A warning where coolant boils: every place, most vapour first."""
    run = solved.run
    dt = np.diff(run.time)
    found, amounts = [], []
    for k, cell in enumerate(run.network.model.boiling["cell"]):
        heat = run.boiled[:-1, k]
        energy, boils = float(heat @ dt), heat > 0.0
        if energy >= LEAST_VAPOUR:
            mass = run.network.masses[int(cell)]
            place = mass.removeprefix("coolant.").removeprefix("circuits.").removesuffix(".fluid")
            began = clock(float(run.time[int(np.argmax(boils))]))
            amounts.append(Amount(f"{number(energy / 1e3, 1)} kJ", energy, "kJ"))
            text = f"{place} (from {began}, {minutes(float(dt[boils].sum()))}, {amounts[-1]} as vapour)"
            found.append((energy, text))
    if found:
        places = ", ".join(text for _, text in sorted(found, reverse=True))
        yield Finding(
            "warning",
            f"{solved.duty.name}: coolant boils at {places}",
            Where(f"duties/{key}.yaml", 0, "coolant"),
            next_step="more flow there, a higher cap pressure, or less heat into it",
            code="run.boils",
            amounts=tuple(amounts),
        )


def outside_map(key: str, solved: Solved) -> Iterator[Finding]:
    """A warning where the compressor leaves its map."""
    seconds = time_with(solved.run, solved.run.signal[:-1, S.MAP_FLAG] > 0.5)
    if seconds > 0.0:
        yield Finding(
            "warning",
            f"{solved.duty.name}: the compressor works outside its map for {minutes(seconds)} in all; "
            "its efficiency there is held from the edge",
            Where(f"duties/{key}.yaml", 0, "turbo.map"),
            next_step="take another compressor, less boost, or a map that reaches further",
            code="run.outside_map",
        )


def short_of_power(key: str, solved: Solved) -> Iterator[Finding]:
    """A warning where the drive asks for more than the engine gives; an engine that brakes is not short of power."""
    signal = solved.run.signal[:-1]
    told = (signal[:, S.FUEL] > 0.0) & (signal[:, S.HELD_BY_EXHAUST] < 0.5)
    short = np.where(told, signal[:, S.DEMAND_SHORT], 0.0)
    seconds = time_with(solved.run, short > LEAST_SHORT_POWER)
    if seconds >= LEAST_SHORT_TIME:
        missing = power(float(short.max()))
        yield Finding(
            "warning",
            f"{solved.duty.name}: up to {missing} of the power asked for is not delivered, "
            f"for {minutes(seconds)} in all; the heat is that of the power delivered",
            Where(f"duties/{key}.yaml", 0, "drive"),
            next_step="ask for less, or check rated power, boost and breathing of the engine",
            code="run.short_of_power",
            amounts=(missing,),
        )


def held_by_exhaust(key: str, solved: Solved) -> Iterator[Finding]:
    """A warning where more air would give less power, for what pushing the gas out takes."""
    run = solved.run
    held = run.signal[:-1, S.HELD_BY_EXHAUST] > 0.5
    seconds = time_with(run, held)
    if seconds > 0.0:
        signal, e = run.signal[:-1][held], run.network.model.engine[0]
        loss = float(e["exhaust_loss"] / e["exhaust_T"])
        short = float(signal[:, S.DEMAND_SHORT].max())
        reached, missing = power(float(signal[:, S.BRAKE_POWER].max())), power(short)
        most = float((loss * signal[:, S.EXHAUST] ** 2 * signal[:, S.EXHAUST_TEMPERATURE]).max())
        back = pressure(pressure_ahead(run.around.pressure, most) - run.around.pressure)
        told = f", up to {missing} short of what is asked for," if short > LEAST_SHORT_POWER else ""
        yield Finding(
            "warning",
            f"{solved.duty.name}: the exhaust holds the engine at {reached} at most{told} for {minutes(seconds)} in "
            f"all; its back pressure of up to {back} takes more power than further air would bring",
            Where(f"duties/{key}.yaml", 0, "exhaust"),
            next_step="wider pipes behind the turbine, or less power",
            code="run.held_by_exhaust",
            amounts=(reached, missing, back) if told else (reached, back),
        )


def short_of_boost(key: str, solved: Solved) -> Iterator[Finding]:
    """A warning where the turbine cannot deliver the boost asked for."""
    run = solved.run
    short = run.signal[:-1, S.BOOST_SHORT]
    seconds = time_with(run, short > LEAST_SHORT_BOOST)
    if seconds >= LEAST_SHORT_TIME:
        missing = pressure(float(short.max()))
        reached = pressure(float(run.signal[:, S.MANIFOLD_PRESSURE].max()) - run.around.pressure)
        yield Finding(
            "warning",
            f"{solved.duty.name}: the turbine cannot deliver the boost asked for, up to "
            f"{missing} short, for {minutes(seconds)} in all; {reached} is reached",
            Where(f"duties/{key}.yaml", 0, "engine.boost"),
            next_step="less boost, a smaller swallowing area, a wider exhaust, or full boost from a higher engine speed",
            code="run.short_of_boost",
            amounts=(missing, reached),
        )


def condenser_cut_out(key: str, solved: Solved) -> Iterator[Finding]:
    """A warning where a condenser gets too hot for the air conditioning to go on giving it all its heat."""
    run = solved.run
    n, source = len(run.network.masses), run.network.model.source
    T, running = run.state[:-1, :n], run.signal[:-1, S.AIR_CONDITIONING] > 0.5
    for row in source[np.isfinite(source["fades_from"])]:
        over = T[:, row["r"]] - row["fades_from"]
        seconds = time_with(run, running & (over > 0.0))
        if seconds > 0.0:
            left = max(1.0 - float(over[running].max()) / float(row["fades_over"]), 0.0)
            name = run.network.masses[int(row["r"])].removeprefix("core.")
            yield Finding(
                "warning",
                f"{solved.duty.name}: the {name} gets so hot that the pressure switch stops the air conditioning at "
                f"times, for {minutes(seconds)} in all; down to {100 * left:.0f} % of its heat is counted",
                Where(f"duties/{key}.yaml", 0, f"cores.{name}"),
                next_step="more air through it: a fan that runs with the air conditioning, a shroud, a larger opening",
                code="run.air_conditioning_stops",
            )


def power(watts: float) -> Amount:
    """`4.2 kW`."""
    return Amount(kilowatts(watts), watts, "kW")


def pressure(pascals: float) -> Amount:
    """`0.85 bar`."""
    return Amount(bars(pascals), pascals, "bar")


def height(metres: float) -> Amount:
    """`−40 mm`."""
    return Amount(f"{number(metres * 1e3)} mm", metres, "mm")


def time_with(run: Run, holds: np.ndarray) -> float:
    """s over steps where `holds` (rows − 1,) is true."""
    return float(np.diff(run.time)[holds].sum())


def water_findings(variant: Variant) -> Iterator[Finding]:
    """A note for every way out of the turbo's water jacket that does not circulate by itself."""
    for way in circulation_check(variant):
        if way.circulates:
            continue
        why = "has a trap" if way.shape.net_rise > 0.0 else "does not rise"
        line, (rise, trap) = way.lines[0], map(height, (way.shape.net_rise, way.shape.deepest_trap))
        yield Finding(
            "warning",
            f"the turbo's water does not circulate by itself after key-off: {', '.join(way.lines)} {why} "
            f"(net rise {rise}, trap {trap})",
            variant.where(f"coolant.lines.{line}"),
            next_step="lead it upwards all the way to a higher junction",
            code="water.does_not_circulate",
            amounts=(rise, trap),
        )
