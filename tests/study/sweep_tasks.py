"""Functions that worker processes import by name."""

import os
import signal
import time
from pathlib import Path
from typing import Any

import numpy as np


def square(task: float) -> float:
    return task * task


def counted(task: dict[str, Any]) -> float:
    """Squares, and leaves a mark for every time it is called."""
    with open(task["marks"], "a", encoding="utf-8") as file:
        file.write(f"{task['x']}\n")
    return task["x"] ** 2


def draws(task: int, rng: np.random.Generator) -> list[float]:
    return rng.normal(size=3).tolist()


def dies_once(task: dict[str, Any]) -> float:
    """The worker that is first to take the deadly task kills itself, as if from outside."""
    mark = Path(task["mark"])
    if task["x"] == task["deadly"] and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.01)
    return task["x"] ** 2


def always_dies(task: int) -> float:
    os.kill(os.getpid(), signal.SIGKILL)
    return 0.0


def fails(task: int) -> float:
    raise ValueError(f"task {task} is wrong")
