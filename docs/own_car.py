"""How projects from sheets fare against the full descriptions of the shipped examples: `python docs/own_car.py` measures anew.

The sheets in `tests/sheet` answer with the examples' own data; the projects made of them are driven through the examples'
own duties. A row agrees where its margin differs from the full description's by no more than the half width (95 %) that draws
of all the sheet's class figures give it.
"""

import dataclasses
import shutil
import tempfile
from pathlib import Path

import numpy as np

from heatproof.kit.assumed import assumed_spreads
from heatproof.kit.examples import EXAMPLES
from heatproof.kit.read import read_project
from heatproof.kit.tree import read_source
from heatproof.sheet.project import start_from_sheet
from heatproof.sheet.rules import rules
from heatproof.study.questions.check import check
from heatproof.study.runs.cases import case, run_case
from heatproof.study.runs.sampling import sample

HERE = Path(__file__).parent
SHEETS = HERE.parent / "tests" / "sheet"
PAGE = HERE / "own-car-measured.md"
DRAWS = 48


def measured(name: str) -> tuple[str, list[tuple[float, str, str, float]]]:
    """A row of the table, and the rows outside their band: K off, part, duty, half width."""
    with tempfile.TemporaryDirectory() as room:
        own, full = Path(room) / "own", Path(room) / "full"
        start_from_sheet(own, read_source(SHEETS / f"{name}.yaml", SHEETS))
        shutil.copytree(EXAMPLES / name, full, ignore=shutil.ignore_patterns("results"))
        project, example = read_project(own), read_project(full)
        variant = project.variant()
        variant = dataclasses.replace(variant, spreads={**assumed_spreads(variant), **variant.spreads})
        outcome = run_case(case(variant, example.duties))
        drawn = sample(variant, example.duties, count=DRAWS, seed=1, jobs=2)
        rows = []
        for row in check(example, spreads=False).rows:
            key = (row.part, row.duty)
            if key in outcome.margins and key in drawn.keys:
                off = outcome.margins[key] - row.margin
                rows.append((off, row.title, row.duty_name, 1.96 * float(drawn.of(key).std(ddof=1))))
    off, half = np.array([r[0] for r in rows]), np.array([r[3] for r in rows])
    inside = np.abs(off) <= half
    line = (
        f"| {name} | {off.size} | {100 * inside.mean():.1f} % | {100 * np.mean(np.abs(off) <= 5):.1f} % | {off.mean():+.1f} K "
        f"| {np.sqrt(np.mean(off**2)):.1f} K | {np.median(half):.1f} K |"
    )
    return line, sorted((r for r, ok in zip(rows, inside, strict=True) if not ok), key=lambda r: -abs(r[0]))


def page() -> str:
    """The page."""
    lines = [
        "# How rules for your own car fare",
        "",
        "Made by `python docs/own_car.py`; both cars are invented. Sheets were answered with the shipped examples' own data, distances",
        "read off their shapes. Many rules were read off the same two examples: agreement shows that nothing was mistyped, not that",
        "the rules are true. A row agrees where it lies within its own band of 95 %.",
        "",
        "| sheet | rows | within band | within 5 K | mean | rms | median half width |",
        "|---|---|---|---|---|---|---|",
    ]
    worst = []
    for name in ("hatchback", "pickup"):
        line, outside = measured(name)
        lines.append(line)
        worst += [
            f"| {name} | {part} | {duty} | {off:+.0f} K | {half:.0f} K |"
            for off, part, duty, half in outside[:12]
        ]
    lines += [
        "",
        "## Furthest outside their band",
        "",
        "| sheet | part | duty | off by | half width |",
        "|---|---|---|---|---|",
        *worst,
    ]
    lines += [
        "",
        "## The rules",
        "",
        "Spread: half width that holds about 95 % of cars.",
        "",
        "| rule | what | spread | source |",
        "|---|---|---|---|",
    ]
    lines += [f"| {r.rule} | {r.what} | {r.spread} | {r.source} |" for r in rules().values()]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"Wrote {PAGE}")
