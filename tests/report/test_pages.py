"""Pages of the papers as poppler sees them: no word leaves its page, none is cut by its neighbour's column."""

import re
import shutil
import subprocess
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest

from heatproof.kit.read import read_project
from heatproof.report.gathered import gather
from heatproof.report.pdf import pdf
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.release import Built
from heatproof.report.release_doc import document
from heatproof.report.sheets.build import sheets

WORD = re.compile(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([^<]*)</word>')
PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)
MARGIN = 30.0  # pt, narrower than any margin of the template
Box = tuple[float, float, float, float, str]

pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")


def pages(data: bytes, folder: Path) -> list[tuple[float, float, list[Box]]]:
    """Width, height (pt) and words of every page."""
    (folder / "paper.pdf").write_bytes(data)
    command = ["pdftotext", "-bbox", str(folder / "paper.pdf"), "-"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = []
    for width, height, body in PAGE.findall(text):
        words = [(*(float(v) for v in one[:4]), one[4]) for one in WORD.findall(body)]
        found.append((float(width), float(height), words))
    return found


def overlapping(words: list[Box]) -> list[str]:
    """Pairs of words of one line that lie on each other by more than a point."""
    lines: dict[int, list[Box]] = {}
    for word in words:
        lines.setdefault(round(word[1]), []).append(word)
    found = []
    for line in lines.values():
        ordered = sorted(line)
        pairs = pairwise(ordered)
        found += [f"{a[4]} | {b[4]}" for a, b in pairs if b[0] < a[2] - 1.0]
    return found


def check_pages(data: bytes, folder: Path, most: int | None = None) -> None:
    """Words inside the page, none on another; no more pages than allowed."""
    made = pages(data, folder)
    assert made
    assert most is None or len(made) <= most
    for width, height, words in made:
        assert words
        for x0, y0, x1, y1, word in words:
            assert MARGIN < x0 < x1 < width - MARGIN, word
            assert MARGIN / 2 < y0 < y1 < height - MARGIN / 2, word
        assert not overlapping(words)


def test_small_papers(built: Built, tmp_path: Path) -> None:
    check_pages(built.pdf, tmp_path)
    for one in sheets(built.gathered, ["customer", "calibrator"], with_tolerance=False):
        check_pages(one.pdf, tmp_path, most=2)


@pytest.mark.slow
@pytest.mark.timeout(900)
@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("name", ["hatchback", "pickup"])
def test_papers_of_the_shipped_examples(name: str, system: str, tmp_path: Path) -> None:
    folder = tmp_path / name
    shutil.copytree(
        str(files("heatproof") / "examples" / name), folder, ignore=shutil.ignore_patterns("results")
    )
    quick = {"with_rating": False, "with_reasons": False, "spreads": False}
    found = gather(read_project(folder), day="2026-01-31", units=ReaderUnits(system), **quick)  # type: ignore[arg-type]
    check_pages(pdf(document(found, None, "0" * 64)), tmp_path)
    for one in sheets(found, with_tolerance=False):
        templates = 6 if one.reader == "installer" else 0
        check_pages(one.pdf, tmp_path, most=3 + templates)
