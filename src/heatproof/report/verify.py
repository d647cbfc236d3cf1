"""A record computed again: does it still hold?"""

import dataclasses
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from heatproof.kit.project import Project
from heatproof.numerics.at_once import Progress
from heatproof.report.changes import file_changes
from heatproof.report.gathered import input_files
from heatproof.report.record_shape import parsed_record
from heatproof.report.signed_files import read_tested
from heatproof.study.questions.check import check, variant_of, versions
from heatproof.verdict.judged import judged
from heatproof.verdict.words import ZERO_C

WITHIN = 0.1  # K


@dataclass(frozen=True)
class Difference:
    """One limit whose figures differ. was, now: K; what: `peak` or `margin`."""

    part: str
    title: str
    duty: str
    what: str
    was: float
    now: float


@dataclass(frozen=True)
class Verified:
    """holds: no input changed and every figure within WITHIN. largest K: of all differences of peaks and margins."""

    holds: bool
    changed_inputs: tuple[str, ...]
    changed_versions: tuple[str, ...]
    differences: tuple[Difference, ...]
    missing: tuple[str, ...]
    largest: float
    compared: int
    released: bool

    @property
    def sentence(self) -> str:
        """What came of it."""
        if self.holds:
            return (
                f"The record holds: {self.compared} limits computed again, largest difference {self.largest:.2g} K; "
                "no input has changed."
            )
        if self.changed_inputs:
            return f"The record does not hold for these files: {', '.join(self.changed_inputs)}."
        return (
            f"The record does not hold: figures differ by up to {self.largest:.2g} K, "
            f"{WITHIN:g} K are allowed; no input has changed."
        )


def read_record(path: Path) -> dict[str, Any]:
    """The record; beside a PDF or HTML page of the same name too. Refused where it is none."""
    if path.suffix.lower() in (".pdf", ".html"):
        path = path.with_suffix(".json")
    return parsed_record(path)


def verify(
    project: Project, kept: dict[str, Any], *, jobs: int = 2, progress: Progress | None = None
) -> Verified:
    """Solves every duty of the recorded variant again. Raises Refused and DutyNotSolved."""
    variant, _ = variant_of(project, kept["kit"]["fitted"])
    titles = {part.part for part in judged(variant)}
    inputs = [
        {"file": one.name, "sha256": one.sha256} for one in input_files(project, read_tested(project, titles))
    ]
    changed = tuple(file_changes(inputs, kept["inputs"]))
    verdict = check(
        project, dataclasses.replace(variant), spreads=False, fresh=True, jobs=jobs, progress=progress
    )
    now = {(row.part, row.duty): row for row in verdict.rows}
    differences, missing, largest, compared = [], [], 0.0, 0
    for one in kept["limits"]:
        then = one["predicted"]
        row = now.get((one["part"], one["duty"]))
        if then is None:
            continue
        if row is None:
            missing.append(f"{one['title']}, {one['duty_title']}")
            continue
        compared += 1
        pairs = (
            ("peak", then["peak_degC"] + ZERO_C, row.found.peak),
            ("margin", then["margin_K"], row.margin),
        )
        for what, was, is_now in pairs:
            largest = max(largest, abs(is_now - was))
            if abs(is_now - was) > WITHIN:
                differences.append(Difference(one["part"], one["title"], one["duty"], what, was, is_now))
    known = {(one["part"], one["duty"]) for one in kept["limits"]}
    missing += [f"{row.title}, {row.duty_name} (new)" for key, row in now.items() if key not in known]
    current = versions()
    other = [
        f"{k} {current.get(k)}, recorded {v}" for k, v in kept["versions"].items() if current.get(k) != v
    ]
    return Verified(
        holds=not changed and not differences and not missing,
        changed_inputs=changed,
        changed_versions=tuple(other),
        differences=tuple(sorted(differences, key=lambda d: -abs(d.now - d.was))),
        missing=tuple(missing),
        largest=largest,
        compared=compared,
        released=bool(kept["released"]),
    )
