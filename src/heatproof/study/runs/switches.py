"""What switches in a run: fans, thermostats, boiling. Where these differ between draws, straight lines fail."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.network import signals as S

Facts = dict[str, float]
"""`fan NAME` and `thermostat NAME`: share of the drive (engine on) in which it turns or is fully open;
`boiling`: J of vapour."""
TURNS, FULLY_OPEN = 0.05, 0.98
LEAST_VAPOUR = 100.0  # J; less is the rounding of a step that ends at saturation
FELT_SHARE = 0.05  # of the drive; a switch that differs by less between draws explains nothing
FELT_CORRELATION = 0.3


def switch_facts(solved: Solved) -> Facts:
    """Of one run."""
    run = solved.run
    n, network = len(run.network.masses), run.network
    dt = np.diff(run.time) * (run.signal[:-1, S.ENGINE_ON] > 0.5)
    drive = max(float(dt.sum()), 1e-9)
    found = {}
    for k, name in enumerate(network.lifts):
        found[f"thermostat {name}"] = float(dt @ (run.state[:-1, n + k] > FULLY_OPEN)) / drive
    for k, name in enumerate(network.fans):
        found[f"fan {name}"] = float(dt @ (run.state[:-1, n + len(network.lifts) + k] > TURNS)) / drive
    vapour = float(np.diff(run.time) @ run.boiled[:-1].sum(axis=1)) if run.boiled.size else 0.0
    return found | {"boiling": vapour}


@dataclass(frozen=True)
class Reason:
    """name: of a fact; low, high: 5 % and 95 % of the draws; share: of draws in which it happens at all;
    correlation: with what the straight line misses."""

    name: str
    low: float
    high: float
    share: float
    correlation: float


def reasons(missed: np.ndarray, facts: Sequence[Facts]) -> tuple[Reason, ...]:
    """Switches that differ between draws and go with what first order misses (K, one a draw); most first."""
    found = []
    for name in dict.fromkeys(key for one in facts for key in one):
        values = np.array([one.get(name, 0.0) for one in facts])
        happens = values > (LEAST_VAPOUR if name == "boiling" else 0.0)
        low, high = np.quantile(values, [0.05, 0.95])
        differs = 0.02 < happens.mean() < 0.98 if name == "boiling" else high - low > FELT_SHARE
        if name == "boiling" and low > LEAST_VAPOUR and high > 1.2 * low:
            differs = True  # boils always, but not as much
        r = correlation(missed, values)
        if differs and abs(r) >= FELT_CORRELATION:
            found.append(Reason(name, float(low), float(high), float(happens.mean()), r))
    return tuple(sorted(found, key=lambda one: -abs(one.correlation)))


def correlation(a: np.ndarray, b: np.ndarray) -> float:
    """Of ranks, so that a jump counts as well as a slope; 0 where either does not vary."""
    if a.size < 3 or np.ptp(a) == 0.0 or np.ptp(b) == 0.0:
        return 0.0
    from scipy.stats import spearmanr

    straight = float(spearmanr(a, b).statistic)
    bent = float(spearmanr(np.abs(a - np.median(a)), np.abs(b - np.median(b))).statistic)
    return straight if abs(straight) >= abs(bent) else bent


def reason_text(reason: Reason) -> str:
    """`coolant boils in 34 % of the draws`; `fan main turns 12 % to 80 % of the drive`."""
    if reason.name == "boiling":
        if reason.share > 0.98:
            return f"coolant boils, {reason.low / 1e3:.0f} to {reason.high / 1e3:.0f} kJ"
        return f"coolant boils in {100 * reason.share:.0f} % of the draws"
    does = "turns" if reason.name.startswith("fan ") else "is fully open"
    return f"{reason.name} {does} {100 * reason.low:.0f} to {100 * reason.high:.0f} % of the drive"


def facts_of(outcomes: Sequence[Mapping[str, Facts]], duty: str) -> list[Facts]:
    """Facts of every draw in one duty."""
    return [one.get(duty, {}) for one in outcomes]
