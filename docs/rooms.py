"""The rooms of the program and their drawing, `rooms.svg`: `python docs/rooms.py` draws it anew.

The table says what stands where; arrows are measured in the sources. `tests/test_import_direction.py` holds the
sources, the table and the committed drawing against each other.
"""

import ast
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
PACKAGE = HERE.parent / "src" / "heatproof"
DRAWING = HERE / "rooms.svg"


@dataclass(frozen=True)
class Room:
    """column: place in the drawing, 0 left to 2 right. strangers: rooms it must not know although they come earlier."""

    column: float
    holds: str
    strangers: frozenset[str] = frozenset()


# A room may import rooms before it, never after it. `numerics` and `units` stand side by side.
ROOMS: dict[str, Room] = {
    "units": Room(0, "text ↔ SI, quantities"),
    "numerics": Room(1, "compiling, sparse LU", frozenset({"units"})),
    "media": Room(1, "air, gas, liquids, solids"),
    "laws": Room(1, "one function a correlation", frozenset({"units"})),
    "kit": Room(0, "project files → records", frozenset({"laws", "numerics"})),
    "shapes": Room(2, "geometry, view factors", frozenset({"kit"})),
    "network": Room(1, "masses, links, branches; solving", frozenset({"kit", "shapes", "units"})),
    "assembly": Room(1, "records → network, duties"),
    "sheet": Room(0, "answers → a project's files"),
    "verdict": Room(1, "limits, margins, confidence"),
    "study": Room(1, "check, compare, choose, size …"),
    "logs": Room(0.5, "test days: read, correct, plan"),
    "report": Room(1.5, "figures, tables, papers"),
    "session": Room(0, "Python sessions: answers as tables"),
    "doors": Room(1, "command line, local page"),
}

# Inside `logs`: folders in the order of a test day, each may import those before it.
LOGS = ("reading", "cleaning", "reducing", "predicting", "correcting", "planning")


# --- what the sources import ------------------------------------------------------------------------------
def imported_rooms(source: Path) -> set[str]:
    """Rooms that a file imports. SyntaxError where it imports relatively: a room is written by its full name."""
    found = set()
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom) and node.level:
            raise SyntaxError(f"{source}: relative import; write the room's full name")
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module] + [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        found |= {name.split(".")[1] for name in names if name.startswith("heatproof.")} & ROOMS.keys()
    return found


def imported_modules(source: Path) -> set[str]:
    """Full names of the modules that a file imports from."""
    tree = ast.walk(ast.parse(source.read_text(encoding="utf-8")))
    return {node.module for node in tree if isinstance(node, ast.ImportFrom) and node.module}


def files_of(room: str) -> list[Path]:
    """Every source of a room."""
    return sorted((PACKAGE / room).rglob("*.py"))


def imports() -> dict[str, set[str]]:
    """Room to the other rooms it imports."""
    return {room: set().union(*map(imported_rooms, files_of(room))) - {room} for room in ROOMS}


def below(room: str, known: dict[str, set[str]]) -> set[str]:
    """All rooms that a room imports, itself or through others."""
    return known[room].union(*(below(other, known) for other in known[room]))


def needed(known: dict[str, set[str]]) -> dict[str, list[str]]:
    """The imports that do not follow from others."""
    return {
        room: [r for r in ROOMS if r in others and not any(r in below(o, known) for o in others)]
        for room, others in known.items()
    }


def floors(known: dict[str, set[str]]) -> dict[str, int]:
    """Room to its floor: one above the highest room it imports."""
    found: dict[str, int] = {}
    for room in ROOMS:
        found[room] = 1 + max((found[other] for other in known[room]), default=-1)
    return found


# --- drawing ----------------------------------------------------------------------------------------------
WIDE, HIGH, ACROSS, UP = 226, 46, 248, 74  # px of a box, and from box to box
MARGIN = 12
STYLE = (
    "text{font:13px system-ui,sans-serif;fill:#1d2733}.name{font-weight:600;font-size:15px}"
    ".box{fill:#f3f5f7;stroke:#5a6b7d}.way{stroke:#5a6b7d;stroke-width:1.3;fill:none}.head{fill:#5a6b7d}"
)


def drawing() -> str:
    """The SVG."""
    known = imports()
    floor = floors(known)
    top = max(floor.values())
    width, height = 2 * ACROSS + WIDE + 2 * MARGIN, top * UP + HIGH + 2 * MARGIN

    def place(room: str) -> tuple[float, float]:
        return MARGIN + ROOMS[room].column * ACROSS, MARGIN + (top - floor[room]) * UP

    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        'role="img" aria-labelledby="title told">',
        '<title id="title">The rooms of heatproof</title>',
        f'<desc id="told">{told(needed(known))}</desc>',
        f"<style>{STYLE}</style>",
        '<defs><marker id="head" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="8" markerHeight="8" '
        'orient="auto"><path class="head" d="M0 0L8 4L0 8z"/></marker></defs>',
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
    ]
    for room, others in needed(known).items():
        lines += [arrow(place(room), place(other)) for other in others]
    for room in reversed(ROOMS):
        lines += box(room, *place(room))
    return "\n".join([*lines, "</svg>"]) + "\n"


def told(ways: dict[str, list[str]]) -> str:
    """The drawing in words."""
    return " ".join(
        f"{room} imports {' and '.join(others)}." for room, others in reversed(ways.items()) if others
    )


def arrow(start: tuple[float, float], end: tuple[float, float]) -> str:
    """From a box down to the upper edge of another; from its side where a box may stand between them."""
    x2, y2 = end[0] + WIDE / 2, end[1]
    aside = abs(end[0] - start[0]) >= ACROSS and end[1] - start[1] > UP
    if aside:
        x1, y1 = start[0] + (WIDE if end[0] > start[0] else 0), start[1] + HIGH / 2
        way = f"M{x1:g} {y1:g}Q{x2:g} {y1:g} {x2:g} {y2:g}"
    else:
        x1, y1 = start[0] + WIDE / 2, start[1] + HIGH
        bend = (y2 - y1) / 2
        way = f"M{x1:g} {y1:g}C{x1:g} {y1 + bend:g} {x2:g} {y2 - bend:g} {x2:g} {y2:g}"
    return f'<path class="way" marker-end="url(#head)" d="{way}"/>'


def box(room: str, x: float, y: float) -> list[str]:
    """A room: its name and what it holds."""
    middle = x + WIDE / 2
    return [
        f'<rect class="box" x="{x:g}" y="{y:g}" width="{WIDE}" height="{HIGH}" rx="5"/>',
        f'<text class="name" x="{middle:g}" y="{y + 19:g}" text-anchor="middle">{room}</text>',
        f'<text x="{middle:g}" y="{y + 36:g}" text-anchor="middle">{ROOMS[room].holds}</text>',
    ]


if __name__ == "__main__":
    DRAWING.write_text(drawing(), encoding="utf-8")
    print(f"Wrote {DRAWING}")
