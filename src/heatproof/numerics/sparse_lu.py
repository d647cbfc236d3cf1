"""Sparse LU without pivoting on a fixed pattern: ordered once, factored many times inside compiled code.

The pattern is structurally symmetric and holds every entry that may ever occur; the matrix is expected to be
close to diagonally dominant (implicit steps of heat networks are), so no pivoting is needed.
"""

from typing import NamedTuple

import numpy as np

from heatproof.numerics.compiled import compiled


class LUPattern(NamedTuple):
    """Where the non-zeros of L + U stand, in elimination order.

    slot[r, c] is the place of entry (r, c), in the caller's numbering, in the value array; entries outside
    the pattern share the last place, which a caller may check to have stayed zero. The others are unsigned: a kernel
    need not ask of each whether it counts from the end (half the time of a factorisation).
    """

    order: np.ndarray  # (n,) caller's row standing at each elimination place
    start: np.ndarray  # (n + 1,) first slot of each eliminated row
    column: np.ndarray  # (nnz,) elimination place of each slot's column, ascending in a row
    diagonal: np.ndarray  # (n,) slot of the diagonal
    slot: np.ndarray  # (n, n) int32


def minimum_degree(neighbours: list[set[int]]) -> tuple[list[int], list[set[int]]]:
    """Greedy minimum-degree elimination.

    Returns the order and, for each eliminated unknown, the neighbours it had when eliminated (its fill row).
    """
    graph = [set(s) for s in neighbours]
    left = set(range(len(graph)))
    order, rows = [], []
    while left:
        pivot = min(left, key=lambda i: (len(graph[i]), i))
        ring = graph[pivot]
        for i in ring:
            graph[i] |= ring
            graph[i] -= {i, pivot}
        left.remove(pivot)
        order.append(pivot)
        rows.append(set(ring))
    return order, rows


def lu_pattern(size: int, entries: set[tuple[int, int]]) -> LUPattern:
    """Order and fill of a size × size matrix whose non-zeros may stand at `entries` (made symmetric here)."""
    neighbours: list[set[int]] = [set() for _ in range(size)]
    for r, c in entries:
        if r != c:
            neighbours[r].add(c)
            neighbours[c].add(r)
    order, rows = minimum_degree(neighbours)
    place = np.empty(size, dtype=np.int64)
    place[order] = np.arange(size)
    columns: list[set[int]] = [{i} for i in range(size)]
    for i, ring in enumerate(rows):
        for j in place[list(ring)] if ring else ():
            columns[i].add(int(j))
            columns[int(j)].add(i)
    start = np.zeros(size + 1, dtype=np.int64)
    start[1:] = np.cumsum([len(c) for c in columns])
    column = (
        np.concatenate([np.sort(np.fromiter(c, np.int64)) for c in columns])
        if size
        else np.empty(0, np.int64)
    )
    slot = np.full((size, size), start[-1], dtype=np.int32)
    diagonal = np.empty(size, dtype=np.int64)
    for i in range(size):
        for k in range(start[i], start[i + 1]):
            slot[order[i], order[column[k]]] = k
            if column[k] == i:
                diagonal[i] = k
    return LUPattern(
        order=np.array(order, dtype=np.uint64),
        start=start.astype(np.uint64),
        column=column.astype(np.uint64),
        diagonal=diagonal.astype(np.uint64),
        slot=slot,
    )


ONE_PLACE = np.uint64(1)  # a signed and an unsigned integer add to a float


@compiled
def lu_factor(pattern, value, work):
    """Factor in place: value (nnz + 1,) holds the matrix and then L (unit diagonal left out) and U.

    work (n,) is scratch and must be zero; it is zero again on return. Returns False on a zero pivot.
    """
    start, column, diagonal = pattern.start, pattern.column, pattern.diagonal
    for i in range(diagonal.size):
        first, last, middle = start[i], start[i + 1], diagonal[i]
        for k in range(first, last):
            work[column[k]] = value[k]
        for k in range(first, middle):
            c = column[k]
            factor = work[c]
            if factor != 0.0:
                factor /= value[diagonal[c]]
                work[c] = factor
                for q in range(diagonal[c] + ONE_PLACE, start[c + ONE_PLACE]):
                    work[column[q]] -= factor * value[q]
        for k in range(first, last):
            value[k] = work[column[k]]
            work[column[k]] = 0.0
        if value[middle] == 0.0 or not np.isfinite(value[middle]):
            return False
    return True


@compiled
def lu_solve(pattern, value, right, work):
    """Solve in place: right (n,) in the caller's numbering becomes the solution; work (n,) is scratch."""
    start, column, diagonal, order = pattern.start, pattern.column, pattern.diagonal, pattern.order
    n = order.size
    for i in range(n):
        s = right[order[i]]
        for k in range(start[i], diagonal[i]):
            s -= value[k] * work[column[k]]
        work[i] = s
    for back in range(n):
        i = n - 1 - back
        s = work[i]
        for k in range(diagonal[i] + ONE_PLACE, start[i + 1]):
            s -= value[k] * work[column[k]]
        work[i] = s / value[diagonal[i]]
    for i in range(n):
        right[order[i]] = work[i]
    for i in range(n):
        work[i] = 0.0
