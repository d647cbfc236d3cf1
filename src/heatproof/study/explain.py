"""Where one part of a project gets its degrees from."""

import dataclasses
from collections.abc import Iterable

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Finding, Refused, listed, nearest
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant, Where
from heatproof.study.check import Progress, variant_of
from heatproof.study.stored import Store
from heatproof.verdict.explain import Explanation, explain_at, find_part, worst_duty
from heatproof.verdict.judged import Judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.solving import solve_all
from heatproof.verdict.spread import Sensitivities, sensitivities

MOST_MOVES = 12


def explain(
    project: Project,
    part: str,
    variant: Iterable[str] | None = None,
    *,
    duty: str | None = None,
    time: float | None = None,
    spreads: bool = True,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Explanation:
    """One part in one duty (its worst unless named) at one instant (the one that decides, or `time` s).

    What moves its margin comes from stored results where there are any, else that duty is solved again for
    every value with a spread. Raises Refused and DutyNotSolved.
    """
    built, _ = variant_of(project, variant)
    network = lay_network(built)
    found = find_part(built, network.masses, part)
    duties = named_duty(project, duty) if duty is not None else project.duties
    solved = solve_all(built, duties, network)
    key = worst_duty(found, solved)
    at_most(solved[key], key, time)
    title = built.parts[found].title if isinstance(found, str) and found in built.parts else ""
    told = explain_at(found, key, solved[key], title=title, time=time)
    if isinstance(found, str) or told.margin is None or not spreads:
        return told
    moves = matrix_for(project, built, found, key, solved[key], jobs, progress).of((found.part, key))
    return dataclasses.replace(told, moves=tuple(m for m in moves[:MOST_MOVES] if abs(m[1]) > 1e-3))


def named_duty(project: Project, name: str) -> dict[str, Duty]:
    """The duty of that key or name. Refused with the nearest."""
    for key, duty in project.duties.items():
        if name.lower() in (key.lower(), duty.name.lower()):
            return {key: duty}
    known = [*project.duties, *(duty.name for duty in project.duties.values())]
    raise Refused(
        [
            Finding(
                "error",
                f"no duty {name!r}",
                Where("duties"),
                allowed=listed(project.duties),
                nearest=nearest(name, known),
                next_step="name a duty by its file or its name",
            )
        ]
    )


def at_most(solved: Solved, duty: str, time: float | None) -> None:
    """Refused where the instant lies outside the duty."""
    length = float(solved.run.duty.duration)
    if time is not None and not 0.0 <= time <= length:
        raise Refused(
            [
                Finding(
                    "error",
                    "that instant lies outside the duty",
                    Where(f"duties/{duty}.yaml"),
                    got=f"{time:g} s",
                    allowed=f"0 to {length:g} s",
                    next_step="name an instant within the duty",
                )
            ]
        )


def matrix_for(
    project: Project,
    variant: Variant,
    part: Judged,
    duty: str,
    solved: Solved,
    jobs: int,
    progress: Progress | None,
) -> Sensitivities:
    """Stored sensitivities of this variant, else those of this part in this duty."""
    kept = Store(project, variant.fitted, spreads=True).load()
    if kept is not None and kept.sensitivities is not None:
        return kept.sensitivities
    margin = margins_in(solved.run, (part,))[part.part].margin
    steps, done = sum(1 for s in variant.spreads.values() if s.sd > 0.0), 0

    def tell(what: str) -> None:
        nonlocal done
        if what in variant.spreads:
            done += 1
            if progress is not None:
                progress(done, steps, what)

    only = {duty: project.duties[duty]}
    return sensitivities(variant, only, {(part.part, duty): margin}, jobs=jobs, tell=tell)
