"""The main job: a project's verdict."""

import dataclasses
import platform
from collections.abc import Iterable, Mapping
from importlib.metadata import version
from pathlib import Path

from heatproof._program_hash import kernel_hash
from heatproof._version import __version__
from heatproof.assembly.bay.lumps import geometry_on
from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.checks.variant import check_variant
from heatproof.kit.findings import Finding, Findings, Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress, counted
from heatproof.study.store import VerdictStore
from heatproof.verdict.draws import DRAWS
from heatproof.verdict.solving import solve_all
from heatproof.verdict.spread import Sensitivities
from heatproof.verdict.verdict import Verdict, judge


def check(
    project: Project | str | Path,
    variant: Iterable[str] | Variant | None = None,
    *,
    duties: Iterable[str] | None = None,
    spreads: bool | Sensitivities = True,
    fresh: bool = False,
    jobs: int = 2,
    progress: Progress | None = None,
    solved: Mapping[str, Solved] | None = None,
) -> Verdict:
    """All duties, all limits.

    duties: names of those to check; None: all, which is what a verdict on the kit needs.

    variant: measures to fit (None: those the kit has), or a variant built elsewhere, whose results are not
    stored. spreads: False leaves confidences out; sensitivities known already are used as they are. fresh: True solves
    again even where results are stored. solved: runs of this variant through every duty, by whoever has them; a verdict on
    what was given is not stored. Raises Refused (bad input) and DutyNotSolved.
    """
    read = project if isinstance(project, Project) else read_project(project)
    chosen = dict(read.duties) if duties is None else {name: read.duties[name] for name in duties}
    if isinstance(variant, Variant):
        return finished(read, variant, [], judged_now(chosen, variant, spreads, jobs, progress, solved))
    built, said = variant_of(read, variant)
    if solved is not None or isinstance(spreads, Sensitivities):
        return finished(read, built, said, judged_now(chosen, built, spreads, jobs, progress, solved))
    store = VerdictStore(read, built.fitted, spreads=spreads, duties=tuple(chosen))
    kept = None if fresh else store.load()
    if kept is not None:
        return finished(read, built, [*said, *store.notes], dataclasses.replace(kept, stored=True))
    found = judged_now(chosen, built, spreads, jobs, progress)
    store.save(found)
    return finished(read, built, [*said, *store.notes], found)


def variant_of(project: Project, fitted: Iterable[str] | Variant | None) -> tuple[Variant, list[Finding]]:
    """A variant and what its checks say. Refused where it cannot be built. One that is built already stays as it is."""
    if isinstance(fitted, Variant):
        return fitted, list(check_variant(fitted))
    findings = Findings()
    variant = project.try_variant(fitted, findings)
    findings.refuse_errors()
    if variant is None:
        raise Refused(project.findings)
    return variant, list(findings)


def judged_now(
    duties: Mapping[str, Duty],
    variant: Variant,
    spreads: bool | Sensitivities,
    jobs: int,
    progress: Progress | None,
    solved: Mapping[str, Solved] | None = None,
) -> Verdict:
    """The verdict by solving, step by step: duties first (unless given), then every uncertain value. Refused where shapes
    stand in each other."""
    from heatproof.study.questions.bay_summary import refuse_impossible

    refuse_impossible(variant)
    uncertain = sum(1 for s in variant.spreads.values() if s.sd > 0.0) + DRAWS if spreads is True else 0
    tell = counted(progress, (0 if solved is not None else len(duties)) + uncertain)
    runs = solved if solved is not None else solve_all(variant, duties, lay_network(variant), tell)
    verdict = judge(variant, duties, spreads=spreads, jobs=jobs, solved=runs, tell=tell)
    return with_bay(variant, verdict, runs)


def with_bay(variant: Variant, verdict: Verdict, runs: Mapping[str, Solved]) -> Verdict:
    """With local peaks beside the margins, and what the bay's shapes and clearances have to say."""
    from heatproof.study.questions.bay_summary import bay_summary, local_finding, local_rises

    if not geometry_on(variant):
        return dataclasses.replace(verdict, findings=(*verdict.findings, *bay_summary(variant)))

    rises = local_rises(variant, verdict, runs)
    rows = tuple(dataclasses.replace(row, local_rise=rises.get((row.part, row.duty))) for row in verdict.rows)
    findings = (*verdict.findings, *local_finding(rows), *bay_summary(variant))
    return dataclasses.replace(verdict, rows=rows, findings=findings)


def finished(project: Project, variant: Variant, said: list[Finding], verdict: Verdict) -> Verdict:
    """With what reading the project had to say, versions and the hash of the input."""
    findings = dict.fromkeys([*project.findings, *said, *verdict.findings])
    return dataclasses.replace(
        verdict, findings=tuple(findings), versions=versions(), project_hash=project.hash()
    )


def versions() -> dict[str, str]:
    """What the numbers were made with."""
    used = {name: version(name) for name in ("numpy", "scipy", "numba")}
    return {
        "heatproof": __version__,
        "kernels": kernel_hash(),
        "python": platform.python_version(),
        **used,
    }
