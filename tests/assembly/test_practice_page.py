"""The page of trends says what the model gives."""

import re

import pytest
from practice_page import PAGE, TABLES, between

FIGURE = re.compile(r"\d+(?:\.\d+)?")


@pytest.mark.parametrize("name", TABLES)
def test_tables_are_what_runs_give(name: str) -> None:
    """Same words; every figure within two of its last place, so that another machine's rounding is no failure."""
    page, made = between(PAGE.read_text(encoding="utf-8"), name), TABLES[name]()
    assert FIGURE.sub("#", page) == FIGURE.sub("#", made)
    for told, now in zip(FIGURE.findall(page), FIGURE.findall(made), strict=True):
        last_place = 10.0 ** -len(told.partition(".")[2])
        assert float(told) == pytest.approx(float(now), abs=2.0 * last_place + 1e-9), (told, now)
