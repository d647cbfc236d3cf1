"""Why each measure is fitted or left out: what its file says, and what changing that one thing does to the margins."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heatproof.kit.findings import Findings
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.report.reader_units import ReaderUnits
from heatproof.study.runs.cases import case, run_cases
from heatproof.verdict.verdict import Verdict
from heatproof.verdict.words import within

NOTHING = 0.5  # K, less is not called a change


@dataclass(frozen=True)
class Reason:
    """One measure. change K: what fitting (or, where fitted, leaving out) it does to `part`, the part it matters to
    most; worst K: smallest margin of the kit then."""

    name: str
    title: str
    group: str
    fitted: bool
    note: str
    cost: float
    mass: float
    labour: float
    also: tuple[str, ...]
    change: float
    part: str
    worst: float
    unsolved: str = ""


def reasons(project: Project, variant: Variant, verdict: Verdict, *, jobs: int = 2) -> list[dict[str, Any]]:
    """Plain data of a Reason for every measure, in the order of the file. Every other variant is solved once."""
    others = {name: changed_set(project, variant, name) for name in project.measures}
    built = {name: tried(project, names) for name, names in others.items()}
    there = {name: one for name, one in built.items() if one is not None}
    outcomes = run_cases([case(one, project.duties) for one in there.values()], jobs=jobs)
    by_name = dict(zip(there, outcomes, strict=True))
    base = {(row.part, row.duty): row.margin for row in verdict.rows}
    found = []
    for name, measure in project.measures.items():
        outcome = by_name.get(name)
        margins = outcome.margins if outcome is not None else {}
        part, change = largest(base, margins)
        unsolved = (
            "cannot be fitted as the kit stands" if outcome is None else "; ".join(outcome.unsolved.values())
        )
        more, fewer = set(others[name]) - set(variant.fitted), set(variant.fitted) - set(others[name])
        found.append(
            {
                "name": name,
                "title": measure.title or name,
                "group": measure.group,
                "fitted": name in variant.fitted,
                "note": measure.note,
                "cost": measure.cost,
                "mass": measure.mass,
                "labour": measure.labour,
                "also": [f"and {m}" for m in sorted(more - {name})]
                + [f"{m} left out" for m in sorted(fewer - {name})],
                "change": change,
                "part": part,
                "worst": min(margins.values(), default=0.0),
                "unsolved": unsolved,
            }
        )
    return found


def from_plain(data: Mapping[str, Any]) -> Reason:
    """The Reason again."""
    return Reason(**{**data, "also": tuple(data["also"])})


def changed_set(project: Project, variant: Variant, name: str) -> tuple[str, ...]:
    """The kit without a fitted measure and what needs it, or with one and what it needs."""
    if name not in variant.fitted:
        return project.companions(name, variant.fitted)
    gone = {name}
    while more := {m for m in variant.fitted if m not in gone and gone & set(project.measures[m].needs)}:
        gone |= more
    return tuple(m for m in variant.fitted if m not in gone)


def tried(project: Project, names: tuple[str, ...]) -> Variant | None:
    """The variant; None where it cannot be built."""
    findings = Findings()
    built = project.try_variant(names, findings)
    return None if findings.errors else built


def largest(
    base: Mapping[tuple[str, str], float], other: Mapping[tuple[str, str], float]
) -> tuple[str, float]:
    """Part whose margin changes most where it matters: changes count less the more is left."""

    def weight(key: tuple[str, str]) -> float:
        room = max(min(base[key], other[key]), 0.0)
        return abs(other[key] - base[key]) / (1.0 + room / 20.0)

    both = [key for key in base if key in other]
    if not both:
        return "", 0.0
    key = max(both, key=weight)
    return key[0], other[key] - base[key]


def told(one: Reason, titles: Mapping[str, str], units: ReaderUnits) -> str:
    """One sentence or two: the file's own note first."""
    note = f"{one.note.rstrip('.')}. " if one.note else ""
    if one.unsolved:
        return f"{note}Not tried: {one.unsolved}."
    if abs(one.change) < NOTHING:
        what = "Leaving it out" if one.fitted else "Fitting it"
        return f"{note}{what} changes no margin by more than {units.difference(NOTHING, 1).lstrip('+')}."
    part = within(titles.get(one.part, one.part))
    change = units.difference(one.change, 0 if abs(one.change) >= 3.0 else 1)
    also = f" (with {', '.join(one.also)})" if one.also else ""
    verb = "Without it" if one.fitted else "With it"
    return f"{note}{verb}{also}: {part} {change} of margin; closest limit of the kit then {units.difference(one.worst)}."
