"""A log, its comparison and its days as JSON."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from heatproof.doors.log_text import day_verdict
from heatproof.verdict.words import celsius

if TYPE_CHECKING:
    from heatproof.logs.cleaning.join import Joined
    from heatproof.logs.correcting.other_ambient import OtherDay
    from heatproof.logs.predicting.against import Against
    from heatproof.logs.predicting.compare_days import Difference
    from heatproof.logs.reading.records import Channel, Log
    from heatproof.logs.reducing.cooldown import SoakPair
    from heatproof.logs.reducing.events import Event
    from heatproof.logs.reducing.reduce import Figure


def log_data(joined: "Joined", events: "tuple[Event, ...]", figures: "tuple[Figure, ...]") -> dict[str, Any]:
    """The object of `log --json`."""
    notes = [*(f for log in joined.raw for f in log.findings), *joined.findings]
    return {
        "files": [file_data(log) for log in joined.raw],
        "channels": [channel_data(c, joined) for c in joined.log.channels],
        "events": [
            {"kind": e.kind, "start_s": e.start_s, "end_s": e.end_s, "figures": e.figures} for e in events
        ],
        "figures": [figure_data(f) for f in figures],
        "findings": [
            {
                "level": f.level,
                "what": f.what,
                "where": f.where,
                "got": f.got,
                "next_step": f.next_step,
            }
            for f in dict.fromkeys(notes)
        ],
        "dropped": [
            {"column": d.column, "step": d.step, "count": d.count, "of": d.of, "why": d.why}
            for d in joined.dropped
        ],
        "clocks": [
            {"offset_s": c.offset_s, "drift": c.drift, "match": finite(c.match), "from": c.quantity}
            for c in joined.clocks
        ],
    }


def file_data(log: "Log") -> dict[str, Any]:
    """One file as it was read."""
    layout = {k: v for k, v in log.layout.items() if isinstance(v, str | int | float | bool) or v is None}
    return {"path": log.path, "sha256": log.sha256, "layout": layout}


def channel_data(channel: "Channel", joined: "Joined") -> dict[str, Any]:
    """One channel."""
    out = sum(d.count for d in joined.dropped if d.column == channel.column)
    return {
        "column": channel.column,
        "quantity": channel.quantity,
        "unit": channel.unit,
        "rate_Hz": finite(channel.rate_Hz),
        "dropped": out,
        "samples": int(channel.measured.sum()),
        "place": channel.place,
        "sensor": channel.sensor,
    }


def figure_data(figure: "Figure") -> dict[str, Any]:
    """One figure, SI."""
    return {
        "name": figure.name,
        "value": finite(figure.value),
        "unit": figure.unit,
        "sd": finite(figure.sd),
        "reference": figure.reference,
        "standing": figure.standing,
        "notes": list(figure.notes),
    }


def against_data(found: "Against") -> list[dict[str, Any]]:
    """Predicted against measured."""
    return [
        {
            "column": one.column,
            "place": one.place,
            "sensor": one.sensor,
            "bias_K": one.bias,
            "spread_K": one.spread,
            "rms_K": one.rms,
            "normalised": one.normalised,
            "shift_s": finite(one.shift_s),
            "peak_measured_degC": celsius(one.peak_measured),
            "peak_predicted_degC": celsius(one.peak_predicted),
            "sensor_sd_K": one.doubt.total_K,
        }
        for one in found.channels
    ]


def between_data(pair: "SoakPair | None") -> dict[str, Any] | None:
    """How the coolant cooled between two runs; none where the logs do not tell."""
    if pair is None:
        return None
    return {
        "gap_s": pair.gap_s,
        "start_degC": celsius(pair.T_start),
        "end_degC": celsius(pair.T_end),
        "ambient_degC": celsius(pair.T_ambient),
        "time_constant_s": pair.time_constant_s,
        "low_s": pair.low_s,
        "high_s": pair.high_s,
        "notes": list(pair.notes),
    }


def elsewhere_data(found: "Sequence[OtherDay]") -> list[dict[str, Any]]:
    """Peaks at another ambient."""
    return [
        {
            "column": o.column,
            "place": o.place,
            "measured_degC": celsius(o.measured),
            "by_model_degC": celsius(o.by_model),
            "one_to_one_degC": celsius(o.by_rule),
            "ambient_change_K": o.span,
        }
        for o in found
    ]


def days_data(found: "Sequence[Difference]") -> list[dict[str, Any]]:
    """The other day against this one, K."""
    return [
        {
            "quantity": d.quantity,
            "this_K": d.a.value,
            "other_K": d.b.value,
            "difference_K": d.difference_K,
            "low_K": d.low_K,
            "high_K": d.high_K,
            "confidence_other_lower": d.confidence_lower,
            "verdict": day_verdict(d),
        }
        for d in found
    ]


def finite(value: float) -> float | None:
    """None for what JSON cannot hold."""
    return float(value) if value == value and abs(value) != float("inf") else None
