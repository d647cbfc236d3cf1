"""Every parameter of every file as markdown, made from the declarations.

`python -m heatproof.kit.reference OUTDIR` writes `car.md`, `kit.md` and `duty.md`.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

from heatproof.kit.describe import default_words, range_words, type_words
from heatproof.kit.fields import Field, fields_of
from heatproof.kit.files import write_whole
from heatproof.kit.records.base import Record
from heatproof.kit.records.engine import SpeedCurve
from heatproof.kit.records.variant import Assembly
from heatproof.kit.schema import FILES, SPREAD
from heatproof.units.quantity import Quantity

INTRO = f"""Made from the declarations in the code; do not edit.

Any number is plain (`350 W/K`) or `{{value: 350 W/K, spread: 15 %, source: "bench test"}}`. {SPREAD}.
Pressures over ambient or vacuum need the word `gauge` or `absolute`; temperature differences are in `K`.
"""


def pages() -> dict[str, str]:
    """`car`, `kit`, `duty` → markdown."""
    return {name: _page(name, record) for name, record in FILES.items()}


def write_pages(folder: Path) -> list[Path]:
    """Writes the pages; returns their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in pages().items():
        path = folder / f"{name}.md"
        write_whole(path, text.encode())
        paths.append(path)
    return paths


def _page(name: str, root: type[Record]) -> str:
    skip = set(_records(Assembly)) if name != "car" else set()
    sections = [_section(record) for record in _records(root) if record not in skip]
    return f"# {name}.yaml\n\n{INTRO}\n" + "\n".join(sections)


def _records(root: type[Record]) -> Iterator[type[Record]]:
    """A record class and those below it, each once, depth first."""
    seen: dict[type[Record], None] = {}

    def walk(record: type[Record]) -> None:
        if record in seen:
            return
        seen[record] = None
        for field in fields_of(record).values():
            for below in field.classes:
                walk(below)

    walk(root)
    yield from seen


def _section(record: type[Record]) -> str:
    about = " ".join((record.__doc__ or "").split())
    rows = "\n".join(_row(key, field) for key, field in fields_of(record).items())
    more = "\nA curve may also hold `spread` and `source`.\n" if record is SpeedCurve else ""
    head = "| key | unit or kind | default | range | meaning |\n|---|---|---|---|---|"
    return f"## {record.__name__}\n\n{about}\n\n{head}\n{rows}\n{more}"


def _row(key: str, field: Field) -> str:
    told = field.declaration
    bounds = range_words(told) if isinstance(told, Quantity) else ""
    default = default_words(field)
    if isinstance(told, Quantity) and told.spread:
        default += f" ± {told.spread} ({told.source})" if default else ""
    cells = (f"`{key}`", type_words(field), default, bounds, told.meaning)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    write_pages(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/reference"))
