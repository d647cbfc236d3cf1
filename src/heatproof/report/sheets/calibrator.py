"""For the one who tunes it: charge and coolant temperatures, where to take boost and timing out, exhaust limit, sensors."""

from collections.abc import Iterator

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.kit.records.parts import Limit
from heatproof.laws.engine import spark_efficiency
from heatproof.network import signals as S
from heatproof.network.solve import Run
from heatproof.report.assumptions import resolved
from heatproof.report.blocks import Block, Columns, Document, Facts, Heading, Para, table
from heatproof.report.gathered import Gathered
from heatproof.report.sheets.common import cautions_of, note, peak_of, sheet
from heatproof.verdict.words import clock, number

STEPS = 5
LEAST_BOOST = 0.5  # share of the kit's boost that is left at the short limit
RETARDS = (2.0, 4.0, 6.0, 8.0)


def calibrator_sheet(found: Gathered) -> Document:
    """Tables to start from; the dyno decides."""
    blocks = [*reached(found), *reduction(found), *exhaust(found), *sensors(found)]
    return sheet(
        "Calibrator's sheet",
        found,
        blocks,
        cautions=cautions_of(found),
        signs=("Calibrated by", "Thermal engineer"),
    )


def reached(found: Gathered) -> Iterator[Block]:
    """Highest temperatures of each duty while the engine runs."""
    yield Heading("What the model expects")
    rows = [duty_row(one, found) for one in found.solved.values()]
    columns: Columns = (
        ("Duty", "left", 1.4),
        ("Ambient", "right", 0.9),
        ("Power", "right", 0.9),
        ("Boost", "right", 1.0),
        ("Intake", "right", 0.8),
        ("Charge", "right", 0.8),
        ("Coolant", "right", 0.9),
        ("Exhaust at ports", "right", 1.2),
    )
    yield table(
        columns,
        rows,
        note="Highest while the engine runs. Exhaust at ports: gas temperature of the mean-value model, by energy closure.",
    )


def duty_row(one: Solved, found: Gathered) -> tuple[str, ...]:
    """One duty."""
    run, units = one.run, found.units
    on = run.signal[:, S.ENGINE_ON] > 0.5
    highest = run.signal[on].max(axis=0)
    peaks = [
        units.temperature(float(run.state[on, run.network.mass(mass)].max()))
        if mass in run.network.masses
        else "–"
        for mass in ("charge.inlet", "charge.plenum", coolant_place(found))
    ]
    return (
        one.duty.name,
        units.temperature(run.around.temperature),
        units.power(float(highest[S.BRAKE_POWER])),
        units.pressure(max(float(highest[S.MANIFOLD_PRESSURE]) - run.around.pressure, 0.0)),
        *peaks,
        units.temperature(float(highest[S.EXHAUST_TEMPERATURE])),
    )


def coolant_place(found: Gathered) -> str:
    """The judged coolant junction, else the one the fan senses."""
    limited = [key for key, junction in found.variant.coolant.junctions.items() if junction.limit is not None]
    fan = found.variant.air.fan
    key = next(iter(limited), fan.sensor if fan is not None else found.variant.coolant.fixed_pressure)
    return f"coolant.{key}"


def reduction(found: Gathered) -> Iterator[Block]:
    """Boost and timing against charge and coolant temperature."""
    yield Heading("Boost and timing reduction: start values")
    pairs: list[tuple[str, Limit | None, str]] = [
        ("Charge temperature", found.variant.charge.plenum.limit, "charge.plenum")
    ]
    place = coolant_place(found)
    junction = found.variant.coolant.junctions.get(place.removeprefix("coolant."))
    pairs.append(("Coolant temperature", junction.limit if junction is not None else None, place))
    shown = False
    for title, limit, part in pairs:
        rows = steps(limit, half_of(found, part), found)
        if rows:
            shown = True
            yield Heading(title, 2)
            yield table(
                (
                    ("Temperature", "right", 1.2),
                    ("Boost, share of the kit's", "right", 1.4),
                    ("Timing", "left", 3.4),
                ),
                rows,
            )
    if not shown:
        yield Para(
            "Neither charge nor coolant has a limit with a continuous and a short temperature: set them first."
        )
    yield note(
        "Full boost up to the continuous limit less the spread of the prediction; then straight down to "
        f"{number(100 * LEAST_BOOST)} % at the short limit, and to no boost above it. Timing: take out first what knocks, and put "
        "boost down rather than timing where the exhaust is near its limit, for late timing heats it. Start values; common practice, no source: the dyno decides."
    )


def half_of(found: Gathered, part: str) -> float:
    """K: the largest spread of that part in any duty."""
    halves = [one.row.half or 0.0 for one in found.limits if one.part == part and one.row is not None]
    return max(halves, default=0.0)


def steps(limit: Limit | None, half: float, found: Gathered) -> list[tuple[str, str, str]]:
    """Temperature, boost share, what to do with timing."""
    if limit is None or limit.continuous is None:
        return []
    start = limit.continuous - half
    end = limit.short if limit.short is not None else limit.continuous + 5.0
    rows = []
    for k, T in enumerate(np.linspace(start, end, STEPS)):
        boost = 1.0 - (1.0 - LEAST_BOOST) * k / (STEPS - 1)
        timing = "as mapped" if k == 0 else "take out what knocks, no more"
        rows.append((found.units.temperature(float(T)), f"{number(100 * boost)} %", timing))
    rows.append((f"above {found.units.temperature(float(end))}", "no boost", "warn the driver"))
    return rows


def exhaust(found: Gathered) -> Iterator[Block]:
    """Limit of the metal, and what late timing does."""
    units = found.units
    yield Heading("Exhaust")
    turbo = found.variant.turbo
    facts = []
    if turbo is not None:
        part = found.variant.parts[turbo.part_turbine]
        peak = peak_of(found, turbo.part_turbine)
        if peak is not None:
            facts.append(
                (
                    f"{part.title or 'Turbine housing'}, metal",
                    f"up to {units.temperature(peak[0])} in {peak[1]}",
                )
            )
        if part.limit is not None and part.limit.continuous is not None:
            facts.append(
                (
                    "Its limit",
                    f"{units.temperature(part.limit.continuous)} continuous ({part.limit.source or 'no source given'})",
                )
            )
            if stands_for := resolved(part.limit.source):
                facts.append(("That source", stands_for))
    run, row = hardest(found)
    gas = float(run.signal[row, S.EXHAUST_TEMPERATURE])
    facts.append(
        (
            "Gas at the ports then",
            f"{units.temperature(gas)} at {units.power(float(run.signal[row, S.BRAKE_POWER]))}, {clock(float(run.time[row]))}",
        )
    )
    facts.append(("Mixture then", f"{number(float(run.signal[row, S.MIXTURE]), 2)} of stoichiometric air"))
    yield Facts(tuple(facts))
    flow = float(run.signal[row, S.EXHAUST])
    capacity = flow * float(run.signal[row, S.EXHAUST_CP])
    power = float(run.signal[row, S.BRAKE_POWER])
    rows = []
    for retard in RETARDS:
        share = float(spark_efficiency(retard))
        lost = power * (1.0 - share)
        rows.append(
            (
                f"{number(retard)}°",
                f"−{number(100 * (1 - share), 1)} %",
                units.difference(lost / max(capacity, 1.0)),
            )
        )
    yield table(
        (
            ("Later than best by", "right", 1.2),
            ("Torque", "right", 1.0),
            ("Gas at ports hotter by at most", "right", 1.8),
        ),
        rows,
        note="Upper bound: all torque lost goes into the exhaust gas. Torque against timing: Heywood sect. 15.3; Guzzella and Onder; from memory, uncertain.",
    )


def hardest(found: Gathered) -> tuple[Run, int]:
    """Run and row of the highest exhaust temperature at the ports at 80 % of the highest power or more."""
    most = max(float(one.run.signal[:, S.BRAKE_POWER].max()) for one in found.solved.values())
    best = None
    for one in found.solved.values():
        run = one.run
        rows = np.flatnonzero(run.signal[:, S.BRAKE_POWER] >= 0.8 * most)
        if rows.size:
            row = int(rows[np.argmax(run.signal[rows, S.EXHAUST_TEMPERATURE])])
            gas = float(run.signal[row, S.EXHAUST_TEMPERATURE])
            if best is None or gas > best[0]:
                best = (gas, run, row)
    assert best is not None
    return best[1], best[2]


def sensors(found: Gathered) -> Iterator[Block]:
    """Where to measure what these tables ask for."""
    yield Heading("Sensors")
    coolant = found.variant.coolant.junctions.get(coolant_place(found).removeprefix("coolant."))
    rows = [
        (
            "Charge temperature",
            "after the charge cooler, close to the throttle",
            "fast bead, in the stream, not on the wall",
        ),
        (
            "Coolant temperature",
            (coolant.title if coolant is not None else "") or "engine outlet",
            "immersed, in flowing coolant before the thermostat",
        ),
        (
            "Exhaust gas",
            "in the collector before the turbine",
            "1.5 mm sheathed type K or thicker where it must live; reads low, for it radiates to the wall",
        ),
        ("Boost", "intake manifold, not at the compressor", "short hose, no water trap"),
        ("Oil temperature", "sump, away from the pan's wall", "immersed at the lowest level driven with"),
    ]
    yield table(
        (("What", "left", 1.3), ("Where", "left", 2.2), ("How", "left", 2.8)),
        rows,
        note="Common practice, no source.",
    )
