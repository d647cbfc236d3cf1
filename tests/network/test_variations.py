"""Random valid variations of the demo: every duty solves, or says what did not converge and where."""

import numpy as np
import pytest
from small_networks import DUTIES

from heatproof.assembly.duties.drives import CannotDrive
from heatproof.assembly.model import lay_network, solve
from heatproof.kit.checks.variant import check_variant
from heatproof.kit.fields import fields_of
from heatproof.kit.findings import Findings
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Variant, child
from heatproof.network.not_solved import NotSolved

SIZES = (
    "mass",
    "surface",
    "length",
    "bore",
    "area",
    "volume",
    "thickness",
    "size",
    "width",
    "height",
    "depth",
)
PLACES = ("shape", "bay", "limit", "engine", "vehicle")  # geometry has to fit together; the rest are no sizes


def sizes_in(holder: object, path: str = "") -> list[tuple[str, float, float]]:
    """(dotted path, low, high) of every size below a record, with its declared range."""
    found: list[tuple[str, float, float]] = []
    if isinstance(holder, dict):
        for name, item in holder.items():
            found += sizes_in(item, f"{path}.{name}")
    elif isinstance(holder, Record):
        for key, declared in fields_of(type(holder)).items():
            if key in PLACES:
                continue
            here = f"{path}.{key}" if path else key
            value = child(holder, key)
            if declared.shape == "number" and key in SIZES and isinstance(value, float) and value > 0.0:
                found.append((here, declared.quantity.low, declared.quantity.high))
            elif isinstance(value, dict | Record):
                found += sizes_in(value, here)
    return found


def drawn(project, rng: np.random.Generator) -> Variant | None:
    """A random set of measures, every value with a spread moved by its standard deviation, a third of all sizes
    by up to 50 %; None where the project's own checks refuse it."""
    names = tuple(m for m in project.measures if rng.random() < 0.5)
    found = Findings()
    variant = project.try_variant(names, found)
    if variant is None or found.errors:
        return None
    for path, spread in variant.spreads.items():
        value = variant.value(path)
        if isinstance(value, float):
            variant = variant.with_value(path, value + spread.sd * float(rng.normal()))
    for path, low, high in sizes_in(variant.assembly):
        if rng.random() < 0.33:
            value = variant.value(path) * float(rng.uniform(0.5, 1.5))
            variant = variant.with_value(path, min(max(value, low), high))
    return None if check_variant(variant).errors else variant


def varied(project, seed: int) -> Variant:
    """The first valid one of this seed."""
    rng = np.random.default_rng(seed)
    return next(v for v in (drawn(project, rng) for _ in range(200)) if v is not None)


def outcome(variant: Variant, record) -> str:
    """ "solved", or the sentence that says why not."""
    try:
        run = solve(variant, record, lay_network(variant)).run
    except NotSolved as error:
        return f"not solved at {error.time:.1f} s: {error}"
    except CannotDrive as error:
        return f"cannot drive: {error}"
    assert np.isfinite(run.state).all()
    assert abs(run.closure) < 1e-4
    return "solved"


def failures(project, seeds: range, duties: tuple[str, ...]) -> tuple[int, list[str]]:
    """How many duties were tried, and what did not solve (seed, duty, sentence)."""
    tried, found = 0, []
    for seed in seeds:
        variant = varied(project, seed)
        for name in duties:
            said = outcome(variant, project.duties[name])
            tried += 1
            if said != "solved":
                found.append(f"seed {seed}, {name}: {said}")
    return tried, found


@pytest.mark.parametrize("block", range(3))
def test_twenty_variations_a_block(hatchback, block):
    """The quick duties of 60 variations; all 500 with all duties are the slow test."""
    tried, found = failures(hatchback, range(20 * block, 20 * block + 20), ("flat_out", "long_hill"))
    assert tried == 40
    assert not [f for f in found if "cannot drive" not in f], found


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
def test_five_hundred_variations(hatchback, block):
    tried, found = failures(hatchback, range(50 * block, 50 * block + 50), DUTIES)
    assert tried == 250
    assert not [f for f in found if "cannot drive" not in f], found
