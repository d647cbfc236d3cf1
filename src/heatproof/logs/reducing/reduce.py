"""Reduction as the trade reports it, each figure with the conditions under which it means something."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from heatproof.logs.cleaning.autocorrelation import mean_of
from heatproof.logs.cleaning.clean import GATED
from heatproof.logs.reading.records import Channel, Floats, Log, LogError
from heatproof.logs.reducing.events import Event

SLOWEST_GATE_S = 5.0
Standing = Literal["valid", "lower bound", "not valid"]


@dataclass(frozen=True)
class Figure:
    """One reduced figure, SI. `sd` is the standard deviation of the mean (nan for a single reading)."""

    name: str
    value: float
    unit: str
    sd: float = float("nan")
    reference: str = ""
    standing: Standing = "valid"
    notes: tuple[str, ...] = ()


def pick(channel: Channel, spans: tuple[tuple[float, float], ...] | None) -> tuple[Floats, Floats]:
    """Times and measured values inside any of the spans (all of them without spans)."""
    inside = channel.measured.copy()
    if spans is not None:
        hit = np.zeros(inside.shape, bool)
        for start, end in spans:
            hit |= (channel.time_s >= start) & (channel.time_s <= end)
        inside &= hit
    return channel.time_s[inside], channel.values[inside]


def held_peak(x: Floats) -> int:
    """Index of the highest value that one of its neighbours bears out: a jump of a single sample is no peak."""
    if x.size < 3:
        return int(np.argmax(x))
    beside = np.maximum(np.r_[-np.inf, x[:-1]], np.r_[x[1:], -np.inf])
    return int(np.argmax(np.minimum(x, beside)))


def held_value(x: Floats) -> float:
    """The value at `held_peak`, no higher than its higher neighbour."""
    k = held_peak(x)
    if x.size < 3:
        return float(x[k])
    return float(min(x[k], max(x[k - 1] if k else -np.inf, x[k + 1] if k + 1 < x.size else -np.inf)))


def gate_standing(log: Log, channel: Channel) -> tuple[Standing, tuple[str, ...]]:
    """Whether stops of the engine could be gated out of a channel: valid is earned by an engine speed that comes
    at least every `SLOWEST_GATE_S`."""
    if channel.quantity not in GATED or channel.sensor:
        return "valid", ()
    speed = log.find("engine_speed")
    if speed is None or speed.rate_Hz <= 0.0:
        return "not valid", ("no engine speed: what the sensor read with the engine stopped may be in it",)
    every = 1.0 / speed.rate_Hz
    if every > SLOWEST_GATE_S:
        return "not valid", (f"engine speed every {every:.0f} s only: short stops may be in it",)
    return "valid", ()


def spans_of(events: tuple[Event, ...]) -> tuple[tuple[float, float], ...]:
    """Start and end of each event."""
    return tuple((e.start_s, e.end_s) for e in events)


def rise_over_ambient(
    log: Log, quantity: str = "intake_temperature", spans: tuple[tuple[float, float], ...] | None = None
) -> tuple[Figure, Figure]:
    """Mean and highest rise of a channel over ambient, K. Use a cleaned log."""
    channel, ambient = log.need(quantity), log.need("ambient_temperature")
    t, x = pick(channel, spans)
    rise = x - ambient.at(t)
    rise = rise[np.isfinite(rise)]
    if not rise.size:
        raise LogError(
            f"nothing measured of {quantity} there", where=log.path, next_step="choose another span"
        )
    mean = mean_of(rise)
    label = quantity.replace("_", " ")
    standing, notes = gate_standing(log, channel)
    name, where = f"{label} over ambient", ambient.column
    return (
        Figure(f"{name}, mean", mean.value, "K", mean.sd_of_mean, where, standing, notes),
        Figure(f"{name}, highest", held_value(rise), "K", reference=where, standing=standing, notes=notes),
    )


def cooler_effectiveness(
    log: Log,
    spans: tuple[tuple[float, float], ...] | None = None,
    *,
    hot_in: str = "charge_in_temperature",
    hot_out: str = "charge_out_temperature",
    reference: str = "ambient_temperature",
    least_K: float = 20.0,
) -> Figure:
    """ε = (T_in − T_out)/(T_in − T_ref), as the ratio of means over the span; `reference` names the air.

    With ambient as reference the figure is lower than the core's own, because the air reaching the core is
    warmer.
    Not valid where T_in − T_ref is below `least_K`: sensor errors then rule.
    """
    a, b, ref = log.need(hot_in), log.need(hot_out), log.need(reference)
    t, t_in = pick(a, spans)
    t_out, t_ref = b.at(t), ref.at(t)
    ok = np.isfinite(t_out) & np.isfinite(t_ref) & (t_in - t_ref >= least_K)
    note = (f"reference air: {ref.column}",)
    if ok.sum() < 3:
        return Figure(
            "charge cooler effectiveness",
            float("nan"),
            "1",
            reference=ref.column,
            standing="not valid",
            notes=(*note, f"T_in − T_ref never above {least_K:g} K"),
        )
    drop, span = t_in[ok] - t_out[ok], t_in[ok] - t_ref[ok]
    value = float(drop.sum() / span.sum())
    sd = mean_of((drop - value * span) / span.mean()).sd_of_mean
    notes = (
        note if 0 < value <= 1 else (*note, "outside 0..1: are the two sensors swapped, or on other sides?")
    )
    return Figure(
        "charge cooler effectiveness",
        value,
        "1",
        sd,
        ref.column,
        "valid" if 0 < value <= 1 else "not valid",
        notes,
    )


def radiator_drop(
    log: Log,
    spans: tuple[tuple[float, float], ...] | None = None,
    *,
    hot_in: str = "radiator_in_temperature",
    hot_out: str = "radiator_out_temperature",
) -> Figure:
    """Mean fall of the coolant across the radiator, K (also for the oil cooler, by other channels)."""
    a, b = log.need(hot_in), log.need(hot_out)
    t, t_in = pick(a, spans)
    drop = t_in - b.at(t)
    mean = mean_of(drop)
    return Figure(f"{hot_in.split('_')[0]} temperature drop", mean.value, "K", mean.sd_of_mean, b.column)


def heat_from_drop(drop_K: float, flow: float, density: float, cp: float) -> float:
    """Heat [W] = V̇ ρ c_p ΔT; flow [m³/s], density [kg/m³], cp [J/(kg K)]."""
    return flow * density * cp * drop_K


@dataclass(frozen=True)
class Thermostat:
    """Start to open and fully open, K."""

    start: float
    full: float


def limiting_ambient(T_out: float, T_ambient: float, T_allowed: float) -> float:
    """LAT = T_allowed − T_out + T_ambient, all K. SAE J1393: ambient at which the coolant reaches
    T_allowed."""
    return T_allowed - T_out + T_ambient


def air_to_boil(T_out: float, T_ambient: float, T_boil: float) -> float:
    """ATB = T_boil − T_out + T_ambient, all K. SAE J1393; T_boil is 373.15 in its base case, or at cap
    pressure."""
    return T_boil - T_out + T_ambient


def coolant_capability(
    log: Log,
    *,
    T_allowed: float,
    T_boil: float,
    thermostat: Thermostat,
    span: tuple[float, float],
    settled_K_per_min: float = 1.0,
) -> tuple[Figure, Figure]:
    """LAT and ATB (as temperatures, K) at the end of a steady span, with their conditions.

    "Lower bound" while the thermostat still regulates (within 3 K of its range: it would open further in the
    heat). "Not valid" while the coolant still rises (use the settled value of `settle`). 1 K of ambient
    counts as
    1 K of coolant, near the tested ambient only.
    """
    coolant = log.find("radiator_in_temperature") or log.need("coolant_temperature")
    ambient = log.need("ambient_temperature")
    t, x = pick(coolant, (span,))
    if x.size < 10:
        raise LogError(
            "too few coolant samples in the span", where=log.path, got=str(x.size), allowed="at least 10"
        )
    last = t >= t[-1] - 60.0
    T_out, T_amb = float(np.mean(x[last])), float(np.nanmean(ambient.at(t[last])))
    slope = _slope_per_min(t, x, 180.0)
    standing, notes = _coolant_standing(T_out, slope, thermostat, settled_K_per_min)
    lat = limiting_ambient(T_out, T_amb, T_allowed)
    atb = air_to_boil(T_out, T_amb, T_boil)
    where = f"{coolant.column} over {ambient.column}"
    return (
        Figure("limiting ambient temperature", lat, "K", reference=where, standing=standing, notes=notes),
        Figure("air to boil", atb, "K", reference=where, standing=standing, notes=notes),
    )


def _coolant_standing(
    T_out: float, slope: float, thermostat: Thermostat, settled: float
) -> tuple[Standing, tuple[str, ...]]:
    notes: list[str] = ["1 K of ambient counted as 1 K of coolant"]
    if not abs(slope) < settled:
        shown = f"{slope:+.1f}".replace("-", "−")
        notes.append(f"not settled: {shown} K/min over the last 3 min")
    if T_out < thermostat.full + 3.0:
        notes.append("thermostat still regulating or shut: the real figure is at least this")
    if slope >= settled:
        return "not valid", tuple(notes)
    return ("lower bound" if len(notes) > 1 else "valid"), tuple(notes)


def _slope_per_min(t: Floats, x: Floats, last_s: float) -> float:
    keep = t >= t[-1] - last_s
    if keep.sum() < 3 or np.ptp(t[keep]) < 0.5 * last_s:
        return float("nan")
    return float(np.polyfit(t[keep] - t[-1], x[keep], 1)[0] * 60)


def to_ambient(T: float, T_ambient: float, T_ambient_wanted: float, *, heat_ratio: float = 1.0) -> float:
    """Simple correction of a measured temperature to another ambient, K: T_w + (T − T_a) Q*/Q.

    One to one for equal heat. Not for a part behind a thermostat, boiling, radiation or a switched fan:
    re-run
    the model there.
    """
    return T_ambient_wanted + (T - T_ambient) * heat_ratio


def charge_rise_to_ambient(rise_K: float, T_inlet: float, T_inlet_wanted: float) -> float:
    """Rise of charge air at equal pressure ratio and efficiencies scales with the absolute inlet
    temperature."""
    return rise_K * T_inlet_wanted / T_inlet


def soak_peaks(log: Log, soak: Event) -> tuple[Figure, ...]:
    """Highest temperature of each channel after key-off and when, K and s. "Lower bound" if still rising
    at the end."""
    out = []
    for channel in log.channels:
        if channel.si_unit != "K" or channel.quantity in {"unknown", "ambient_temperature"}:
            continue
        t, x = pick(channel, ((soak.start_s, soak.end_s),))
        if x.size < 3:
            continue
        top = held_peak(x)
        open_end = t[top] > t[0] + 0.95 * (t[-1] - t[0])
        standing: Standing = "lower bound" if open_end else "valid"
        notes = ("still rising when the log ends",) if open_end else ()
        name = f"{channel.column}: soak peak"
        out.append(
            Figure(name, held_value(x), "K", reference=channel.quantity, standing=standing, notes=notes)
        )
        out.append(
            Figure(f"{name} after key-off", float(t[top] - soak.start_s), "s", standing=standing, notes=notes)
        )
    return tuple(out)
