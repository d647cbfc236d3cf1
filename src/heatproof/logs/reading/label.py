"""Raw numbers of one column to a Channel in SI, with a finding for every guess."""

import numpy as np

from heatproof.logs.reading.channel_map import ChannelMap
from heatproof.logs.reading.log_units import LogUnit, parse_unit, unit_named
from heatproof.logs.reading.names import NameGuess, guess_name
from heatproof.logs.reading.quantities import QUANTITIES, Quantity
from heatproof.logs.reading.records import Channel, Floats, LogFinding

LEAST_TO_JUDGE = 20
FASTEST_TURN = 0.002
"""rad from row to row (13 km on the ground): no car, at any rate a logger has."""
MAP_STEP = "name it in the channel map"


def make_channel(
    column: str, unit_text: str, time_s: Floats, values: Floats, *, source: str, channel_map: ChannelMap
) -> tuple[Channel, list[LogFinding]]:
    """One channel in SI. A channel without a known quantity keeps its unit's SI value, or the bare
    numbers."""
    told = channel_map.row(column)
    guess = guess_name(column, told.unit or unit_text)
    quantity, notes = _quantity(column, told.quantity, guess)
    unit, more = _unit(column, told.unit, guess, quantity, values)
    values = np.where(np.isfinite(values), values, np.nan)
    quantity, extra = _absolute_or_gauge(column, told.quantity, quantity, unit, values)
    if quantity is not None and unit is not None and not told.quantity:
        against = _does_not_fit(quantity, unit.to_si(values))
        if against:
            told_as = f"not taken as {quantity.label}: {against}"
            quantity, notes = None, [LogFinding("warning", told_as, column, next_step=MAP_STEP)]
    channel = Channel(
        column=column,
        quantity=quantity.key if quantity else "unknown",
        unit=told.unit or guess.unit_text or (unit.name if unit else ""),
        si_unit=unit.si_unit if unit else "",
        time_s=time_s,
        values=unit.to_si(values) if unit else values,
        source=source,
        sensor=told.sensor,
        place=told.place,
        time_constant_s=told.time_constant_s or 0.0,
    )
    return channel, notes + more + extra


def _does_not_fit(quantity: Quantity, values: Floats) -> str:
    """Why such numbers cannot be that quantity, in words; empty when they can."""
    good = values[np.isfinite(values)]
    if good.size < LEAST_TO_JUDGE:
        return ""
    low, high = quantity.limits_si
    outside = float(np.mean((good < low) | (good > high)))
    if outside > 0.5:
        return f"{outside:.0%} of its values lie outside what can be"
    if quantity.key in ("gps_latitude", "gps_longitude"):
        jump = float(np.percentile(np.abs(np.diff(good)), 95))
        if jump > FASTEST_TURN:
            return "a place on the map does not jump like that"
    return ""


def _quantity(column: str, told: str, guess: NameGuess) -> tuple[Quantity | None, list[LogFinding]]:
    if told:
        return QUANTITIES.get(told), [LogFinding("note", f"{told}, as the channel map says", column)]
    if guess.quantity is None:
        why = f"fits {' and '.join(guess.also)} alike" if guess.also else "not recognised"
        return None, [LogFinding("warning", f"quantity {why}", column, next_step=MAP_STEP)]
    if guess.sure == "exact":
        return guess.quantity, [LogFinding("note", f"taken as {guess.quantity.label}", column)]
    note = LogFinding(
        "warning", f"taken as {guess.quantity.label}", column, next_step="check it in the channel map"
    )
    return guess.quantity, [note]


def _unit(
    column: str, told: str, guess: NameGuess, quantity: Quantity | None, values: Floats
) -> tuple[LogUnit | None, list[LogFinding]]:
    if told:
        return parse_unit(told), []
    unit = guess.unit
    if quantity is None:
        return unit, []
    if unit is not None and unit.dimension != quantity.dimension:
        same = {unit.dimension, quantity.dimension} <= {"share", "ratio"}
        if not same:
            return unit, [
                LogFinding(
                    "warning",
                    f"unit {unit.name} does not suit {quantity.label}",
                    column,
                    guess.unit_text,
                    MAP_STEP,
                )
            ]
    if unit is not None:
        notes = (
            [LogFinding("note", f"unit text mended to {unit.name}", column, repr(unit.text))]
            if unit.repaired
            else []
        )
        return unit, notes
    assumed = _plausible_unit(quantity, values)
    got = repr(guess.unit_text) if guess.unit_text else "no unit"
    good = values[np.isfinite(values)]
    seen = f", values from {good.min():.4g} to {good.max():.4g}" if good.size else ""
    return assumed, [LogFinding("warning", f"unit taken as {assumed.name}", column, got + seen, MAP_STEP)]


def _plausible_unit(quantity: Quantity, values: Floats) -> LogUnit:
    """Default unit, or another one of the trade if only that puts the numbers where they can be."""
    good = values[np.isfinite(values)]
    if not good.size:
        return quantity.unit
    low, high = quantity.limits_si
    middle = float(np.median(good))
    others = {
        "temperature": ("degC", "degF", "K"),
        "pressure": ("kPa", "bar", "hPa", "Pa"),
        "speed": ("km/h", "m/s"),
        "share": ("%",),
    }.get(quantity.dimension, ())
    for name in (quantity.default_unit, *others):
        unit = unit_named(name)
        if low <= unit.factor * (middle + unit.offset) <= high:
            return unit
    return quantity.unit


def _absolute_or_gauge(
    column: str, told: str, quantity: Quantity | None, unit: LogUnit | None, values: Floats
) -> tuple[Quantity | None, list[LogFinding]]:
    """Manifold pressure in a gauge unit is boost; "boost" that never falls below 50 kPa reads absolute."""
    if told or quantity is None or unit is None:
        return quantity, []
    if quantity.key == "manifold_pressure" and unit.gauge:
        return QUANTITIES["boost_pressure"], [
            LogFinding("note", "gauge unit: taken as boost pressure", column)
        ]
    if quantity.key == "boost_pressure" and not unit.gauge:
        good = unit.to_si(values[np.isfinite(values)])
        if (
            good.size > 100
            and float(np.percentile(good, 1)) > 50e3
            and float(np.percentile(good, 25)) < 115e3
        ):
            return QUANTITIES["manifold_pressure"], [
                LogFinding(
                    "warning",
                    "named boost but never near zero: taken as absolute",
                    column,
                    next_step=MAP_STEP,
                )
            ]
    return quantity, []
