"""What a scenario is: it lays files, does one piece of work on them, and says what must hold afterwards.

`prepare` runs once; every kill works on a fresh copy of what it laid. `act` runs in the process that is killed.
`check` runs after a kill, and once more after the next start, which does the same work to its end.
"""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

SMALL = Path(__file__).parents[1] / "kit" / "small"
Ready = Callable[[], object]
"""Called where the work begins that may be killed from outside."""


def silent() -> None:
    """Nobody waits."""


@dataclass(frozen=True)
class Scenario:
    """See the module's text. forks: may run in a fork; not what uses libraries with threads of their own."""

    act: Callable[[Path, Ready], Any]
    check: Callable[[Path, Path], None]
    prepare: Callable[[Path], None] = lambda folder: None
    forks: bool = True


def laid(scenario: Scenario, folder: Path) -> Path:
    """A project to work on."""
    shutil.copytree(SMALL, folder)
    scenario.prepare(folder)
    return folder


def old_or_new(before: Path, now: Path, changed: dict[str, bytes]) -> set[str]:
    """Names of files that are new; every file is whole, old or new."""
    new = set()
    for name, data in changed.items():
        old = (before / name).read_bytes() if (before / name).exists() else None
        found = (now / name).read_bytes() if (now / name).exists() else None
        assert found in (old, data), f"{name} is neither old nor new"
        if found == data:
            new.add(name)
    return new


def loads(folder: Path) -> Any:
    """The project, which reads whatever happened."""
    from heatproof.kit.read import read_project

    project = read_project(folder)
    assert set(project.duties) == {"hill"} or "logged" in project.duties
    return project


def text(folder: Path, name: str) -> str:
    return (folder / name).read_text(encoding="utf-8")
