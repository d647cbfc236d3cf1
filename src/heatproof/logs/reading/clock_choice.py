"""Which of several columns of numbers is the clock: the evidence for each, and why one won.

A name alone misleads: an engine computer also counts minutes since its fault memory was cleared, and run time
with the warning lamp on. Each candidate is asked what the drive would look like if it were the clock.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.logs.reading.records import Floats, LogFinding

RISING = 0.98
"""Least share of steps that do not run back."""
RATE_HZ = (0.01, 5000.0)
LONGEST_S = 48 * 3600.0
HARDEST_M_S2 = 12.0
"""Harder than a road car brakes or pulls, as the 95th percentile of a drive; common practice, no source."""
COUNTS_EVENTS = re.compile(
    r"since|clear|codes|\bmil\b|lamp|warm.?ups|fault|trouble|dtc|trip|remaining|interval", re.I
)


@dataclass(frozen=True, eq=False)
class ClockCandidate:
    """One column. `seconds` is NaN where unreadable; the marks say what speaks for and against it."""

    index: int
    column: str
    seconds: Floats
    rising: bool
    rate_Hz: float
    length_s: float
    stamps: int
    drivable: bool
    counts_events: bool
    run_time: bool

    @property
    def plausible(self) -> bool:
        """Whether a drive could have this clock."""
        return (
            self.rising
            and RATE_HZ[0] <= self.rate_Hz <= RATE_HZ[1]
            and self.length_s <= LONGEST_S
            and self.drivable
        )

    @property
    def standing(self) -> tuple[bool, bool, bool, int, bool]:
        """Larger is better: plausible, in order, no count of another event, how finely it ticks, not the engine's."""
        ticks = round(2 * np.log10(max(self.stamps, 1)))
        return self.plausible, self.rising, not self.counts_events, ticks, not self.run_time

    def against(self) -> str:
        """What speaks against it, in words; empty when nothing does."""
        reasons = []
        if not self.rising:
            reasons.append("does not rise" if self.stamps < 2 else "runs back")
        if self.counts_events:
            reasons.append("its name counts from another event")
        if not self.drivable:
            reasons.append("the speed would change faster than a car can")
        if self.stamps >= 2 and not RATE_HZ[0] <= self.rate_Hz <= RATE_HZ[1]:
            reasons.append(f"{self.rate_Hz:.3g} rows a second")
        return ", ".join(reasons) or f"{self.stamps} different stamps only"


def counts_another_event(column: str) -> bool:
    """Whether a name says that the count began with something else than the run."""
    return bool(COUNTS_EVENTS.search(column.replace("_", " ")))


def weigh_clock(
    index: int, column: str, seconds: Floats, speed_m_s: Floats | None, *, run_time: bool
) -> ClockCandidate:
    """The evidence for one column as the clock. seconds, speed_m_s: (rows,); NaN where not measured."""
    good = seconds[np.isfinite(seconds)]
    steps = np.diff(good)
    rising = good.size > 1 and bool(np.mean(steps >= 0) >= RISING) and good[-1] > good[0]
    length = float(good.max() - good.min()) if good.size else 0.0
    return ClockCandidate(
        index=index,
        column=column,
        seconds=seconds,
        rising=rising,
        rate_Hz=good.size / length if length > 0 else 0.0,
        length_s=length,
        stamps=int(np.unique(good).size),
        drivable=speed_m_s is None or _drivable(seconds, speed_m_s),
        counts_events=counts_another_event(column),
        run_time=run_time,
    )


def choose_clock(candidates: Sequence[ClockCandidate], where: str) -> tuple[ClockCandidate, list[LogFinding]]:
    """The best of at least one candidate, and a finding that names its competitors and what spoke against them."""
    ranked = sorted(candidates, key=lambda c: c.standing, reverse=True)
    best = ranked[0]
    findings = []
    if len(ranked) > 1:
        rest = "; ".join(f"not {c.column!r}: {c.against()}" for c in ranked[1:5])
        findings.append(
            LogFinding(
                "warning",
                f"clock taken from {best.column!r}, {best.length_s:.0f} s at {best.rate_Hz:.3g} rows a second",
                where,
                rest,
                "name another with `time:` in the channel map",
            )
        )
    elif not best.plausible and best.rising:
        findings.append(
            LogFinding(
                "warning", f"clock {best.column!r} is doubtful", where, best.against(), "state its unit"
            )
        )
    return best, findings


def _drivable(seconds: Floats, speed: Floats) -> bool:
    """Whether the speed, taken once for each second of this clock, changes no faster than a car can. Means
    of each second are compared, so that a staircase of whole km/h passes."""
    ok = np.isfinite(seconds) & np.isfinite(speed)
    if ok.sum() < 20:
        return True
    t, v = seconds[ok] - seconds[ok].min(), speed[ok]
    if not 0.0 < t.max() < 1e7:
        return True
    number = t.astype(np.intp)
    used, place = np.unique(number, return_inverse=True)
    mean = np.bincount(place, v) / np.bincount(place)
    beside = np.diff(used) == 1
    if beside.sum() < 5:
        return True
    change = np.abs(np.diff(mean))[beside]
    return float(np.percentile(change, 95)) < HARDEST_M_S2
