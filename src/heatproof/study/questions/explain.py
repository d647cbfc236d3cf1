"""Where one part of a project gets its degrees from."""

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Finding, Refused, Where, listed, nearest
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress, counted
from heatproof.study.questions.check import variant_of
from heatproof.study.questions.helps import Help, measures_that_help
from heatproof.study.store import VerdictStore
from heatproof.verdict.draws import DRAWS
from heatproof.verdict.explain import Explanation, explain_at, find_part, worst_duty
from heatproof.verdict.judged import Judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.solving import solve_all
from heatproof.verdict.spread import Sensitivities, sensitivities

MOST_MOVES = 12


@dataclass(frozen=True)
class Explained(Explanation):
    """With what would help: measures not fitted, those that gain this part most first (empty: not asked for).
    moves_left_out: True where nothing was stored that says what moves the margin."""

    helps: tuple[Help, ...] = ()
    moves_left_out: bool = False


def explain(
    project: Project,
    part: str,
    variant: Iterable[str] | Variant | None = None,
    *,
    duty: str | None = None,
    time: float | None = None,
    spreads: bool = True,
    only_stored: bool = False,
    helps: bool = False,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Explained:
    """One part in one duty (its worst unless named) at one instant (the one that decides, or `time` s).

    What moves its margin comes from stored results where there are any, else (unless `only_stored`) that duty
    is solved again for every value with a spread. helps: with every measure not fitted, fitted once. Raises
    Refused and DutyNotSolved.
    """
    built, _ = variant_of(project, variant)
    network = lay_network(built)
    found = find_part(built, network.masses, part)
    duties = named_duty(project, duty) if duty is not None else project.duties
    solved = solve_all(built, duties, network)
    key = worst_duty(found, solved)
    at_most(solved[key], key, time)
    told = Explained(**vars(explain_at(found, key, solved[key], built, time=time)))
    if isinstance(found, str) or told.margin is None:
        return told
    if helps:
        pair = (key, project.duties[key])
        steps = counted(progress, len(project.measures) - len(built.fitted))
        gained = measures_that_help(project, built, found.part, pair, solved[key], jobs=jobs, tell=steps)
        told = dataclasses.replace(told, helps=gained)
    if not spreads:
        return told
    matrix = matrix_for(project, built, found, key, solved[key], jobs, progress, only_stored)
    if matrix is None:
        return dataclasses.replace(told, moves_left_out=True)
    moves = matrix.of((found.part, key))
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
    only_stored: bool,
) -> Sensitivities | None:
    """Stored sensitivities of this variant, else those of this part in this duty (None if `only_stored`)."""
    kept = VerdictStore(project, variant.fitted, spreads=True).load() if not variant.changed else None
    if kept is not None and kept.sensitivities is not None:
        return kept.sensitivities
    if only_stored:
        return None
    margin = margins_in(solved.run, (part,))[part.part].margin
    steps, done = sum(1 for s in variant.spreads.values() if s.sd > 0.0) + DRAWS, 0

    def tell(what: str) -> None:
        nonlocal done
        if what in variant.spreads:
            done += 1
            if progress is not None:
                progress(done, steps, what)

    only = {duty: project.duties[duty]}
    rows = {duty: solved.run.time.size}
    return sensitivities(variant, only, {(part.part, duty): margin}, rows=rows, jobs=jobs, tell=tell)
