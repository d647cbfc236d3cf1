"""`docs/validation.md`, made from the published checks: `python tests/published/validation_page.py`.

Values are printed to few digits, so that another machine's last digit does not change the page.
"""

import sys
import tomllib
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from cases import MARKS, Case, cases, groups

SECOND = Path(__file__).parents[1] / "second" / "measured.toml"
PAGE = Path(__file__).parents[2] / "docs" / "validation.md"
SHORT = {
    "published": "P",
    "library": "L",
    "theory": "T",
    "common practice, no source": "C",
    "from memory": "M",
}
MEANING = {
    "published": "a value or formula printed in a source that was read",
    "library": "computed by a named general-purpose library or public code",
    "theory": "a closed form, or arithmetic by hand from the definition",
    "common practice, no source": "what the trade takes for granted; no source",
    "from memory": "a book's or standard's value quoted from memory, recomputed where it could be",
}
TITLES = {
    "burned-gas": "Burned gas",
    "compact-surfaces": "Compact surfaces and fins",
    "conduction-convection": "Conduction and convection",
    "engine": "Engine",
    "exchangers-effectiveness": "Exchangers: effectiveness",
    "exchangers-worked": "Exchangers: worked examples",
    "fluids": "Fluids",
    "kays-london": "Measured surfaces",
    "pressure-loss": "Pressure loss",
    "radiation": "Radiation and view factors",
    "soak-and-siphon": "Soak and natural circulation",
    "traced-view-factors": "View factors traced by rays",
    "turbo": "Turbocharger and charge air",
    "vehicle-and-instruments": "Vehicle and instruments",
    "whole-chain": "Whole chains through the solvers",
}
HEAD = """# Checked against what

Made from the checks by `make validation`; do not edit. Every row is a test that runs with `make test`.

{count} checks, of {functions} functions or chains, against sources outside this project:

{grades}

*share* is the deviation as a share of the tolerance: 0 meets the value, 1 just passes. A tolerance is as wide as the
source's own digits or scatter, and its reason stands beside the case in `tests/published/`. Units are SI unless the row
says otherwise; several values in a row are several results of one case. Median share {median:.2f}; {tight} checks lie above
0.9.

Whole cars: ten drives of one small car without turbo are held against the model, coolant and intake air, drive by drive and
misses included, in [real cars](real-cars.md). No source holds a whole bay's temperatures together with its car and kit, so a
prototype must be instrumented before a kit is sold ([test days](theory/test-days.md)). Checks that no single
number states (trends, invariants, balances) are in the tests of each room.
"""


COLUMNS = {
    "part_moment": "parts, every moment",
    "part_peak": "parts, peak",
    "liquid_moment": "liquids, every moment",
    "liquid_peak": "liquids, peak",
    "air_peak": "bay air, peak",
}
SECOND_HEAD = (
    """## The whole demo, solved twice

`tests/second` writes every balance of the invented hatchback out anew in plain NumPy (conduction, T⁴ radiation of all pairs,
films, air and coolant flows, engine, turbo, exchangers, boiling, relays) and integrates with SciPy's Radau at 0.001 K. It
shares the laid network's data with production (capacities, conductances, areas, curves and tables) and no code. Largest
difference in kelvin over all masses, at every stored moment and in the peak; `fine` is production at 0.03 K and steps of at
most 2 s, `default` as `check` runs. Measured by `make test-slow`, which holds these figures.

| duty | production's step | """
    + " | ".join(COLUMNS.values())
    + """ |
|---|---|---|---|---|---|---|
"""
)


def make_page() -> str:
    """The whole page."""
    found = {case: case.got() for case in map(Frozen, cases())}
    share = np.array([worst(case, got) for case, got in found.items()])
    head = HEAD.format(
        count=len(found),
        functions=len({case.case["call"] for case in found}),
        grades=grades(Counter(str(case.case["mark"]) for case in found)),
        median=float(np.median(share)),
        tight=int(np.sum(share > 0.9)),
    )
    sections = []
    for name, group in groups():
        rows = [row(case, got) for case, got in found.items() if case.file == name]
        table = (
            "| check | expected | got | tolerance | share | grade | source |\n|---|---|---|---|---|---|---|\n"
        )
        sections.append(
            f"## {TITLES[name]}\n\n{len(rows)} checks. {group['citation']}.\n\n"
            f"How obtained: {group['obtained']}.\n\n{table}" + "\n".join(rows)
        )
    return head + "\n" + "\n\n".join([second_solution(), *sections]) + "\n"


def second_solution() -> str:
    """What the slow test of the second solution measured, duty by duty."""
    rows = []
    for duty, steps in tomllib.loads(SECOND.read_text(encoding="utf-8")).items():
        for step, found in steps.items():
            cells = [f"{found[key]:.2f} {found[f'{key}_where']}" for key in COLUMNS]
            rows.append("| " + " | ".join((duty, step, *cells)) + " |")
    return SECOND_HEAD + "\n".join(rows)


class Frozen(Case):
    """A case as a key: by identity."""

    def __init__(self, case: Case) -> None:
        super().__init__(case.file, case.group, case.case)

    __hash__ = object.__hash__
    __eq__ = object.__eq__


def grades(counted: Counter[str]) -> str:
    """Counts by grade, as a table."""
    rows = [f"| {SHORT[mark]} | {counted[mark]} | {MEANING[mark]} |" for mark in MARKS]
    return "| grade | checks | the expected value is |\n|---|---|---|\n" + "\n".join(rows)


def worst(case: Case, got: np.ndarray) -> float:
    """Largest deviation as a share of the tolerance."""
    return float(np.max(np.abs(got - case.expected) / case.allowed))


def row(case: Case, got: np.ndarray) -> str:
    """One line of the table."""
    cells = (
        case.case["id"],
        figures(case.expected, 7),
        figures(got, 5),
        tolerance(case),
        f"{worst(case, got):.2f}",
        SHORT[case.case["mark"]],
        case.source,
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def figures(values: np.ndarray, digits: int) -> str:
    """Numbers to so many digits; what is rounding only counts as 0."""
    return ", ".join(f"{0.0 if abs(v) < 1e-12 else v:.{digits}g}" for v in values)


def tolerance(case: Case) -> str:
    """As the case gives it."""
    parts = []
    if "rel" in case.case:
        parts.append(f"{100.0 * case.case['rel']:.3g} %")
    if "abs" in case.case:
        parts.append(f"{case.case['abs']:.3g}")
    return " + ".join(parts)


if __name__ == "__main__":
    PAGE.write_text(make_page(), encoding="utf-8")
