"""Run every module here that has `run() -> list[(label, value, unit)]` and print one aligned table.

`python -m bench` runs all; `python -m bench NAME …` some; `--first-compile` adds a compile into an empty cache
(about a minute).
"""

import importlib
import os
import pkgutil
import sys
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

Row = tuple[str, float, str]
FIRST_COMPILE = "--first-compile"


def names() -> list[str]:
    """Modules of this package, by name."""
    found = (m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]))
    return sorted(name for name in found if not name.startswith("_"))


def rows_of(name: str) -> list[Row]:
    """Rows of one module; [] where it has no `run`."""
    module = importlib.import_module(f"bench.{name}")
    found = list(module.run()) if hasattr(module, "run") else []
    if FIRST_COMPILE in sys.argv and hasattr(module, "first_compile"):
        found += module.first_compile()
    return found


def show(rows: list[Row], width: int) -> None:
    for label, value, unit in rows:
        print(f"  {label:{width}s} {value:12.4g} {unit}", flush=True)


def main() -> int:
    asked = [a for a in sys.argv[1:] if not a.startswith("-")]
    unknown = sorted(set(asked) - set(names()))
    if unknown:
        print(f"no bench named {', '.join(unknown)}; there are: {', '.join(names())}", file=sys.stderr)
        return 2
    for name in asked or names():
        rows = rows_of(name)
        if rows:
            print(name.replace("_", " "))
            show(rows, max(78, *(len(label) for label, _, _ in rows)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
