"""Imports between rooms go one way."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "src" / "heatproof"

# Left to right: a room may import rooms before it, never after it. `numerics` and `units` stand side by side.
ROOMS = [
    "units",
    "numerics",
    "media",
    "laws",
    "kit",
    "shapes",
    "network",
    "assembly",
    "verdict",
    "study",
    "logs",
    "report",
    "doors",
]
# What a room must not know although it stands further left (docs/design.md, "Rooms").
STRANGERS = {
    "numerics": {"units"},
    "network": {"kit", "shapes", "units"},
    "shapes": {"kit"},
    "laws": {"units"},
    "kit": {"laws", "numerics"},
}


def imported_rooms(source: Path) -> set[str]:
    rooms = set()
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names = [node.module] + [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            pytest.fail(f"{source}: relative import; write the room's full name")
        for name in names:
            parts = name.split(".")
            if parts[0] == "heatproof" and len(parts) > 1 and parts[1] in ROOMS:
                rooms.add(parts[1])
    return rooms


@pytest.mark.parametrize("room", ROOMS)
def test_room_imports_only_to_its_left(room: str) -> None:
    allowed = set(ROOMS[: ROOMS.index(room) + 1]) - STRANGERS.get(room, set())
    for source in sorted((PACKAGE / room).rglob("*.py")):
        wrong = imported_rooms(source) - allowed
        assert not wrong, f"{source.relative_to(PACKAGE)} imports {sorted(wrong)}, which stand to its right"


def test_every_folder_is_a_known_room() -> None:
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert folders - set(ROOMS) <= {"examples"}
