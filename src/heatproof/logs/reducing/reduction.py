"""Every figure of one log that the trade reports and its channels allow; what does not apply is left out."""

from collections.abc import Callable, Iterator
from functools import partial

from heatproof.kit.records.liquids import Thermostat as ThermostatLine
from heatproof.kit.records.variant import Variant
from heatproof.logs.reading.records import Log, LogError
from heatproof.logs.reducing.cooldown import cooling_constant
from heatproof.logs.reducing.events import Event
from heatproof.logs.reducing.fit import settle
from heatproof.logs.reducing.reduce import (
    Figure,
    Thermostat,
    coolant_capability,
    cooler_effectiveness,
    radiator_drop,
    rise_over_ambient,
    soak_peaks,
)
from heatproof.media.air import atmosphere
from heatproof.media.coolants import saturation_temperature_coolant

LAST_S = 300.0
RISES = ("intake_temperature", "compressor_in_temperature", "charge_out_temperature", "bay_air_temperature")


def reduced(log: Log, events: tuple[Event, ...], variant: Variant | None = None) -> tuple[Figure, ...]:
    """Rises over ambient, exchangers, coolant capability (with a variant), settled values, soak peaks and
    the time constant of cooling. Use a cleaned log."""
    return tuple(_figures(log, events, variant))


def _figures(log: Log, events: tuple[Event, ...], variant: Variant | None) -> Iterator[Figure]:
    soaks = [e for e in events if e.kind == "soak"]
    end = soaks[-1].start_s if soaks else log.span_s[1]
    if log.has("ambient_temperature"):
        for quantity in RISES:
            if log.has(quantity):
                yield from tried(partial(rise_over_ambient, log, quantity, ((0.0, end),)))
    if log.has("charge_in_temperature") and log.has("charge_out_temperature"):
        yield from tried(partial(effectiveness, log, end, "ambient_temperature"))
    if log.has("radiator_in_temperature") and log.has("radiator_out_temperature"):
        yield from tried(lambda: (radiator_drop(log, ((0.0, end),)),))
    if log.has("oil_cooler_in_temperature") and log.has("oil_cooler_out_temperature"):
        ends = {"hot_in": "oil_cooler_in_temperature", "hot_out": "oil_cooler_out_temperature"}
        yield from tried(lambda: (radiator_drop(log, ((0.0, end),), **ends),))
    yield from _coolant(log, variant, end)
    for soak in soaks:
        yield from soak_peaks(log, soak)
        yield from tried(partial(cooling_constant, log, soak))


def effectiveness(log: Log, end: float, air: str) -> tuple[Figure, ...]:
    """Of the charge cooler against one air."""
    return (cooler_effectiveness(log, ((0.0, end),), reference=air),)


def _coolant(log: Log, variant: Variant | None, end: float) -> Iterator[Figure]:
    """Settled value of the last five minutes, limiting ambient and air to boil."""
    coolant = log.find("radiator_in_temperature") or log.find("coolant_temperature")
    if coolant is None or end < LAST_S:
        return
    inside = coolant.measured & (coolant.time_s >= end - LAST_S) & (coolant.time_s <= end)

    def settled() -> tuple[Figure, ...]:
        fit = settle(coolant.time_s[inside], coolant.values[inside], resolution_K=1.0)
        if not fit.determined:
            return ()
        name = f"{coolant.column}: settled value if the last five minutes went on"
        return (Figure(name, fit.T_end.value, "K", fit.T_end.sd, notes=fit.notes),)

    yield from tried(settled)
    line = thermostat_of(variant)
    if variant is None or line is None or not log.has("ambient_temperature"):
        return
    pressure = atmosphere(0.0)[1] + variant.coolant.cap_pressure
    boil = saturation_temperature_coolant(pressure, variant.coolant.glycol)
    yield from tried(
        lambda: coolant_capability(
            log,
            T_allowed=coolant_limit(variant) or boil,
            T_boil=boil,
            thermostat=Thermostat(line.opens, line.fully_open),
            span=(end - LAST_S, end),
        )
    )


def tried(make: Callable[[], tuple[Figure, ...]]) -> tuple[Figure, ...]:
    """The figures, none where the log does not hold enough for them."""
    try:
        return make()
    except LogError:
        return ()


def thermostat_of(variant: Variant | None) -> ThermostatLine | None:
    """The coolant line with the thermostat."""
    lines = variant.coolant.lines.values() if variant is not None else ()
    return next((line for line in lines if isinstance(line, ThermostatLine)), None)


def coolant_limit(variant: Variant) -> float | None:
    """Lowest continuous temperature limit of the coolant, K; None without one."""
    limits = [one.limit for one in (*variant.coolant.junctions.values(), *variant.coolant.lines.values())]
    temperatures = [limit.continuous for limit in limits if limit is not None and limit.continuous]
    return min(temperatures, default=None)
