"""Coolant warm-up after a cold start and cool-down between two runs, from real logs."""

from dataclasses import dataclass

import numpy as np

from heatproof.logs.reading.records import Log, LogError
from heatproof.logs.reducing.events import Event
from heatproof.logs.reducing.fit import ExponentialFit, better_terms, fit_exponential
from heatproof.logs.reducing.reduce import Figure, pick

LONGEST_GAP_H = 8.0


@dataclass(frozen=True)
class SoakPair:
    """Two consecutive runs with nothing between: end of the first, start of the second."""

    gap_s: float
    T_start: float
    T_end: float
    T_ambient: float
    time_constant_s: float
    low_s: float
    high_s: float
    notes: tuple[str, ...] = ()


def coolant_fit(
    log: Log, start_s: float, end_s: float, *, cooling: bool, resolution_K: float = 1.0
) -> ExponentialFit:
    """One or two exponentials (by information criterion) fitted to the coolant between two times.

    A cool-down ends at ambient (prior, 2 K); a warm-up ends where it will. The warm-up is only an
    exponential for
    steady load and before the thermostat opens: choose the span so.
    """
    coolant = log.need("coolant_temperature")
    inside = coolant.measured & (coolant.time_s >= start_s) & (coolant.time_s <= end_s)
    t, x = coolant.time_s[inside], coolant.values[inside]
    prior = None
    if cooling and (ambient := log.find("ambient_temperature")) is not None:
        level = ambient.at(t)
        prior = (float(np.nanmean(level)), 2.0) if np.isfinite(level).any() else None
    one = fit_exponential(t, x, terms=1, T_end=prior, resolution_K=resolution_K)
    if x.size < 60:
        return one
    two = fit_exponential(t, x, terms=2, T_end=prior, resolution_K=resolution_K)
    return two if better_terms(one, two, min(x.size, 4000)) == 2 else one


def cooling_constant(log: Log, soak: Event) -> tuple[Figure, ...]:
    """Time constant of the coolant after key-off, s, from its highest reading to the end of the rest.

    "Not valid" where the log ends before it can be told. LogError where there is too little to fit. Use a cleaned log.
    """
    coolant, ambient = log.need("coolant_temperature"), log.find("ambient_temperature")
    t, x = pick(coolant, ((soak.start_s, soak.end_s),))
    if x.size < 10:
        raise LogError("too few samples to fit", where=log.path, got=str(x.size), allowed="at least 10")
    fit = coolant_fit(log, float(t[np.argmax(x)]), soak.end_s, cooling=True)
    slowest = fit.time_constants[-1]
    notes: tuple[str, ...] = ("the slower of two",) if fit.terms == 2 else ()
    notes += ("down to ambient",) if ambient is not None else ("down to a fitted end: ambient not measured",)
    return (
        Figure(
            f"{coolant.column}: time constant of cooling after key-off",
            slowest.value,
            "s",
            slowest.sd,
            ambient.column if ambient is not None else "",
            "valid" if fit.determined else "not valid",
            (*notes, *fit.notes),
        ),
    )


def soak_pair(
    T_start: float,
    T_end: float,
    T_ambient: float,
    gap_s: float,
    *,
    reading_sd_K: float = 1.0,
    ambient_sd_K: float = 2.0,
) -> SoakPair:
    """Single time constant from two readings, τ = gap / ln((T_s − T_a)/(T_e − T_a)), with a 95 % interval.

    Interval by first-order propagation of ln τ. Raises LogError when the second reading is not between the
    first
    and ambient. Gaps above 8 h are noted: an unlogged run may hide in them.
    """
    if gap_s <= 0 or not T_ambient < T_end < T_start:
        raise LogError(
            "not a cool-down",
            got=f"{T_start:.1f} K to {T_end:.1f} K at {T_ambient:.1f} K in {gap_s:.0f} s",
            allowed="T_ambient < T_end < T_start, gap above 0",
        )
    a, b = T_start - T_ambient, T_end - T_ambient
    log_ratio = np.log(a / b)
    tau = gap_s / log_ratio
    by_ambient = abs(1 / b - 1 / a) * ambient_sd_K
    sd = float(np.sqrt((reading_sd_K / a) ** 2 + (reading_sd_K / b) ** 2 + by_ambient**2)) / log_ratio
    reach = float(np.exp(min(1.96 * sd, 20.0)))
    notes = ("longer than 8 h: an unlogged run may hide in the gap",) if gap_s > LONGEST_GAP_H * 3600 else ()
    return SoakPair(
        gap_s, T_start, T_end, T_ambient, float(tau), float(tau / reach), float(tau * reach), notes
    )


def pair_of_logs(
    first: Log, second: Log, *, reading_sd_K: float = 1.0, ambient_sd_K: float = 2.0
) -> SoakPair:
    """Soak between two logs that both know their date; LogError if either does not."""
    if first.start is None or second.start is None:
        raise LogError(
            "the gap needs dates in both logs",
            where=f"{first.path} and {second.path}",
            next_step="give the gap by hand to soak_pair",
        )
    gap = (second.start - first.start).total_seconds() - first.span_s[1]
    a, b = first.need("coolant_temperature"), second.need("coolant_temperature")
    ambient = second.find("ambient_temperature") or first.need("ambient_temperature")
    return soak_pair(
        float(a.values[a.measured][-1]),
        float(b.values[b.measured][0]),
        float(np.nanmedian(ambient.values[:60])),
        gap,
        reading_sd_K=reading_sd_K,
        ambient_sd_K=ambient_sd_K,
    )
