"""From counted rays to view factors that close: reciprocity and row sums hold to rounding.

Counts i → j and j → i estimate the same exchange area X = A_i F_ij = A_j F_ji; both are pooled, weighted by
rays per area. Then the smallest change, weighted by each entry's ray noise, makes every row sum to its area
(least squares with Lagrange multipliers).
"""

import numpy as np

from heatproof.shapes.placement import Floats

ROUNDS = 20
CLOSED = 2e-14  # of the row's own area


def pooled(counts: Floats, areas: Floats) -> tuple[Floats, Floats]:
    """Exchange areas (n, n + 1) m2 and their noise variances up to a common factor.

    `counts` (n, n + 1): rays from patch i that met patch j; last column: the surroundings. The surroundings
    send no rays, so their column is used as counted.
    """
    n = len(areas)
    density = counts.sum(axis=1) / areas
    both = np.add.outer(density, density)
    exchange = np.empty_like(counts)
    exchange[:, :n] = (counts[:, :n] + counts[:, :n].T) / both
    exchange[:, n] = counts[:, n] / density
    variance = np.empty_like(exchange)
    variance[:, :n] = exchange[:, :n] / both
    variance[:, n] = exchange[:, n] / density
    return exchange, variance


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
