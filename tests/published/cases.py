"""Published checks as data: one TOML file per source group, read and evaluated the same way for test and page."""

import importlib
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
MARKS = ("published", "library", "theory", "common practice, no source", "from memory")
# Everything else is passed as a float, so that one compiled version serves all cases.
INTEGERS = {"arrangement", "orientation", "cylinders", "passes", "tolerance_class", "lines", "index"}


@dataclass(frozen=True)
class Case:
    """One check, with the group it stands in."""

    file: str
    group: dict[str, Any]
    case: dict[str, Any]

    @property
    def function(self) -> str:
        return str(self.case["call"]).partition(":")[2]

    @property
    def source(self) -> str:
        """Where the expected value comes from; a function may have one source a mark."""
        found = self.group["sources"][self.function]
        return found if isinstance(found, str) else found[self.case["mark"]]

    @property
    def expected(self) -> np.ndarray:
        return np.atleast_1d(np.asarray(self.case["expected"], dtype=float))

    @property
    def allowed(self) -> np.ndarray:
        """Deviation allowed, in the unit of the value."""
        return self.case.get("abs", 0.0) + self.case.get("rel", 0.0) * np.abs(self.expected)

    def got(self) -> np.ndarray:
        """What the program gives."""
        given = {name: argument(name, value) for name, value in self.case["inputs"].items()}
        return numbers(resolve(self.case["call"])(**given), self.case.get("pick"))


def groups() -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sorted(HERE.glob("*.toml")):
        yield path.stem, tomllib.loads(path.read_text(encoding="utf-8"))


def cases() -> Iterator[Case]:
    for name, group in groups():
        for case in group["case"]:
            yield Case(name, group, case)


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
