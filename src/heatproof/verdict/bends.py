"""Where first order does not do: a value that switches something moves a margin by a jump, not along a line.

Moved by one standard deviation, a value that opens a thermostat or turns a natural circulation round looks like a
slope of the whole jump, and several that tip the same jump add up. So, for every margin its first-order spread leaves
in doubt, the values that make up most of it are moved to the other side too. Where both sides differ the straight line is
given up: the duty is run with all uncertain values drawn at once, and the spread of that margin is read from the draws, so
that its band crosses 0 just where fewer of them hold than the confidence asks for.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from heatproof.numerics.at_once import at_once
from heatproof.verdict.spread_runs import Key, Margins, NotRun, Runs
from heatproof.verdict.uncertain import drawn, draws

DOUBTFUL = 3.0  # standard deviations between a margin and 0
LEAST = 1.0  # K of standard deviation that is worth looking into
LARGE = 0.25  # of a margin's standard deviation, by one value
BENT = 0.5  # of the steeper side, between both sides
DRAWS = 100


@dataclass(frozen=True)
class Bends:
    """bent (margins, values): which pairs are no straight line. slope: K per standard deviation by both sides there.
    sd: standard deviation (K) that draws give the margins concerned."""

    bent: np.ndarray
    slope: np.ndarray
    sd: Mapping[Key, float]


def no_bends(change: np.ndarray) -> Bends:
    """Everything straight."""
    return Bends(np.zeros(change.shape, dtype=bool), change, {})


def find_bends(
    runs: Runs,
    keys: Sequence[Key],
    paths: Sequence[str],
    change: np.ndarray,
    sds: np.ndarray,
    group: np.ndarray,
) -> Bends:
    """change (margins, values): K per standard deviation, each moved to one side. sds (margins,): what follows, K."""
    large = (np.abs(change) >= LARGE * sds[:, None]) & in_doubt(runs.start, keys, sds)[:, None]
    if not large.any():
        return no_bends(change)
    others = other_sides(runs, keys, paths, large)
    bent, slope = np.zeros(change.shape, dtype=bool), change.copy()
    for (k, i), other in others.items():
        here = change[k, i]
        if abs(other - here) > BENT * max(abs(other), abs(here)):
            bent[k, i], slope[k, i] = True, 0.5 * (here + other)
    concerned = [k for k in range(len(keys)) if bent[k].any()]
    straight = straight_sds(np.where(bent, 0.0, change), group)
    found = {}
    for duty, margins in drawn_margins(runs, {keys[k][1] for k in concerned}).items():
        for k in concerned:
            if keys[k][1] == duty:
                values = np.array([one.get(keys[k], -np.inf) for one in margins])
                sd = sd_of_draws(values, runs.start[keys[k]], runs.variant.confidence, float(straight[k]))
                found[keys[k]] = sd if np.isfinite(sd) else float(sds[k])
    return Bends(bent, slope, found)


def in_doubt(start: Margins, keys: Sequence[Key], sds: np.ndarray) -> np.ndarray:
    """(margins,) whether the spread decides what is said of a margin; one that is past its limit is over anyway."""
    margins = np.array([start[key] for key in keys])
    return np.asarray((sds >= LEAST) & (margins > 0.0) & (margins <= DOUBTFUL * sds))


def straight_sds(change: np.ndarray, group: np.ndarray) -> np.ndarray:
    """(margins,) K: values of one group add, groups are independent."""
    total = np.zeros(change.shape[0])
    for g in np.unique(group):
        total += change[:, group == g].sum(axis=1) ** 2
    return np.asarray(np.sqrt(total))


def other_sides(
    runs: Runs, keys: Sequence[Key], paths: Sequence[str], large: np.ndarray
) -> dict[tuple[int, int], float]:
    """(margin, value) to K per standard deviation on the side not tried yet, where there is one that can be run."""
    wanted: dict[int, set[str]] = defaultdict(set)
    for k, i in zip(*np.nonzero(large), strict=True):
        wanted[int(i)].add(keys[int(k)][1])
    sides = at_once(lambda i: runs.other_side(paths[i], sorted(wanted[i])), wanted, runs.jobs)
    found = {}
    for i, side in zip(wanted, sides, strict=True):
        for k in np.flatnonzero(large[:, i]):
            if side is not None and keys[int(k)] in side:
                found[int(k), i] = side[keys[int(k)]]
    return found


def drawn_margins(runs: Runs, duties: Iterable[str]) -> dict[str, list[Margins]]:
    """Margins of every draw, duty by duty; empty for a draw that cannot be run."""
    paths, z = draws(runs.variant, DRAWS)

    def margins_of(task: tuple[str, np.ndarray]) -> Margins:
        duty, row = task
        try:
            return runs.margins(drawn(runs.variant, paths, row), [duty], runs.pace)
        except NotRun:
            return Margins()

    tasks = [(duty, row) for duty in sorted(duties) for row in z]
    found: dict[str, list[Margins]] = defaultdict(list)
    for (duty, _), margin in zip(tasks, at_once(margins_of, tasks, runs.jobs), strict=True):
        found[duty].append(margin)
    return found


def sd_of_draws(values: np.ndarray, margin: float, required: float, least: float) -> float:
    """K: the standard deviation at which a band of the required confidence ends where the draws say.

    values (draws,): K, −∞ where not solved. Looks towards 0, on the side on which it could change what is said. least: what
    the straight values alone give.
    """
    if margin > 0.0:
        half = margin - float(np.quantile(values, 1.0 - required, method="lower"))
    else:
        half = float(np.quantile(values, required, method="higher")) - margin
    return max(half / float(ndtri(required)), least)
