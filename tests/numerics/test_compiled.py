"""Kernels that only kernels call: reached from compiled code, refused from Python, which has no way into them."""

import numpy as np
import pytest

from heatproof.numerics.compiled import compiled, compiled_inner


@compiled_inner
def doubled(values):
    for i in range(values.size):
        values[i] *= 2.0


@compiled_inner
def makes_an_array(n):
    return np.zeros(n)


@compiled
def doubled_twice(values):
    doubled(values)
    doubled(values)


@compiled
def asks_for_an_array(n):
    return makes_an_array(n)


def test_an_inner_kernel_runs_inside_a_kernel_and_nowhere_else():
    """Was: a call from Python never came back, once a kernel had compiled the function."""
    for _ in range(2):
        with pytest.raises(TypeError, match="doubled runs inside compiled functions only"):
            doubled(np.ones(2))
        values = np.ones(2)
        doubled_twice(values)
        np.testing.assert_array_equal(values, [4.0, 4.0])


def test_an_inner_kernel_may_make_no_array():
    with pytest.raises(Exception, match="returning of array"):
        asks_for_an_array(3)
