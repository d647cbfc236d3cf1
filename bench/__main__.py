"""Run every module here that has `run() -> list[(label, value, unit)]` and print one aligned table.

`python -m bench` runs all; `python -m bench NAME …` some; `--first-compile` adds a compile into an empty cache
(about a minute); `--write FILE` writes the table as Markdown too, with the machine it was measured on.
"""

import importlib
import os
import pkgutil
import platform
import sys
from datetime import date
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


def machine() -> str:
    """What the figures were measured on."""
    cpu = Path("/proc/cpuinfo")
    names = [line.split(":")[1].strip() for line in cpu.read_text().splitlines() if "model name" in line]
    versions = ", ".join(
        f"{name} {importlib.import_module(name).__version__}" for name in ("numpy", "scipy", "numba")
    )
    load = ", ".join(f"{k:.1f}" for k in os.getloadavg())
    return (
        f"{date.today().isoformat()}; {len(names)} × {names[0] if names else platform.machine()}; Python "
        f"{platform.python_version()}, {versions}; load of the machine at the end {load}"
    )


def markdown(found: dict[str, list[Row]]) -> str:
    """One table a bench."""
    out = [f"<!-- Written by `make bench-page`. -->\n\nMeasured: {machine()}.\n"]
    for name, rows in found.items():
        out.append(f"\n### {name.replace('_', ' ').capitalize()}\n\n| what | measured |\n|---|---|\n")
        for label, value, unit in rows:
            indent = "&emsp;" if label.startswith("  ") else ""
            out.append(f"| {indent}{label.strip()} | {value:.4g} {unit} |\n")
    return "".join(out)


def file_to_write() -> Path | None:
    """After `--write`."""
    at = sys.argv.index("--write") + 1 if "--write" in sys.argv else len(sys.argv)
    return Path(sys.argv.pop(at)) if at < len(sys.argv) else None


def main() -> int:
    page = file_to_write()
    asked = [a for a in sys.argv[1:] if not a.startswith("-")]
    unknown = sorted(set(asked) - set(names()))
    if unknown:
        print(f"no bench named {', '.join(unknown)}; there are: {', '.join(names())}", file=sys.stderr)
        return 2
    found = {}
    for name in asked or names():
        rows = rows_of(name)
        if rows:
            found[name] = rows
            print(name.replace("_", " "))
            show(rows, max(78, *(len(label) for label, _, _ in rows)))
    if page is not None:
        page.write_text(markdown(found), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
