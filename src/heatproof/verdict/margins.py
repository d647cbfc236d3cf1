"""Margin of one history against one limit.

The rule. A limit has a continuous temperature C, and may have a short one S with the time t allowed above C.
A history holds when it never passes S, and when the time it spends above C is no longer than t in all. Both
are asked of temperatures, not of times: T(t) is the temperature that the history exceeds for exactly t
seconds in total (an order statistic of the history). Time above C is at most t exactly where T(t) ≤ C. So

    margin = min(S − peak, C − T(t))            with a short limit,
    margin = C − peak                           without one (t = 0, T(0) = peak),

which is how many kelvin the whole history may still rise before the limit is broken. It has no jump where
the peak passes C. A duty shorter than t cannot break the second part. The accepted steps of the integrator
are joined by straight lines, so crossings fall between steps.

A distance to boiling is judged with the limit temperature at every instant: saturation at the junction's own
pressure, less the distance asked for.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from heatproof.kit.records.parts import Limit
from heatproof.network import signals as S
from heatproof.network.engine import RUNNING
from heatproof.network.fluids import density
from heatproof.network.solve import Run
from heatproof.units.results import HIDDEN, K, Shown, degC, s
from heatproof.verdict.judged import Judged

GRAVITY = 9.80665  # m/s2
Rule = Literal["continuous", "short", "boiling"]


@dataclass(frozen=True)
class History:
    """Temperature (K) over time (s): straight lines between rows; `counts` (rows − 1,) says which count."""

    time: np.ndarray
    value: np.ndarray
    counts: np.ndarray

    @property
    def rows(self) -> np.ndarray:
        """Rows that bound a stretch that counts."""
        at = np.zeros(self.time.size, dtype=bool)
        at[:-1] |= self.counts
        at[1:] |= self.counts
        return np.flatnonzero(at)


@dataclass(frozen=True)
class Margin:
    """peak, limit, judged in K; time s of the peak; margin = limit − judged, K.

    rule: which limit decides. judged: what is compared with it: the peak, or for `continuous` beside a short
    limit the temperature exceeded for the allowed time.
    """

    peak: Annotated[float, degC]
    time: Annotated[float, s, Shown(label="When")]
    row: Annotated[int, HIDDEN]
    limit: Annotated[float, degC]
    judged: Annotated[float, degC]
    margin: Annotated[float, K]
    rule: Rule
    over_time: Annotated[float, s, Shown("time_above")] = 0.0
    """s above the continuous limit, in all."""
    allowed_time: Annotated[float, s] = 0.0
    """s allowed above it."""
    ends_over: Annotated[bool, HIDDEN] = False
    """True where the history ends above it."""


def exceeded_for(history: History, seconds: float) -> float:
    """T(t): the temperature exceeded for `seconds` in all (K); −inf where the history is not that long.

    The time above x falls from the whole duration to 0 as x rises; a straight stretch adds dt/(hi − lo) s/K
    between its ends, a level one its dt at once. Summed from the top until `seconds` is reached: exact.
    """
    dt = np.diff(history.time)[history.counts]
    a, b = history.value[:-1][history.counts], history.value[1:][history.counts]
    low, high = np.minimum(a, b), np.maximum(a, b)
    if dt.sum() <= seconds or dt.size == 0:
        return -np.inf
    level = high - low <= 1e-9
    density_ = np.where(level, 0.0, dt / np.where(level, 1.0, high - low))
    x = np.concatenate([high, low])
    slope = np.concatenate([density_, -density_])
    jump = np.concatenate([np.where(level, dt, 0.0), np.zeros_like(dt)])
    order = np.argsort(-x, kind="stable")
    x, slope, jump = x[order], np.cumsum(slope[order]), jump[order]
    drop = np.concatenate([[0.0], -np.diff(x)])
    before = np.concatenate([[0.0], slope[:-1]]) * drop  # s gained on the way down to each knot
    reached = np.cumsum(before + jump)
    k = int(np.searchsorted(reached, seconds, side="left"))
    if k >= x.size:
        return float(x[-1])
    above = reached[k] - jump[k] - before[k]
    gained = seconds - above
    if k == 0 or gained > before[k] or slope[k - 1] <= 0.0:
        return float(x[k])
    return float(x[k - 1] - gained / slope[k - 1])


def time_above(history: History, x: float) -> float:
    """s above x (K), crossings interpolated."""
    dt = np.diff(history.time)[history.counts]
    a, b = history.value[:-1][history.counts] - x, history.value[1:][history.counts] - x
    span = np.abs(a - b)
    crossing = a * b < 0.0
    part = np.where(
        crossing, np.maximum(a, b) / np.where(span > 0.0, span, 1.0), (np.maximum(a, b) > 0.0) * 1.0
    )
    return float((part * dt).sum())


def margin_of(history: History, limit: Limit) -> Margin:
    """The rule above. ValueError where nothing of the history counts or the limit holds no temperature."""
    rows = history.rows
    if rows.size == 0:
        raise ValueError("no part of the history counts")
    row = int(rows[np.argmax(history.value[rows])])
    peak, time = float(history.value[row]), float(history.time[row])
    over = time_above(history, limit.continuous) if limit.continuous is not None else 0.0
    options: list[tuple[float, float, Rule]] = []
    if limit.short is not None:
        options.append((limit.short, peak, "short"))
    if limit.continuous is not None:
        compared = exceeded_for(history, limit.short_time or 0.0) if limit.short is not None else peak
        options.append((limit.continuous, compared, "continuous"))
    if not options:
        raise ValueError("the limit holds no temperature")
    allowed, compared, rule = min(options, key=lambda o: o[0] - o[1])
    ends_over = limit.continuous is not None and bool(history.value[rows[-1]] > limit.continuous)
    margin = allowed - compared
    return Margin(peak, time, row, allowed, compared, margin, rule, over, limit.short_time or 0.0, ends_over)


def boil_margin_of(history: History, allowed: np.ndarray) -> Margin:
    """Worst instant against a limit (K) that moves with pressure; peak and limit are those of that instant."""
    rows = history.rows
    left = allowed[rows] - history.value[rows]
    row = int(rows[np.argmin(left)])
    T, limit = float(history.value[row]), float(allowed[row])
    return Margin(T, float(history.time[row]), row, limit, T, limit - T, "boiling")


# --- from a run -------------------------------------------------------------------------------------------
def counted(run: Run, *, running: bool) -> np.ndarray:
    """(rows − 1,) True for steps that count: all, or those with the engine running."""
    if not running:
        return np.ones(run.time.size - 1, dtype=bool)
    samples = run.duty.samples
    second = np.minimum((run.time[:-1] + 1e-9).astype(int), samples.shape[0] - 1)
    return np.asarray(samples[second, RUNNING] > 0.5)


def history_of(run: Run, part: Judged) -> History:
    """The history of what is judged; of several masses the hottest at every instant."""
    own = [run.network.mass(name) for name in part.masses_in(run.network.masses)]
    value = run.state[:, own[0]] if len(own) == 1 else run.state[:, own].max(axis=1)
    return History(run.time, value, counted(run, running=part.when == "running"))


def hottest_mass(run: Run, part: Judged, row: int) -> str:
    """Which of its masses is hottest at a stored row."""
    return max(part.masses_in(run.network.masses), key=lambda name: run.state[row, run.network.mass(name)])


def saturation_of(run: Run, mass: str) -> np.ndarray:
    """Saturation temperature (K) at every row at the pressure of the junction where this liquid may boil.

    Ambient pressure, expansion tank over ambient, what the flow adds, and the static head below the tank: the
    same sum as in the network's own boiling. KeyError where this mass cannot boil.
    """
    model, around = run.network.model, run.around
    cells = np.flatnonzero(model.boiling["cell"] == run.network.mass(mass))
    if cells.size == 0:
        raise KeyError(mass)
    cell = model.boiling[cells[0]]
    number = int(cell["tank"])
    tank = around.tanks[number]
    fluid = int(tank["fluid"])
    rho = density(fluid, model.liquids[fluid], around.temperature, around.pressure)
    static = rho * GRAVITY * (tank["z"] - cell["z"])
    gauge = run.signal[:, S.SYSTEM_PRESSURE + number]
    p = around.pressure + gauge + run.pressure[:, cell["junction"]] + static
    curve = around.saturation_T[number]
    table = around.saturation_p0 + around.saturation_step * np.arange(curve.size)
    return np.asarray(np.interp(p, table, curve))


def margin_in(run: Run, part: Judged) -> Margin | None:
    """Margin of one judged thing in one run; None where it is never judged (engine off throughout)."""
    history = history_of(run, part)
    if history.rows.size == 0:
        return None
    if part.boil:
        allowed = saturation_of(run, part.mass_in(run.network.masses)) - (part.limit.boil_margin or 0.0)
        return boil_margin_of(history, allowed)
    return margin_of(history, part.limit)


def margins_in(run: Run, parts: tuple[Judged, ...]) -> dict[str, Margin]:
    """Part key to margin, those never judged left out."""
    found = {part.part: margin_in(run, part) for part in parts}
    return {key: margin for key, margin in found.items() if margin is not None}
