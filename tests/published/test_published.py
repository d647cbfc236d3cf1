"""Runs every published check value: one TOML file per source group, one generic runner.

A file names its citation, how the numbers were obtained, their grade and the source of each function's values; a
case names the function, its inputs, what is expected, the tolerance with its reason, and a mark that says where
the value comes from.
"""

import numpy as np
import pytest
from cases import MARKS, Case, cases

ALL = [pytest.param(case, id=f"{case.file}: {case.case['id']}") for case in cases()]


@pytest.mark.parametrize("case", ALL)
def test_published(case: Case) -> None:
    got = case.got()
    assert got.shape == case.expected.shape
    error = np.abs(got - case.expected)
    assert np.all(error <= case.allowed), (
        f"{case.case['id']}: got {got}, expected {case.expected} within {case.allowed}; {case.source}"
    )


@pytest.mark.parametrize("case", ALL)
def test_case_says_where_its_value_comes_from(case: Case) -> None:
    assert case.group["citation"]
    assert case.group["obtained"]
    assert case.case["mark"] in MARKS
    assert case.case["why"]
    assert case.source
    assert np.all(case.allowed > 0.0)
