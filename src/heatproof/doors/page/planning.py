"""The plan of a test day as long work, and whether the spreads it needs are there."""

from functools import partial
from typing import Any

from heatproof.doors.day_options import told_ambient
from heatproof.doors.options import duties_named
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.views.part_gains import value_title
from heatproof.doors.page.views.plan import planned_view
from heatproof.doors.planned import Wanted, planned
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.logs.planning.plan import doubtful_rows, felt_parameters
from heatproof.numerics.at_once import Progress


def plan_tests(
    project: Project, fitted: tuple[str, ...], options: dict[str, Any], tell: Progress
) -> dict[str, Any]:
    """Sensors, runs and what counts as pass, as `heatproof plan` finds them. A job of the page."""
    answer: Answer = options["answer"]
    day = told_ambient(options["ambient"], "ambient of the day") if options["ambient"] else None
    wanted = Wanted(day, options["sensors"], options["runs"], tuple(options["places"]))
    duties = duties_named(project, options["duties"] or None)
    steps, done = steps_of(answer), 1
    tell(0, steps, "the runs as they are")

    def counted(path: str) -> None:
        nonlocal done
        done += 1
        tell(done, steps, value_title(path))

    found = planned(project, answer.variant, duties, answer.verdict, wanted, jobs=1, tell=counted)
    return {"_plan": found, "_told": partial(planned_view, found)}


def steps_of(answer: Answer) -> int:
    """The runs as they are, and once more for every value that a margin in doubt feels."""
    matrix, rows = answer.verdict.sensitivities, doubtful_rows(answer.verdict)
    return 1 + (len(felt_parameters(answer.variant, matrix, rows)) if matrix is not None and rows else 0)


def refuse_without_spreads(desk: Desk) -> None:
    """Refused while the spreads of what is on the desk are not there."""
    what, step = missing_spreads(desk)
    if what:
        raise Refused([Finding("error", what, next_step=step)])


def missing_spreads(desk: Desk) -> tuple[str, str]:
    """Why no plan can be made yet, and what to do; empty where it can."""
    with desk.lock:
        answer, state = desk.answer(), desk.state
        if answer is None:
            return "a plan needs the full answer", "wait until all duties are solved"
        if answer.own_spread:
            return "", ""
        what = "a plan needs the spreads of this variant"
        if state in desk.results.spreadless:
            return "the spreads of this variant could not be worked out", "see what the check found"
        if not desk.background:
            return what, "run `heatproof check` on the project, which keeps them, and open it again"
        if desk.skip_background:
            return what, "let the background go on, which works them out"
        return what, "wait until the background has worked them out"
