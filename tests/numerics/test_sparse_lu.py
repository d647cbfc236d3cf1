"""Sparse LU against scipy.sparse on random diagonally dominant matrices of symmetric pattern."""

import numpy as np
import pytest
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from hypothesis import given, settings
from hypothesis import strategies as st

from heatproof.numerics.sparse_lu import lu_factor, lu_pattern, lu_solve, minimum_degree


def random_matrix(seed: int, size: int, density: float) -> np.ndarray:
    """Unsymmetric values on a symmetric pattern, rows diagonally dominant."""
    rng = np.random.default_rng(seed)
    stands = rng.random((size, size)) < density
    A = np.where(stands | stands.T, rng.normal(0.0, 1.0, (size, size)), 0.0)
    np.fill_diagonal(A, 0.0)
    np.fill_diagonal(A, np.abs(A).sum(axis=1) + rng.uniform(0.01, 2.0, size))
    return A


def in_slots(pattern, A: np.ndarray) -> np.ndarray:
    value = np.zeros(pattern.column.size + 1)
    for r, c in zip(*np.nonzero(A), strict=True):
        value[pattern.slot[r, c]] += A[r, c]
    return value


def entries(A: np.ndarray) -> set[tuple[int, int]]:
    return {(int(r), int(c)) for r, c in zip(*np.nonzero(A), strict=True)}


cases = given(seed=st.integers(0, 10**6), size=st.integers(1, 60), density=st.floats(0.0, 0.3))


@cases
@settings(max_examples=60, deadline=None)
def test_solution_equals_the_library(seed, size, density):
    A = random_matrix(seed, size, density)
    pattern = lu_pattern(size, entries(A))
    value, work = in_slots(pattern, A), np.zeros(size)
    assert lu_factor(pattern, value, work)
    right = np.random.default_rng(seed + 1).normal(0.0, 1.0, size)
    expected = spla.spsolve(sp.csc_matrix(A), right)
    x = right.copy()
    lu_solve(pattern, value, x, work)
    np.testing.assert_allclose(x, expected, rtol=1e-9, atol=1e-12 * np.abs(expected).max())
    assert not work.any(), "scratch comes back zero"
    assert value[-1] == 0.0, "nothing was written outside the pattern"


@cases
@settings(max_examples=60, deadline=None)
def test_factors_multiply_to_the_matrix(seed, size, density):
    A = random_matrix(seed, size, density)
    pattern = lu_pattern(size, entries(A))
    value = in_slots(pattern, A)
    lu_factor(pattern, value, np.zeros(size))
    L, U = np.eye(size), np.zeros((size, size))
    for i in range(size):
        for k in range(pattern.start[i], pattern.start[i + 1]):
            c = pattern.column[k]
            if c < i:
                L[i, c] = value[k]
            else:
                U[i, c] = value[k]
    np.testing.assert_allclose(L @ U, A[np.ix_(pattern.order, pattern.order)], atol=1e-11)


@cases
@settings(max_examples=60, deadline=None)
def test_minimum_degree_is_a_permutation_and_its_rows_are_the_fill(seed, size, density):
    A = random_matrix(seed, size, density)
    neighbours = [{c for c in range(size) if c != r and A[r, c] != 0.0} for r in range(size)]
    order, rows = minimum_degree(neighbours)
    assert sorted(order) == list(range(size))
    # Symbolic elimination by a dense boolean product gives the same fill.
    pattern = (A != 0.0)[np.ix_(order, order)]
    place = {unknown: i for i, unknown in enumerate(order)}
    for i in range(size):
        below = np.flatnonzero(pattern[i + 1 :, i]) + i + 1
        assert set(below) == {place[j] for j in rows[i]}
        pattern[np.ix_(below, below)] = True


def test_entry_outside_the_pattern_lands_in_the_last_place():
    pattern = lu_pattern(3, {(0, 1)})
    last = pattern.column.size
    assert pattern.slot[0, 2] == last
    assert pattern.slot[2, 1] == last
    inside = {pattern.slot[r, c] for r, c in ((0, 0), (1, 1), (2, 2), (0, 1), (1, 0))}
    assert len(inside) == 5
    assert last not in inside


@pytest.mark.parametrize("bad", [0.0, np.inf, np.nan])
def test_a_pivot_of_no_use_is_said(bad):
    pattern = lu_pattern(2, set())
    value = np.array([bad, 1.0, 0.0])
    assert not lu_factor(pattern, value, np.zeros(2))


def test_arrow_matrix_has_no_fill():
    """The hub goes last: a star of n unknowns needs n + 2 (n - 1) places (elimination theory, George & Liu)."""
    n = 40
    pattern = lu_pattern(n, {(0, i) for i in range(1, n)})
    assert pattern.column.size == n + 2 * (n - 1)
