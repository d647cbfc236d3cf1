"""Work on several threads, and how far it is: the one pool of the package.

Kernels run without the interpreter's lock, so threads do what processes would, and nothing has to be sent or loaded.
"""

import itertools
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what has just been done."""
Tell = Callable[[str], None]
"""Called with what has just been done."""


def at_once(function: Callable[[Task], Result], tasks: Iterable[Task], jobs: int) -> Iterator[Result]:
    """Results in the order of the tasks, each as soon as it and all before it are there; `jobs` run at a time.

    Where a task raises, its error is raised in its turn, and those that have not begun are dropped. Nothing is started before
    the first result is asked for.
    """
    pool = ThreadPoolExecutor(max(jobs, 1))
    try:
        for future in [pool.submit(function, task) for task in tasks]:
            yield future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def counted(progress: Progress | None, steps: int, first: int = 1) -> Tell:
    """Turns "what was done" into "the how-manieth of how many": each call counts one, at most up to `steps`."""
    numbers = itertools.count(first)

    def tell(what: str) -> None:
        number = next(numbers)
        if progress is not None:
            progress(min(number, steps), steps, what)

    return tell
