"""Every reader on damaged inputs: read or refused in words, never a traceback, a hang, a crash of the process, memory
without bound, or an altered input. Input n of a reader is always the same: `random.Random("READER n")`.
"""

import pytest
from fuzz_run import MOST_GROWN, Found, fuzz

SLOW = {
    "project": 2500, "trace": 1200, "signed": 1500, "variants": 1000, "memory": 1000, "channel_map": 1500, "csv": 2500,
    "gzip": 400, "parquet": 2000, "mdf": 2000, "dbc": 1500, "stl": 1500, "glb": 1500, "gltf": 1500, "obj": 1500,
    "step": 250, "record": 800, "results": 1000, "sweep": 1000, "rays": 1000, "page": 2500, "uploads": 1000,
}  # fmt: skip
"""Inputs of each reader in the slow run: more than 20 000 together."""
# Left to the slow run: what solves, starts programs, or brings much to import.
LATER = ("gzip", "step", "page", "uploads", "record", "results", "sweep", "rays")
FAST = {name: 10 if name in ("project", "trace") else 18 for name in SLOW if name not in LATER}


def judged(found: Found) -> None:
    """No defect, and the memory stayed within bounds."""
    assert not found.defects, "\n\n".join(f"{name} {n}: {what}" for name, n, what in found.defects[:10])
    assert found.grown < MOST_GROWN
    assert found.refused > 0.1 * found.count, "the damage is too mild to tell anything"
    assert found.refused < found.count, "the damage leaves nothing to read"


def test_a_few_hundred_damaged_inputs(tmp_path):
    plan = [(name, 0, count) for name, count in FAST.items()]
    found = fuzz(tmp_path, plan)
    judged(found)
    assert found.count == sum(FAST.values()) >= 230


def test_the_slow_run_is_long_enough():
    assert sum(SLOW.values()) >= 20_000


@pytest.mark.slow
@pytest.mark.parametrize("name", SLOW)
def test_many_damaged_inputs(tmp_path, name):
    if name == "step":
        pytest.importorskip("cascadio")
    found = fuzz(tmp_path, [(name, 100_000, SLOW[name])])
    judged(found)
    assert found.count == SLOW[name]
