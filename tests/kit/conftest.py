"""A small project that tests may break, and the shipped example."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

import heatproof
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.read import read_project

HERE = Path(__file__).parent
EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"

Broken = Callable[[str, str, str], tuple[list[Finding], int]]


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A copy of the small project."""
    shutil.copytree(HERE / "small", tmp_path / "small")
    return tmp_path / "small"


@pytest.fixture
def example() -> Path:
    """The shipped example; not to be written to."""
    return EXAMPLE


@pytest.fixture
def broken(small: Path) -> Broken:
    """`broken(file, old, new)` → findings after one change, and the line of the change."""

    def change(file: str, old: str, new: str) -> tuple[list[Finding], int]:
        path = small / file
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new), encoding="utf-8")
        line = text[: text.index(old)].count("\n") + 1 + (new[: len(new) - len(new.lstrip("\n"))]).count("\n")
        with pytest.raises(Refused) as caught:
            read_project(small)
        return list(caught.value.findings), line

    return change
