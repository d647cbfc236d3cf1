"""Every value of a car has a doubt: its own spread, its kind's, or a word that it is exact."""

from pathlib import Path

import pytest

from heatproof.kit.assumed import assumed_spreads, numbers_in
from heatproof.kit.fields import fields_of
from heatproof.kit.read import read_project
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import CarFile
from heatproof.units.parse import read_half_width


def records_below(record: type[Record], seen: set[type[Record]]) -> set[type[Record]]:
    """The record and every class it may hold."""
    if record not in seen:
        seen.add(record)
        for field in fields_of(record).values():
            for inner in field.classes:
                records_below(inner, seen)
    return seen


NUMBERS = [
    (record.__name__, key, field)
    for record in sorted(records_below(CarFile, set()), key=lambda r: r.__name__)
    for key, field in fields_of(record).items()
    if field.shape in ("number", "numbers", "points")
]


@pytest.mark.parametrize(("record", "key", "field"), NUMBERS, ids=[f"{r}.{k}" for r, k, _ in NUMBERS])
def test_every_number_says_how_far_it_may_be_off(record, key, field):
    doubt = field.quantity.doubt
    assert doubt is not None, f"{record}.{key}: state a doubt, or that it is exact"
    assert doubt.source
    if not doubt.exact:
        middle = 0.5 * (field.quantity.low + field.quantity.high)
        width = read_half_width(doubt.width, field.quantity, middle)
        assert 0.0 < width < field.quantity.high - field.quantity.low


@pytest.mark.parametrize("name", ["hatchback", "pickup"])
def test_own_spreads_come_first_and_nothing_is_left_out(name, tmp_path):
    import heatproof

    variant = read_project(Path(heatproof.__file__).parent / "examples" / name).variant()
    assumed = assumed_spreads(variant)
    assert not assumed.keys() & variant.spreads.keys()
    assert all(spread.sd > 0.0 and spread.source.startswith("assumed: ") for spread in assumed.values())
    values = {path: value for path, value, _ in numbers_in(variant.assembly)}
    assert assumed.keys() <= values.keys()
    assert all(assumed[path].value == values[path] for path in assumed)
    # Hand calculation: 16 % of a mass not weighed is its half width, two standard deviations.
    masses = [path for path in assumed if path.startswith("parts.") and path.endswith(".mass")]
    assert masses
    for path in masses:
        assert assumed[path].sd == pytest.approx(0.08 * values[path])


def test_a_value_without_effect_is_not_counted():
    import heatproof

    variant = read_project(Path(heatproof.__file__).parent / "examples" / "hatchback").variant()
    assumed = assumed_spreads(variant)
    cored = next(n for n, p in variant.air.passages.items() if p.core is not None)
    plain = next(n for n, p in variant.air.passages.items() if p.core is None and p.kind != "fan")
    assert f"air.passages.{cored}.loss" not in assumed
    assert f"air.passages.{plain}.share" not in assumed
    assert f"air.passages.{cored}.share" in assumed
