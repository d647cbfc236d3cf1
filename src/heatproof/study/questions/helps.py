"""What would help one part most: every measure that is not fitted, fitted once."""

from dataclasses import dataclass

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Tell, at_once
from heatproof.study.search.measure_sets import Choice, Set, choice_of
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import margin_in
from heatproof.verdict.solving import DutyNotSolved, Pace, solve_duty_of
from heatproof.verdict.spread_runs import COARSE, LONG


@dataclass(frozen=True)
class Help:
    """gained: K of margin with the measure, and with what it needs (`also`) and without what it excludes
    (`gone`). cost: in the kit's currency, of all of that. part_gone: True where the part is no longer there."""

    measure: str
    gained: float
    cost: float
    also: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    part_gone: bool = False


def measures_that_help(
    project: Project,
    variant: Variant,
    part: str,
    duty: tuple[str, Duty],
    solved: Solved,
    *,
    jobs: int = 2,
    tell: Tell = lambda what: None,
) -> tuple[Help, ...]:
    """One run of one duty for every measure not fitted, those that gain most first. part: key of what is judged.

    A long duty is run with coarser steps, the fitted set as well, so that like is taken from like. Sets that
    cannot be built or solved are left out.
    """
    choice = choice_of(project.measures)
    fitted: Set = frozenset(choice.names.index(name) for name in variant.fitted)
    pace = COARSE if solved.run.time.size >= LONG else None
    start = margin_with(variant, part, duty, pace)
    if start is None:
        return ()
    open_ = [i for i in range(choice.size) if i not in fitted]
    work = at_once(lambda i: helped(project, choice, fitted, i, part, duty, start, pace), open_, jobs)
    found = []
    for i, one in zip(open_, work, strict=True):
        tell(choice.names[i])
        if one is not None:
            found.append(one)
    return tuple(sorted(found, key=lambda one: -one.gained))


def helped(
    project: Project,
    choice: Choice,
    fitted: Set,
    new: int,
    part: str,
    duty: tuple[str, Duty],
    start: float,
    pace: Pace | None,
) -> Help | None:
    """One measure more, with what it needs; None where that cannot be built or solved."""
    chosen = choice.brought_in(fitted, new)
    if not choice.admissible(chosen):
        return None
    try:
        other = project.variant(choice.titles(chosen))
        margin = margin_with(other, part, duty, pace)
    except (Refused, DutyNotSolved, ValueError):
        return None
    cost = float(sum(choice.price[i] for i in chosen) - sum(choice.price[i] for i in fitted))
    return Help(
        measure=choice.names[new],
        gained=0.0 if margin is None else margin - start,
        cost=cost,
        also=choice.titles(chosen - fitted - {new}),
        gone=choice.titles(fitted - chosen),
        part_gone=margin is None,
    )


def margin_with(variant: Variant, part: str, duty: tuple[str, Duty], pace: Pace | None) -> float | None:
    """Margin (K) of the part in one duty; None where this variant has it not."""
    own: Judged | None = next((one for one in judged(variant) if one.part == part), None)
    if own is None:
        return None
    found = margin_in(solve_duty_of(variant, *duty, lay_network(variant), pace).run, own)
    return None if found is None else found.margin
