"""The three flow networks of one run at one instant, as data for a drawing: places with heights and temperatures,
ways with flows."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from heatproof.assembly.circuits import junction_names
from heatproof.assembly.core_tables import circuit_stream, oil_stream
from heatproof.kit.records.variant import Variant
from heatproof.network import signals as S
from heatproof.network.solve import Run
from heatproof.verdict.names import spaced

Kind = Literal["place", "outside", "engine"]
OUTSIDE = "outside"


@dataclass(frozen=True)
class Place:
    """A zone or junction. height m, temperature K."""

    key: str
    title: str
    height: float
    temperature: float
    kind: Kind = "place"


@dataclass(frozen=True)
class Way:
    """A passage or line. flow kg/s, positive from `first` to `second`."""

    key: str
    title: str
    first: str
    second: str
    flow: float
    temperature: float


@dataclass(frozen=True)
class Flows:
    """One network at one instant."""

    title: str
    time: float
    places: tuple[Place, ...]
    ways: tuple[Way, ...]


def running_row(run: Run) -> int:
    """Stored row of the highest coolant temperature while the engine runs."""
    on = np.flatnonzero(run.signal[:, S.ENGINE_ON] > 0.5)
    coolant = [i for i, name in enumerate(run.network.masses) if name.startswith("coolant.")]
    if not coolant or on.size == 0:
        return int(on[-1]) if on.size else 0
    return int(on[np.argmax(run.state[on][:, coolant].max(axis=1))])


def soak_row(run: Run, after: float = 120.0) -> int | None:
    """Stored row `after` seconds past key-off; None where the engine does not stop."""
    if run.duty.key_off >= run.duty.duration:
        return None
    return int(np.argmin(np.abs(run.time - (run.duty.key_off + after))))


def temperature_of(run: Run, row: int, mass: str, otherwise: float) -> float:
    """K of a mass, or `otherwise` where there is none."""
    return float(run.state[row, run.network.mass(mass)]) if mass in run.network.masses else otherwise


def air_flows(variant: Variant, run: Run, row: int) -> Flows:
    """Cooling and bay air: zones, openings, the engine's draw."""
    ambient = run.around.temperature
    places = [
        Place(key, zone.title or spaced(key), zone.height, temperature_of(run, row, f"air.{key}", ambient))
        for key, zone in variant.air.zones.items()
    ]
    heights = {place.key: place.height for place in places}
    warm = {place.key: place.temperature for place in places}
    ways = []
    for key, passage in variant.air.passages.items():
        name = f"air.{key}"
        if name not in run.network.branches:
            continue
        first, second = passage.from_, passage.to
        flow = float(run.flow[row, run.network.branches.index(name)])
        for other in (first, second):
            if other == OUTSIDE:
                places.append(Place(f"{key}.{OUTSIDE}", spaced(key), passage.height, ambient, "outside"))
        first = f"{key}.{OUTSIDE}" if first == OUTSIDE else first
        second = f"{key}.{OUTSIDE}" if second == OUTSIDE else second
        upstream = first if flow >= 0.0 else second
        ways.append(Way(key, spaced(key), first, second, flow, warm.get(upstream, ambient)))
    source = variant.charge.draws_from
    if source != OUTSIDE:
        places.append(Place("engine", "To the engine", heights.get(source, 0.6), warm[source], "engine"))
        ways.append(Way("draw", "Draw", source, "engine", float(run.signal[row, S.AIR]), warm[source]))
    return Flows("Air", float(run.time[row]), tuple(places), tuple(ways))


def circuit_title(variant: Variant, section: str) -> str:
    """A circuit as people call it."""
    record = variant.liquids[section]
    return getattr(record, "title", "") or spaced(section.rpartition(".")[2])


def density_of(variant: Variant, section: str) -> float:
    """kg/m3 that a circuit's flows are read with: at its reference temperature."""
    if section == "oil":
        return oil_stream(variant.oil.grade).rho
    return circuit_stream(variant.coolants[section]).rho


def liquid_flows(variant: Variant, run: Run, row: int, section: str) -> Flows:
    """A liquid circuit by its path (`coolant`, `oil`, `circuits.NAME`): junctions at their heights, lines with flows."""
    record = variant.liquids[section]
    lines = {key: line for key, line in record.lines.items() if f"{section}.{key}" in run.network.branches}
    small = record.small_junctions.height if record.small_junctions is not None else 0.5
    places = []
    for key in junction_names(record, dict(lines)):
        known = record.junctions.get(key)
        height = known.height if known is not None else small
        title = (known.title if known is not None else "") or spaced(key)
        T = temperature_of(run, row, f"{section}.{key}", run.around.temperature)
        places.append(Place(key, title, height, T))
    warm = {place.key: place.temperature for place in places}
    ways = [
        Way(
            key,
            line.title or spaced(key),
            line.from_,
            line.to,
            float(run.flow[row, run.network.branches.index(f"{section}.{key}")]),
            temperature_of(run, row, f"{section}.{key}.fluid", warm[line.from_]),
        )
        for key, line in lines.items()
    ]
    return Flows(circuit_title(variant, section), float(run.time[row]), tuple(places), tuple(ways))
