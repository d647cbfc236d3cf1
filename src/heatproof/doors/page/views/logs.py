"""Test day: logs of the project, what their channels mean, events, reduced figures, and their traces."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.logbook import ENDINGS, ReadLog, log_names, map_path, opened
from heatproof.doors.page.units import channel_unit, reader
from heatproof.logs.reading.quantities import TABLE
from heatproof.logs.reading.records import Channel, Floats, LogError
from heatproof.logs.reducing.cooldown import cooling_constant
from heatproof.logs.reducing.events import Event
from heatproof.logs.reducing.reduce import (
    Figure,
    cooler_effectiveness,
    radiator_drop,
    rise_over_ambient,
    soak_peaks,
    spans_of,
)
from heatproof.verdict.words import clock, number

MOST_POINTS = 60_000
MOST_TRACES = 12
NOT_DRAWN = ("time", "date")


def logs_view(folder: Path) -> dict[str, Any]:
    """Names and sizes."""
    found = [{"name": p.name, "bytes": p.stat().st_size} for p in log_names(folder)]
    return {"logs": found, "endings": list(ENDINGS)}


def log_view(folder: Path, name: str, answer: Answer | None) -> dict[str, Any]:
    """Channels with what they mean, findings, events and figures of one log; traces are asked for apart."""
    read = opened(folder, name)
    raw = {c.column: c for c in read.log.channels}
    return {
        "name": name,
        "map": map_path(folder / "logs" / name).name,
        "channels": [channel_view(read, c, raw[c.column]) for c in read.clean.log.channels],
        "findings": [
            {"level": f.level, "text": f.text()} for f in (*read.log.findings, *read.clean.findings)
        ],
        "dropped": [
            {"column": d.column, "step": d.step, "count": d.count, "why": d.why}
            for d in read.clean.dropped
            if d.step != "staircase"
        ],
        "span": list(read.log.span_s),
        "events": [event_view(read, e) for e in read.events],
        "figures": figures_view(read),
        "quantities": [{"key": q.key, "label": q.label} for q in TABLE if q.key not in NOT_DRAWN],
        "places": [] if answer is None else places_view(answer),
    }


def channel_view(read: ReadLog, channel: Channel, raw: Channel) -> dict[str, Any]:
    """One row of the table of channels."""
    label, _, _ = channel_unit(channel.si_unit)
    return {
        "column": channel.column,
        "quantity": channel.quantity,
        "unit": label,
        "file_unit": channel.unit,
        "rate": channel.rate_Hz,
        "samples": int(raw.measured.sum()),
        "dropped": read.clean.dropped_of(channel.column),
        "place": channel.place,
        "sensor": channel.sensor,
        "time_constant_s": channel.time_constant_s,
    }


def places_view(answer: Answer) -> list[dict[str, str]]:
    """Points of the model where a probe may stand: parts and points that are judged."""
    found = {part.mass: part.title for part in answer.parts.values()}
    network = next(iter(answer.solved.values())).run.network
    found |= {m: m.replace(".", ": ").replace("_", " ") for m in network.masses if m.startswith("air.")}
    known = set(network.masses)
    return [{"place": m, "title": t} for m, t in sorted(found.items(), key=lambda p: p[1]) if m in known]


# --- traces -------------------------------------------------------------------------------------------------
def traces_view(folder: Path, name: str, columns: list[str]) -> dict[str, Any]:
    """Times and cleaned values of some channels, in the reader's units; gaps are null."""
    read = opened(folder, name)
    known = {c.column: c for c in read.clean.log.channels}
    chosen = [known[c] for c in columns[:MOST_TRACES] if c in known]
    return {"traces": [trace_view(channel) for channel in chosen]}


def trace_view(channel: Channel) -> dict[str, Any]:
    """One channel."""
    label, factor, offset = channel_unit(channel.si_unit)
    step = max(1, int(np.ceil(channel.values.size / MOST_POINTS)))
    values = np.round(factor * channel.values[::step] + offset, 3)
    return {
        "column": channel.column,
        "quantity": channel.quantity,
        "unit": label,
        "time": np.round(channel.time_s[::step], 3).tolist(),
        "values": nulls(values),
    }


def nulls(values: Floats) -> list[float | None]:
    """Plain numbers, null where nothing was measured."""
    ok = np.isfinite(values)
    return (
        values.tolist()
        if ok.all()
        else [v if good else None for v, good in zip(values.tolist(), ok.tolist(), strict=True)]
    )


# --- events and figures -------------------------------------------------------------------------------------
def event_view(read: ReadLog, event: Event) -> dict[str, Any]:
    """Kind, when, how long, and its largest rise of a temperature."""
    rises = {k: v for k, v in event.figures.items() if k.endswith(" rise [K]") and np.isfinite(v)}
    best = max(rises, key=lambda k: rises[k], default="")
    what = best.removesuffix(" soak rise [K]").removesuffix(" rise [K]").replace("_", " ")
    return {
        "kind": event.kind,
        "start": event.start_s,
        "end": event.end_s,
        "when": clock(event.start_s),
        "length": clock(event.length_s),
        "most": f"{what} {reader().difference(rises[best])}" if best else "",
    }


def figures_view(read: ReadLog) -> list[dict[str, str]]:
    """What the log reduces to; figures whose channels are missing are left out."""
    log = read.clean.log
    pulls = spans_of(tuple(e for e in read.events if e.kind == "pull"))
    soaks = [e for e in read.events if e.kind == "soak"]
    tries: list[Callable[[], Any]] = [
        lambda: rise_over_ambient(log),
        lambda: rise_over_ambient(log, "coolant_temperature"),
        lambda: (cooler_effectiveness(log, pulls or None),),
        lambda: (radiator_drop(log, pulls or None),),
        *(lambda soak=soak: soak_peaks(log, soak) for soak in soaks[-1:]),
        *(lambda soak=soak: cooling_constant(log, soak) for soak in soaks[-1:]),
    ]
    found: list[Figure] = []
    for one in tries:
        try:
            found += one()
        except LogError:
            continue
    return [figure_view(f) for f in found]


def figure_view(figure: Figure) -> dict[str, str]:
    """Name, value with its standard deviation, and under which conditions it means something."""
    return {
        "name": figure.name[:1].upper() + figure.name[1:],
        "text": figure_text(figure),
        "standing": figure.standing,
        "notes": "; ".join(figure.notes),
    }


def figure_text(figure: Figure) -> str:
    """`+34.2 ± 0.4 K`; a peak as a temperature."""
    if not np.isfinite(figure.value):
        return "–"
    if figure.unit == "s":
        return clock(figure.value)
    if figure.unit == "K" and "peak" in figure.name:
        return reader().temperature(figure.value, 1)
    if figure.unit == "K":
        text = reader().difference(figure.value, 1)
        half = reader().difference_value(figure.sd)
        return (
            text
            if not np.isfinite(half)
            else f"{text.rpartition(' ')[0]} ± {number(half, 1)} {reader().step}"
        )
    text = number(figure.value, 2)
    return text if not np.isfinite(figure.sd) else f"{text} ± {number(figure.sd, 2)}"
