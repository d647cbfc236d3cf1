"""One map for every sweep: the same function over many tasks, over processes here or a cluster elsewhere.

Short tasks are put into groups of at least GROUP_SECONDS, from times measured in the first round. Results come
back in the order of the tasks and do not depend on who computed them: a task's random numbers come from its own
child of one seed. With a `resume` folder every finished result is written whole, under a hash of what it was
made from, as soon as its group arrives; a later sweep takes it from there.
"""

import json
import math
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from heatproof.kit.findings import Finding, Refused
from heatproof.numerics.at_once import Progress
from heatproof.study.runs.fingerprint import fingerprint
from heatproof.study.store import Shelf

GROUP_SECONDS = 0.05
LARGEST_GROUP = 500
MOST_RESTARTS = 2
Group = list[tuple[int, Any, int | None]]
"""Place, task, seed."""


class SweepStopped(RuntimeError):
    """Stopped by `cancel`, or workers died too often. done, total: tasks; finished work is kept."""

    def __init__(self, what: str, done: int, total: int) -> None:
        super().__init__(f"{what}: {done} of {total} done")
        self.done, self.total = done, total


def spread_out(
    function: Callable[..., Any],
    tasks: Sequence[Any],
    *,
    workers: int = 2,
    cluster: str | None = None,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
    resume: Path | str | None = None,
    seed: int | None = None,
    label: str = "",
) -> list[Any]:
    """`function(task)` of every task, in order; with a `seed`, `function(task, generator)`.

    function: importable by name, returns plain JSON data (numbers may be infinite). workers: 1 stays in this
    process. cluster: address of a running scheduler, `tcp://host:port`. cancel: asked between groups. resume:
    folder of finished results. label: goes into the hash of results, for what `function` depends on beside its
    task. What `function` raises is raised. Raises SweepStopped, and Refused where a cluster is not to be had.
    """
    seeds = task_seeds(seed, len(tasks))
    shelf = None if resume is None else Shelf(Path(resume))
    names: list[str] = []
    found: dict[int, Any] = {}
    if shelf is not None:
        shelf.folder.mkdir(parents=True, exist_ok=True)
        names = [name_of(function, label, task, s) for task, s in zip(tasks, seeds, strict=True)]
        there = shelf.keys()
        loaded = {k: shelf.load(name) for k, name in enumerate(names) if name in there}
        found = {k: result for k, result in loaded.items() if result is not None}
    waiting = [(k, task, seeds[k]) for k, task in enumerate(tasks) if k not in found]
    tell = progress or (lambda done, total, what: None)
    if found:
        tell(len(found), len(tasks), "taken from before")
    for k, value in computed(function, waiting, workers=workers, cluster=cluster, cancel=cancel):
        found[k] = value
        if shelf is not None:
            shelf.save(names[k], value, allow_nan=True)
        tell(len(found), len(tasks), str(k + 1))
    if len(found) < len(tasks):
        raise SweepStopped("stopped", len(found), len(tasks))
    return [found[k] for k in range(len(tasks))]


def task_seeds(seed: int | None, count: int) -> list[int | None]:
    """One whole number a task, from the children of one seed; None where nothing is drawn."""
    if seed is None:
        return [None] * count
    children = np.random.SeedSequence(seed).spawn(count)
    return [int.from_bytes(child.generate_state(4).tobytes(), "little") for child in children]


def name_of(function: Callable[..., Any], label: str, task: Any, seed: int | None) -> str:
    """Hash of a result's inputs."""
    place = f"{getattr(function, '__module__', '')}.{getattr(function, '__qualname__', repr(function))}"
    return fingerprint(place, label, task, None if seed is None else str(seed))


def computed(
    function: Callable[..., Any],
    waiting: Group,
    *,
    workers: int,
    cluster: str | None,
    cancel: Callable[[], bool] | None,
) -> Iterator[tuple[int, Any]]:
    """(place, result) as they come; ends early where `cancel` says so."""
    stop = cancel or (lambda: False)
    if not waiting or stop():
        return
    if cluster is not None:
        yield from on_cluster(function, waiting, cluster, stop)
    elif workers <= 1 or len(waiting) == 1:
        for one in waiting:
            _, results = run_group(function, [one])
            yield results[0]
            if stop():
                return
    else:
        yield from over_processes(function, waiting, workers, stop)


def run_group(function: Callable[..., Any], group: Group) -> tuple[float, list[tuple[int, Any]]]:
    """Seconds a task took, and (place, result) of each. Results go through JSON, as when read back."""
    start, results = time.perf_counter(), []
    for k, task, seed in group:
        value = function(task) if seed is None else function(task, np.random.default_rng(seed))
        results.append((k, json.loads(json.dumps(value))))
    return (time.perf_counter() - start) / len(group), results


def grouped(waiting: Group, size: int) -> list[Group]:
    """Slices of `size`."""
    return [waiting[k : k + size] for k in range(0, len(waiting), size)]


def group_size(seconds: float, tasks: int, workers: int) -> int:
    """Tasks a group: at least GROUP_SECONDS of work, and no fewer than four groups a worker where there is room."""
    wanted = math.ceil(GROUP_SECONDS / max(seconds, 1e-6))
    return max(1, min(wanted, LARGEST_GROUP, max(tasks // (4 * workers), 1)))


# --- processes --------------------------------------------------------------------------------------------
def over_processes(
    function: Callable[..., Any], waiting: Group, workers: int, stop: Callable[[], bool]
) -> Iterator[tuple[int, Any]]:
    """Worker processes; where one dies the rest of the work is given to new ones."""
    left, restarts = {one[0]: one for one in waiting}, 0
    while left:
        try:
            for k, value in one_pool(function, list(left.values()), workers, stop):
                del left[k]
                yield k, value
            return
        except broken_pool() as error:
            restarts += 1
            if restarts > MOST_RESTARTS:
                raise SweepStopped(
                    f"worker processes died {restarts} times", len(waiting) - len(left), len(waiting)
                ) from error


def broken_pool() -> tuple[type[Exception], ...]:
    """What a pool raises when a worker has died."""
    from concurrent.futures.process import BrokenProcessPool

    from joblib.externals.loky.process_executor import BrokenProcessPool as Broken

    return (BrokenProcessPool, Broken)


def one_pool(
    function: Callable[..., Any], waiting: Group, workers: int, stop: Callable[[], bool]
) -> Iterator[tuple[int, Any]]:
    """One pool's work: a round to measure, then groups."""
    from joblib import Parallel, delayed, parallel_config

    first, rest = waiting[: 2 * workers], waiting[2 * workers :]
    seconds: list[float] = []
    with parallel_config(backend="loky", inner_max_num_threads=1):
        for groups in (grouped(first, 1), None):
            if groups is None:
                groups = grouped(rest, group_size(min(seconds), len(rest), workers))
            pool = Parallel(
                n_jobs=workers, return_as="generator_unordered", batch_size=1, pre_dispatch="3*n_jobs"
            )
            work = pool(delayed(run_group)(function, group) for group in until(groups, stop))
            for each, results in work:
                seconds.append(each)
                yield from results
            if stop() or not rest:
                return


def until(groups: Iterable[Group], stop: Callable[[], bool]) -> Iterator[Group]:
    """Groups as long as nobody says stop."""
    for group in groups:
        if stop():
            return
        yield group


# --- cluster ----------------------------------------------------------------------------------------------
def on_cluster(
    function: Callable[..., Any], waiting: Group, address: str, stop: Callable[[], bool]
) -> Iterator[tuple[int, Any]]:
    """Workers of a running scheduler; it gives the work of one that dies to the others."""
    client = connected(address)
    try:
        ready = max(len(client.scheduler_info(n_workers=-1)["workers"]), 1)
        seconds: list[float] = []
        first, rest = waiting[: 2 * ready], waiting[2 * ready :]
        for groups in (grouped(first, 1), None):
            if groups is None:
                groups = grouped(rest, group_size(min(seconds), len(rest), ready))
            for each, results in as_they_come(client, function, groups, ready, stop):
                seconds.append(each)
                yield from results
            if stop() or not rest:
                return
    finally:
        client.close()


def as_they_come(
    client: Any, function: Callable[..., Any], groups: list[Group], ready: int, stop: Callable[[], bool]
) -> Iterator[tuple[float, list[tuple[int, Any]]]]:
    """Groups sent three a worker ahead, so that a stop does not leave a long queue behind."""
    from distributed import KilledWorker, as_completed

    ahead = iter(groups)
    flying = as_completed([], loop=client.loop)

    def send(count: int) -> None:
        for group in until(ahead, stop):
            flying.add(client.submit(run_group, function, group, pure=False, retries=MOST_RESTARTS))
            count -= 1
            if count == 0:
                return

    send(3 * ready)
    for future in flying:
        try:
            result = future.result()
        except KilledWorker as error:
            raise SweepStopped(f"workers died on the same group: {error}", 0, len(groups)) from error
        future.release()
        yield result
        send(1)


def connected(address: str) -> Any:
    """A client. Refused where the extra is not installed, or nothing answers in time."""
    try:
        from distributed import Client
    except ImportError as error:
        step = "pip install 'heatproof[cluster]'"
        raise Refused([Finding("error", "clusters need an extra package", next_step=step)]) from error
    try:
        return Client(address, timeout=10, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise Refused(
            [
                Finding(
                    "error",
                    "no scheduler answers at that address",
                    got=address,
                    allowed="tcp://HOST:PORT of a running scheduler",
                    next_step="start the scheduler, or leave --cluster out",
                )
            ]
        ) from error
