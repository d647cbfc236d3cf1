"""From counted rays to view factors that close: reciprocity and row sums hold to rounding.

Counts i → j and j → i estimate the same exchange area X = A_i F_ij = A_j F_ji; both are pooled, each weighted
by the inverse of its variance. Then the smallest change, weighted by each entry's variance, makes every row
sum to its area (least squares with Lagrange multipliers).

Variances follow the law of evenly spread points: of the N cells of a spread in d dimensions that make up a
region, only the N^(1 − 1/d) or so that its edge cuts are uncertain, and a count varies by as much, not by N.
Here d = 4: two for the place, two for the direction. Measured: true over stated error 0.9 to 1.1 r.m.s. in
three scenes, 512 to 131,072 rays a patch. Rates that are proven, somewhat slower for the least favourable
edges: He and Wang (2015), SIAM Journal on Numerical Analysis 53(5) (from memory).
"""

import numpy as np

from heatproof.shapes.placement import Floats

DIMENSIONS = 4
# Of the law above, fitted to one bay of 4 million rays; it only shares out weights. Few rays vary as plain ones.
EDGE = 2.2
ROUNDS = 20
CLOSED = 2e-14  # of the row's own area


def pooled(counts: Floats, areas: Floats) -> tuple[Floats, Floats]:
    """Exchange areas (n, n + 1) m2 and their variances m4.

    `counts` (n, n + 1): rays from patch i that met patch j; last column: the surroundings. The surroundings
    send no rays, so their column is used as counted.
    """
    n = len(areas)
    density = (counts.sum(axis=1) / areas)[:, None]
    exchange = counts / density
    # What both ways together expect to count: a variance from the own count alone would favour low counts.
    both = (counts[:, :n] + counts[:, :n].T) / (density + density.T)
    expected = np.concatenate([both, exchange[:, n:]], axis=1) * density
    variance = count_variance(expected, counts.sum(axis=1, keepdims=True)) / density**2
    weight = 1.0 / variance[:, :n]
    total = weight + weight.T
    exchange[:, :n] = (weight * exchange[:, :n] + weight.T * exchange[:, :n].T) / total
    variance[:, :n] = 1.0 / total
    return exchange, variance


def count_variance(count: Floats, sent: Floats) -> Floats:
    """Variance of a count of rays out of `sent`, at least that of one ray."""
    few = np.maximum(count, 1.0)
    spread = np.minimum(few, EDGE * few ** (1.0 - 1.0 / DIMENSIONS))
    return np.asarray(spread * np.maximum(1.0 - count / sent, 1.0 / sent))


def error_of_mean(blocks: Floats) -> Floats:
    """One standard error of what all rays tell, from what each block of them tells (blocks on the first axis).

    Blocks fill each other's gaps, so all together err less than independent ones would. With
    V(n) ∝ n^−(1 + 1/d), B blocks and their variance s² about the mean: s² = V(n/B) − V(n).
    """
    gain = len(blocks) ** (1.0 + 1.0 / DIMENSIONS) - 1.0
    return np.asarray(blocks.std(axis=0) / np.sqrt(gain))


def closed(exchange: Floats, variance: Floats, areas: Floats) -> Floats:
    """Exchange areas (n, n + 1) m2, symmetric, none negative, each row summing to its area.

    Entry (i, j) changes by variance_ij (λ_i + λ_j); entries without a ray stay zero.
    """
    n = len(areas)
    result = exchange.copy()
    for _ in range(ROUNDS):
        gap = areas - result.sum(axis=1)
        if (np.abs(gap) <= CLOSED * areas).all():
            break
        weight = np.where(result > 0.0, variance, 0.0)
        square = weight[:, :n]
        system = square + np.diag(weight.sum(axis=1))
        # Where two groups see only each other the multipliers are free in one direction: least squares.
        factor = np.linalg.lstsq(system, gap, rcond=1e-13)[0]
        result[:, :n] += square * np.add.outer(factor, factor)
        result[:, n] += weight[:, n] * factor
        np.maximum(result, 0.0, out=result)
    return result
