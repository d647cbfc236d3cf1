"""Runs every published check value: one TOML file per source group, one generic runner.

A file names its citation, how the numbers were obtained and their grade; a case names the function, its
inputs, what
is expected, the tolerance with its reason, and a mark that says where the value comes from.
"""

import importlib
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

HERE = Path(__file__).parent
MARKS = {"published", "library", "theory", "common practice, no source", "from memory"}
# Everything else is passed as a float, so that one compiled version serves all cases.
INTEGERS = {"arrangement", "orientation", "cylinders", "passes", "tolerance_class", "lines", "index"}


def cases() -> Iterator[Any]:
    for path in sorted(HERE.glob("*.toml")):
        group = tomllib.loads(path.read_text(encoding="utf-8"))
        for case in group["case"]:
            yield pytest.param(group, case, id=f"{path.stem}: {case['id']}")


def resolve(call: str) -> Any:
    module, name = call.split(":")
    found: Any = importlib.import_module(module)
    for part in name.split("."):
        found = getattr(found, part)
    return found


def argument(name: str, value: Any) -> Any:
    if isinstance(value, list):
        return tuple(argument(name, item) for item in value)
    if isinstance(value, int) and not isinstance(value, bool) and name not in INTEGERS:
        return float(value)
    return value


def numbers(result: Any, pick: Any) -> np.ndarray:
    if isinstance(pick, str):
        result = getattr(result, pick)
    elif pick is not None:
        result = result[pick]
    return np.atleast_1d(np.asarray(result, dtype=float))


@pytest.mark.parametrize(("group", "case"), list(cases()))
def test_published(group: dict[str, Any], case: dict[str, Any]) -> None:
    function = resolve(case["call"])
    result = function(**{name: argument(name, value) for name, value in case["inputs"].items()})
    got = numbers(result, case.get("pick"))
    expected = np.atleast_1d(np.asarray(case["expected"], dtype=float))
    assert got.shape == expected.shape
    error = np.abs(got - expected)
    allowed = case.get("abs", 0.0) + case.get("rel", 0.0) * np.abs(expected)
    assert np.all(error <= allowed), (
        f"{case['id']}: got {got}, expected {expected} within {allowed}; {group['citation']}"
    )


@pytest.mark.parametrize(("group", "case"), list(cases()))
def test_case_says_where_its_value_comes_from(group: dict[str, Any], case: dict[str, Any]) -> None:
    assert group["citation"]
    assert group["obtained"]
    assert case["mark"] in MARKS
    assert case["why"]
    assert case.get("abs", 0.0) + case.get("rel", 0.0) > 0.0
