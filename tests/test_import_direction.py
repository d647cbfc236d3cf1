"""Imports between rooms go one way; the table, its drawing and the page about it say what the sources do."""

import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "docs"))

from rooms import (  # noqa: E402
    DRAWING,
    LOGS,
    PACKAGE,
    ROOMS,
    below,
    drawing,
    files_of,
    imported_modules,
    imported_rooms,
    imports,
)

ORDER = list(ROOMS)


@pytest.mark.parametrize("room", ORDER)
def test_room_imports_only_to_its_left(room: str) -> None:
    allowed = set(ORDER[: ORDER.index(room) + 1]) - ROOMS[room].strangers
    for source in files_of(room):
        wrong = imported_rooms(source) - allowed
        assert not wrong, f"{source.relative_to(PACKAGE)} imports {sorted(wrong)}, which stand to its right"


def test_an_import_to_the_right_would_be_seen(tmp_path: Path) -> None:
    source = tmp_path / "wrong.py"
    source.write_text(
        "def late():\n    from heatproof.doors import cli\n    import heatproof.study.questions.check\n"
    )
    assert imported_rooms(source) == {"doors", "study"}
    source.write_text("from . import cli\n")
    with pytest.raises(SyntaxError, match="relative import"):
        imported_rooms(source)


@pytest.mark.parametrize("folder", LOGS)
def test_folders_of_a_test_day_import_only_earlier_ones(folder: str) -> None:
    allowed = {f"heatproof.logs.{name}" for name in LOGS[: LOGS.index(folder) + 1]}
    for source in sorted((PACKAGE / "logs" / folder).glob("*.py")):
        wrong = [
            name
            for name in imported_modules(source)
            if name.startswith("heatproof.logs")
            and name.rpartition(".")[0] not in allowed
            and name not in allowed
        ]
        assert not wrong, f"{source.relative_to(PACKAGE)} imports {wrong}"


def test_every_folder_of_logs_is_in_the_order() -> None:
    found = {path.parent.name for path in (PACKAGE / "logs").glob("*/*.py")}
    assert found == set(LOGS)
    assert [path.name for path in (PACKAGE / "logs").glob("*.py")] == ["__init__.py"]


def test_no_circles() -> None:
    known = imports()
    assert all(room not in below(room, known) for room in ORDER)


def test_every_folder_is_a_known_room() -> None:
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert folders - set(ROOMS) == {"examples"}


def test_drawing_is_current() -> None:
    assert DRAWING.read_text(encoding="utf-8") == drawing(), "run make rooms"


def test_pages_tell_of_every_room_in_order() -> None:
    page = (ROOT / "docs" / "architecture.md").read_text(encoding="utf-8")
    assert re.findall(r"^\*\*(\w+)\*\* ", page, re.MULTILINE) == ORDER
    design = (ROOT / "docs" / "design.md").read_text(encoding="utf-8")
    assert re.findall(r"^\| `(\w+)` \|", design, re.MULTILINE)[: len(ORDER)] == ORDER


def test_files_named_on_the_page_are_there() -> None:
    """A path in backquotes leads somewhere, from the root, from the package or from the room the sentence is about."""
    page = (ROOT / "docs" / "architecture.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:[\w.]+/)+[\w.]*)`", page))
    assert len(named) > 20
    places = (ROOT, PACKAGE, *(PACKAGE / room for room in ORDER))
    gone = [name for name in named if not any((place / name).exists() for place in places)]
    assert [name for name in gone if "NAME" not in name] in ([], ["results/"]), gone
