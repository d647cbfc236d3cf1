"""Results typed once: JSON, columns, schema and storage follow from the declarations."""

import json
from dataclasses import dataclass, fields
from typing import Annotated, Literal

import jsonschema_rs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from heatproof.kit.findings import Finding, Where
from heatproof.units.results import (
    HIDDEN,
    INLINE,
    K,
    Shown,
    W,
    columns,
    degC,
    plain,
    restored,
    schema,
    stored,
)
from heatproof.verdict.duty_facts import DutyFacts
from heatproof.verdict.margins import Margin
from heatproof.verdict.spread import Sensitivities
from heatproof.verdict.verdict import Row, Verdict

numbers = st.floats(allow_nan=False, allow_infinity=False)
words = st.text(max_size=6)
times = st.floats(0.0, 1e5)


@st.composite
def verdicts(draw: st.DrawFn) -> Verdict:
    """Any verdict, sensible or not: every field takes all that its type allows."""
    optional = st.none() | numbers
    margins = st.builds(Margin, *[numbers, times, st.integers(0, 9999), numbers, numbers, numbers])
    rows = st.builds(
        Row, words, words, words, words, margins, st.sampled_from(("holds", "thin", "over")), optional, optional,
        optional, words, local_rise=optional,
    )  # fmt: skip
    facts = st.builds(
        DutyFacts,
        words,
        words,
        *[numbers] * 6,
        balance=st.dictionaries(words, numbers, max_size=2),
        notes=st.tuples(words),
    )
    findings = st.builds(
        Finding,
        st.sampled_from(("error", "warning", "note")),
        words,
        st.builds(Where, words, st.integers(0, 9999)),
    )
    size = draw(st.integers(0, 3))
    matrix = Sensitivities(
        (("a", "b"),) * 2, ("p",) * size, np.ones(size), np.array(draw(st.lists(numbers, min_size=2 * size, max_size=2 * size))).reshape(2, size),
        np.arange(size), drawn=((("a", "b"), draw(numbers)),),
    )  # fmt: skip
    return Verdict(
        draw(words), draw(st.tuples(words)), "thin", draw(words), tuple(draw(st.lists(rows, max_size=3))),
        tuple(draw(st.lists(facts, max_size=2))), tuple(draw(st.lists(findings, max_size=2))), draw(st.tuples(words)),
        draw(st.integers(0, 9999)), *(draw(numbers) for _ in range(4)), "EUR", draw(st.sampled_from((None, matrix))),
        {"python": "3"}, stored=draw(st.booleans()),
    )  # fmt: skip


def same(a: object, b: object) -> bool:
    """Equal to the last bit, arrays with type and shape; `==` of dataclasses does not compare arrays."""
    if isinstance(a, np.ndarray):
        return (
            isinstance(b, np.ndarray)
            and a.dtype == b.dtype
            and a.shape == b.shape
            and a.tobytes() == b.tobytes()
        )
    if hasattr(a, "__dataclass_fields__"):
        return type(a) is type(b) and all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))  # type: ignore[arg-type]
    if isinstance(a, tuple):
        return (
            isinstance(b, tuple) and len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
        )
    return type(a) is type(b) and a == b


@given(verdicts())
def test_what_is_written_reads_back_the_same(verdict: Verdict) -> None:
    assert same(restored(Verdict, json.loads(json.dumps(stored(verdict), allow_nan=False))), verdict)


@given(verdicts())
def test_json_follows_its_schema(verdict: Verdict) -> None:
    shown = json.loads(json.dumps(plain(verdict)))
    jsonschema_rs.Draft202012Validator(schema(Verdict)).validate(shown)
    for row, data in zip(verdict.rows, shown["limits"], strict=True):
        assert list(data) == [column.key for column in columns(Row)]
        assert data["peak_degC"] == row.found.peak - 273.15
        assert data["margin_K"] == row.margin
        assert data["spread_K"] == row.half


def test_one_row_spelled_by_hand() -> None:
    """400 K is 126.85 degC; hidden fields stay inside, inlined ones stand beside the others."""
    row = Row(
        "hose", "Hose", "idle", "Idle", Margin(400.0, 60.0, 7, 390.0, 399.0, -9.0, "continuous", 30.0, 600.0),
        "over", 4.0, 6.5, 0.01, "parts.hose", local_rise=10.0,
    )  # fmt: skip
    assert plain(row) == {
        "part": "hose", "title": "Hose", "duty": "idle", "peak_degC": pytest.approx(126.85), "time_s": 60.0,
        "limit_degC": pytest.approx(116.85), "judged_degC": pytest.approx(125.85), "margin_K": -9.0, "rule": "continuous",
        "time_above_s": 30.0, "allowed_time_s": 600.0, "state": "over", "sd_K": 4.0, "spread_K": 6.5,
        "confidence": 0.01, "path": "parts.hose", "local_peak_degC": pytest.approx(136.85),
    }  # fmt: skip


@dataclass(frozen=True)
class Inner:
    heat: Annotated[dict[str, float], W]


@dataclass(frozen=True)
class Outer:
    inner: Annotated[Inner, INLINE]
    pair: tuple[str, Annotated[float, K]]
    hottest: Annotated[float | None, degC, Shown("peak", "Peak")]
    secret: Annotated[int, HIDDEN] = 3
    mark: Literal["a", "b"] = "a"


def test_columns_have_key_unit_and_label() -> None:
    told = {c.key: (c.name, c.unit and c.unit.symbol, c.label) for c in columns(Outer)}
    assert told == {
        "heat_W": ("inner.heat", "W", "Heat"),
        "pair": ("pair", None, "Pair"),
        "peak_degC": ("hottest", "degC", "Peak"),
        "mark": ("mark", None, "Mark"),
    }


def test_two_values_under_one_key_are_refused() -> None:
    @dataclass
    class Twice:
        a: Annotated[float, K, Shown("x")]
        b: Annotated[float, K, Shown("x")]

    with pytest.raises(ValueError, match="share a key"):
        columns(Twice)


GOOD = stored(Outer(Inner({"a": 1.0}), ("x", 2.0), None))


@pytest.mark.parametrize(
    "damage",
    [
        {"inner": None},
        {"inner": {"heat": {"a": "1"}}},
        {"pair": ["x"]},
        {"pair": ["x", True]},
        {"pair": "x"},
        {"hottest": "warm"},
        {"secret": 1.5},
        {"mark": "c"},
        {"more": 1},
    ],
)
def test_damaged_data_is_no_result(damage: dict[str, object]) -> None:
    assert restored(Outer, GOOD) == Outer(Inner({"a": 1.0}), ("x", 2.0), None)
    with pytest.raises((TypeError, KeyError, ValueError)):
        restored(Outer, GOOD | damage)
