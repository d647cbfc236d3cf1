"""One map: order, seeds, resuming, dying workers, a cluster. The reference is plain Python's own map."""

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from heatproof.kit.findings import Refused
from heatproof.study.runs.fingerprint import fingerprint
from heatproof.study.runs.spread_out import SweepStopped, group_size, spread_out
from heatproof.study.store import unseal

sys.path.insert(0, str(Path(__file__).parent))
import sweep_tasks as T


@pytest.fixture(autouse=True)
def importable(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers import the functions by name."""
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parent))


@pytest.mark.parametrize("workers", [1, 2])
def test_same_as_plain_map(workers: int) -> None:
    tasks = [0.1 * k for k in range(60)]
    assert spread_out(T.square, tasks, workers=workers) == [T.square(x) for x in tasks]


def test_seeds_do_not_depend_on_workers_and_are_those_of_numpy() -> None:
    one = spread_out(T.draws, list(range(12)), workers=1, seed=7)
    two = spread_out(T.draws, list(range(12)), workers=2, seed=7)
    assert one == two
    assert one != spread_out(T.draws, list(range(12)), workers=1, seed=8)
    child = np.random.SeedSequence(7).spawn(12)[5]
    state = int.from_bytes(child.generate_state(4).tobytes(), "little")
    assert one[5] == np.random.default_rng(state).normal(size=3).tolist()
    assert len({x for row in one for x in row}) == 36


def test_what_is_finished_is_not_done_again(tmp_path: Path) -> None:
    marks = tmp_path / "marks"
    tasks = [{"x": k, "marks": str(marks)} for k in range(8)]
    first = spread_out(T.counted, tasks[:5], workers=1, resume=tmp_path / "kept")
    whole = spread_out(T.counted, tasks, workers=1, resume=tmp_path / "kept")
    assert whole[:5] == first
    assert sorted(marks.read_text().split()) == [str(k) for k in range(8)]


def test_cancel_keeps_what_is_done_and_resumes(tmp_path: Path) -> None:
    marks, kept = tmp_path / "marks", tmp_path / "kept"
    tasks = [{"x": k, "marks": str(marks)} for k in range(20)]
    with pytest.raises(SweepStopped) as stopped:
        spread_out(
            T.counted, tasks, workers=1, resume=kept, cancel=lambda: len(list(kept.glob("*.json"))) >= 6
        )
    assert stopped.value.done == 6
    assert spread_out(T.counted, tasks, workers=1, resume=kept) == [k**2 for k in range(20)]
    assert len(marks.read_text().split()) == 20


@pytest.mark.parametrize(
    "damage", ["", "{", '{"format": "heatproof sweep 2", "key": "x", "result": 5}', "[1]"]
)
def test_damaged_results_are_made_again(tmp_path: Path, damage: str) -> None:
    spread_out(T.square, [3.0], workers=1, resume=tmp_path)
    (path,) = tmp_path.glob("*.json")
    path.write_text(damage)
    assert spread_out(T.square, [3.0], workers=1, resume=tmp_path) == [9.0]
    assert unseal(path.read_bytes())["data"] == 9.0


def test_killed_worker_loses_nothing(tmp_path: Path) -> None:
    tasks = [{"x": k, "deadly": 13, "mark": str(tmp_path / "mark")} for k in range(30)]
    kept = tmp_path / "kept"
    assert spread_out(T.dies_once, tasks, workers=2, resume=kept) == [k**2 for k in range(30)]
    assert (tmp_path / "mark").exists()
    assert len(list(kept.glob("*.json"))) == 30


@pytest.mark.slow
def test_workers_that_always_die_are_told() -> None:
    with pytest.raises(SweepStopped, match="died"):
        spread_out(T.always_dies, [1, 2, 3], workers=2)


def test_errors_of_the_function_are_raised() -> None:
    with pytest.raises(ValueError, match="task 0 is wrong"):
        spread_out(T.fails, [0, 1, 2], workers=1)


def test_groups_hold_fifty_milliseconds() -> None:
    assert group_size(0.001, 10_000, 2) == 50
    assert group_size(0.2, 10_000, 2) == 1
    assert group_size(1e-5, 10_000, 2) == 500
    assert group_size(0.001, 40, 2) == 5  # a short sweep still keeps both busy


def test_progress_counts_up() -> None:
    told: list[tuple[int, int]] = []
    spread_out(
        T.square, [1.0, 2.0, 3.0], workers=1, progress=lambda done, all_, what: told.append((done, all_))
    )
    assert told == [(1, 3), (2, 3), (3, 3)]


def test_fingerprint_tells_values_apart() -> None:
    assert fingerprint({"a": 1.0}) == fingerprint({"a": 1.0})
    different = [1, 1.0, "1", [1], {"a": 1}, np.array([1.0]), np.nextafter(1.0, 2.0), None, True]
    assert len({fingerprint(x) for x in different}) >= len(different) - 1


# --- cluster ----------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[object]:
    """A scheduler and two worker processes on this machine."""
    dask, distributed = pytest.importorskip("dask"), pytest.importorskip("distributed")
    import os

    os.environ["PYTHONPATH"] = str(Path(__file__).parent)
    scratch = {"temporary-directory": str(tmp_path_factory.mktemp("cluster"))}
    with (
        dask.config.set(scratch),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as running,
    ):
        yield running


def test_cluster_gives_the_same(cluster: object) -> None:
    tasks = [0.1 * k for k in range(50)]
    address = cluster.scheduler_address  # type: ignore[attr-defined]
    assert spread_out(T.square, tasks, cluster=address) == [T.square(x) for x in tasks]
    assert spread_out(T.draws, list(range(9)), cluster=address, seed=3) == spread_out(
        T.draws, list(range(9)), workers=1, seed=3
    )


def test_worker_killed_on_the_cluster_loses_nothing(cluster: object, tmp_path: Path) -> None:
    tasks = [{"x": k, "deadly": 17, "mark": str(tmp_path / "mark")} for k in range(30)]
    address = cluster.scheduler_address  # type: ignore[attr-defined]
    found = spread_out(T.dies_once, tasks, cluster=address, resume=tmp_path / "kept")
    assert found == [k**2 for k in range(30)]
    assert (tmp_path / "mark").exists()
    assert len(list((tmp_path / "kept").glob("*.json"))) == 30


def test_no_scheduler_is_refused() -> None:
    pytest.importorskip("distributed")
    with pytest.raises(Refused, match="no scheduler answers"):
        spread_out(T.square, [1.0, 2.0], cluster="nonsense://1")
