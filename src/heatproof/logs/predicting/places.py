"""Where a channel of a log stands in the model: a mass of the network, by key, by title, or by a guess.

A place is written in the channel map as the part's key (`brake_line`), a junction (`coolant.turbo_out`), a
zone of air (`air.bay_rear`), a stretch of charge air or exhaust gas (`charge.plenum`), or a part's title.
"""

import difflib
import re
from dataclasses import dataclass, replace

from heatproof.kit.records.liquids import Thermostat
from heatproof.kit.records.variant import Variant
from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.names import split_unit
from heatproof.logs.reading.records import Channel, Log, LogError, LogFinding
from heatproof.network.laid import Network
from heatproof.verdict.judged import judged
from heatproof.verdict.names import mass_title

NOT_COMPARED = ("ambient_temperature", "time", "date", "transmission_temperature")


@dataclass(frozen=True)
class Place:
    """One point of the model. medium: `solid` (its surface), `air`, `gas`, `coolant` or `oil`."""

    mass: str
    title: str
    medium: str


def places(variant: Variant, network: Network) -> dict[str, Place]:
    """Every mass that a probe could stand on or in, by its name in the network."""
    titles = titles_of(variant)
    kinds = network.kinds
    return {
        name: Place(name, titles.get(name) or mass_title(variant, name), kinds.get(name, "solid"))
        for name in network.masses
        if " " not in name and not name.startswith("core.") and not name.endswith(".away")
    }


def titles_of(variant: Variant) -> dict[str, str]:
    """Mass to the name people know it by, where the project gives one."""
    titles = {key: part.title for key, part in variant.parts.items() if part.title}
    for key, part in variant.parts.items():
        if part.cover is not None:
            titles[f"{key}.skin"] = part.cover.title or f"{part.title or key}, {part.cover.kind}"
    for section in ("coolant", "oil"):
        record = getattr(variant, section)
        titles |= {f"{section}.{k}": j.title for k, j in record.junctions.items() if j.title}
        titles |= {f"{section}.{k}.fluid": line.title for k, line in record.lines.items() if line.title}
    titles |= {f"air.{k}": zone.title for k, zone in variant.air.zones.items() if zone.title}
    titles |= {f"charge.{k}": t for k in ("inlet", "plenum") if (t := getattr(variant.charge, k).title)}
    for one in judged(variant):
        titles.setdefault(one.mass, one.title)
    return titles


def find_place(text: str, known: dict[str, Place], *, where: str) -> Place:
    """The place named in a channel map. LogError with the nearest names where there is none."""
    wanted = text.strip()
    by_title = {place.title.lower(): place for place in known.values()}
    found = known.get(wanted) or known.get(f"{wanted}.fluid") or by_title.get(wanted.lower())
    if found is not None:
        return found
    names = [*known, *by_title]
    near = difflib.get_close_matches(wanted.lower(), names, n=3, cutoff=0.5)
    raise LogError(
        "no such place in the model",
        where=where,
        got=repr(wanted),
        allowed="a part, coolant.…, oil.…, air.… or charge.… of the project",
        next_step=f"did you mean {' or '.join(near)}?"
        if near
        else "`heatproof log` with --places lists them",
    )


def map_places(
    log: Log, variant: Variant, known: dict[str, Place]
) -> tuple[dict[str, Place], tuple[LogFinding, ...]]:
    """Column to place for every temperature that has one, and a finding for each guess or gap."""
    found: dict[str, Place] = {}
    notes: list[LogFinding] = []
    for channel in log.channels:
        if channel.si_unit != "K" or channel.quantity in NOT_COMPARED:
            continue
        if channel.place:
            found[channel.column] = find_place(channel.place, known, where=channel.column)
            continue
        guess = guessed(channel, variant, known)
        if guess is None:
            step = "give `place:` in the channel map"
            notes.append(LogFinding("warning", "no place in the model", channel.column, next_step=step))
            continue
        found[channel.column] = known[guess]
        text = f"taken to stand at {guess} ({known[guess].title})"
        notes.append(LogFinding("warning", text, channel.column, next_step="check it in the channel map"))
    return found, tuple(notes)


def guessed(channel: Channel, variant: Variant, known: dict[str, Place]) -> str | None:
    """The mass a channel most likely stands at, None where that is anybody's guess."""
    usual = usual_places(variant).get(channel.quantity, ())
    by_quantity = next((name for name in usual if name in known), None)
    return by_quantity or by_words(channel.column, known)


def usual_places(variant: Variant) -> dict[str, tuple[str, ...]]:
    """Quantity to the masses where its sensor usually stands, best first."""
    lines = variant.coolant.lines
    hot = next((line.from_ for line in lines.values() if isinstance(line, Thermostat)), "")
    radiator = next((line for line in lines.values() if line.core is not None), None)
    sump = max(variant.oil.junctions.items(), key=lambda one: one[1].volume, default=("", None))[0]
    compressed = ("charge.hot_pipe", "charge.volute", "charge.compressor_out")
    table: dict[str, tuple[str, ...]] = {
        "coolant_temperature": (f"coolant.{hot}", "coolant.engine_out"),
        "oil_temperature": (f"oil.{sump}",),
        "intake_temperature": ("charge.plenum",),
        "compressor_in_temperature": ("charge.inlet",),
        "charge_in_temperature": compressed,
        "charge_out_temperature": ("charge.cooler_out", "charge.cold_pipe"),
        "exhaust_temperature": ("exhaust.manifold", "exhaust.ports"),
        "catalyst_temperature": ("exhaust.catalyst",),
    }
    if radiator is not None:
        table["radiator_in_temperature"] = (f"coolant.{radiator.from_}",)
        table["radiator_out_temperature"] = (f"coolant.{radiator.to}",)
    zones = [f"air.{name}" for name in variant.air.zones]
    if len(zones) == 1:
        table["bay_air_temperature"] = (zones[0],)
    return table


def by_words(column: str, known: dict[str, Place]) -> str | None:
    """The one place whose key or title shares most words with a column name; None where two share as many."""
    words = words_of(split_unit(column)[0])
    scored = []
    for name, place in known.items():
        key, title = words_of(name), words_of(place.title)
        best = max(len(words & key) / max(len(key), 1), len(words & title) / max(len(title), 1))
        if best >= 0.6:
            scored.append((best, len(words & (key | title)), name))
    scored.sort(key=lambda one: (-one[0], -one[1]))
    if not scored or (len(scored) > 1 and scored[0][:2] == scored[1][:2]):
        return None
    return scored[0][2]


COMMON = {
    "temp",
    "temperature",
    "surface",
    "tc",
    "t",
    "air",
    "the",
    "of",
    "at",
    "thermocouple",
    "fluid",
    "skin",
}


def words_of(text: str) -> set[str]:
    """Words that say where, without those every channel has."""
    return {w for w in re.split(r"[^a-z0-9]+", text.lower()) if w} - COMMON


def with_places(told: ChannelMap, found: dict[str, Place]) -> ChannelMap:
    """The map with every place filled in that it did not name."""
    rows = {
        column: replace(row, place=row.place or (found[column].mass if column in found else ""))
        for column, row in told.rows.items()
    }
    return replace(told, rows=rows)
