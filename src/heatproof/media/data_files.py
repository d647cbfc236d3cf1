"""Reads the data files shipped beside this package: comment lines start with `#`, then a CSV header."""

import csv
from collections.abc import Iterator
from importlib.resources import files


def rows_of(name: str) -> Iterator[dict[str, str]]:
    """Rows of `media/data/<name>` as dictionaries of text; comment lines are skipped."""
    text = files("heatproof.media").joinpath("data", name).read_text(encoding="utf-8")
    yield from csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
