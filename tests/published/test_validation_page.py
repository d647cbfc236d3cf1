"""The committed page of checks is what its generator gives."""

import pytest
from cases import cases
from validation_page import PAGE, make_page


def cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip("|").split("|")]


def values(cell: str) -> list[float]:
    return [float(part) for part in cell.split(",")]


def test_committed_page_is_what_the_checks_give() -> None:
    """Word for word but for the results, where another machine may round the last digit the other way."""
    committed, made = PAGE.read_text(encoding="utf-8").splitlines(), make_page().splitlines()
    assert len(committed) == len(made), "run `make validation`"
    for old, new in zip(committed, made, strict=True):
        if old == new:
            continue
        assert old.startswith("| "), f"run `make validation`: {old!r} is now {new!r}"
        a, b = cells(old), cells(new)
        assert [*a[:2], *a[3:4], *a[5:]] == [*b[:2], *b[3:4], *b[5:]], "run `make validation`"
        assert values(a[2]) == pytest.approx(values(b[2]), rel=1e-3), a[0]
        assert values(a[4]) == pytest.approx(values(b[4]), abs=0.05), a[0]


def test_page_counts_what_it_shows() -> None:
    text = PAGE.read_text(encoding="utf-8")
    count = sum(1 for _ in cases())
    assert count >= 120
    assert f"\n{count} checks, of " in text
    head, _, tables = text.partition("\n## ")
    by_grade = {c[0]: int(c[1]) for c in map(cells, head.splitlines()) if c[0] in list("PLTCM")}
    assert sum(by_grade.values()) == count
    rows = [
        cells(line)[5] for line in tables.splitlines() if line.startswith("| ") and "| share |" not in line
    ]
    assert {grade: rows.count(grade) for grade in by_grade} == by_grade
