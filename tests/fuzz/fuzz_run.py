"""Starts readers on damaged inputs in a process of their own and gathers what went wrong."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

HERE = Path(__file__).parent
MOST_GROWN = 1500  # MiB a reader may need beyond what it had imported
MOST_DEATHS = 20


@dataclass
class Found:
    """count inputs were read or refused; defects: number of the input, what went wrong; grown MiB of memory."""

    count: int = 0
    refused: int = 0
    defects: list[tuple[str, int, str]] = field(default_factory=list)
    grown: int = 0


def fuzz(room: Path, plan: list[tuple[str, int, int]]) -> Found:
    """Inputs FIRST to FIRST + COUNT of each reader. One that ends the process is a defect; the rest go on."""
    found = Found()
    todo = list(plan)
    for _ in range(MOST_DEATHS):
        if not todo:
            break
        todo = one_process(room, todo, found)
    return found


def one_process(room: Path, plan: list[tuple[str, int, int]], found: Found) -> list[tuple[str, int, int]]:
    """What is left to do."""
    arguments = [str(word) for one in plan for word in one]
    told = room / "told"
    told.unlink(missing_ok=True)
    done = subprocess.run(
        [sys.executable, str(HERE / "fuzz_child.py"), *arguments],
        env=os.environ | {"FUZZ_ROOM": str(room)}, capture_output=True, text=True, errors="replace",
    )  # fmt: skip
    finished = [json.loads(line) for line in told.read_text().splitlines()] if told.exists() else []
    for one in finished:
        found.count += one["count"]
        found.refused += one["refused"]
        found.grown = max(found.grown, one["grown_MiB"])
        found.defects += [(one["reader"], n, what) for n, what in one["defects"]]
    if done.returncode == 0:
        return []
    left = plan[len(finished) :]
    name, first, count = left[0]
    at = room / name / "at"
    n = int(at.read_text()) if at.exists() and at.read_text() else first
    found.count += n - first + 1
    found.defects.append((name, n, f"ended the process ({done.returncode}): {done.stderr[-4000:]}"))
    rest = [(name, n + 1, first + count - n - 1)] if n + 1 < first + count else []
    return [*rest, *left[1:]]
