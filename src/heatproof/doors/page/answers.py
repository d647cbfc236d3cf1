"""Full answers: all duties solved, spreads laid over from the matrix that fits best."""

import threading
from collections.abc import Callable, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from heatproof.assembly.model import Solved, lay_network
from heatproof.doors.page.edits import State
from heatproof.kit.findings import Finding
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.study.questions.check import check
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.solving import solve_duty_of
from heatproof.verdict.spread import Sensitivities, confidence, half_width, margin_values
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import SPREADS_LEFT_OUT, WORST_FIRST, Row, Verdict, order_of, state_of
from heatproof.verdict.verdict import State as Worst

Tell = Callable[[str], None]
CARRIED = "spreads are those of another variant: they are worked out again in the background"
NONE_YET = "spreads are not worked out yet: states say nothing of confidence until they are"


@dataclass(frozen=True)
class Answer:
    """One state's full answer. own_spread: False where the spreads were carried over from another state."""

    state: State
    project: Project
    variant: Variant
    verdict: Verdict
    solved: Mapping[str, Solved]
    parts: Mapping[str, Judged]
    seconds: float
    own_spread: bool

    @cached_property
    def margins(self) -> dict[Key, float]:
        """(part, duty) to margin, K. Not to be changed."""
        return {(row.part, row.duty): row.margin for row in self.verdict.rows}


def solve_everything(project: Project, variant: Variant, tell: Tell, threads: int = 1) -> dict[str, Solved]:
    """Every duty, `threads` at a time, longest soak first; `tell` is called as each begins and may raise to stop.

    Kernels run without the interpreter's lock; each thread works on a network of its own.
    """
    own = threading.local()

    def one(key: str) -> Solved:
        if not hasattr(own, "network"):
            own.network = lay_network(variant)
        return solve_duty_of(variant, key, project.duties[key], own.network)

    order = sorted(project.duties, key=lambda key: -project.duties[key].soak)
    running: dict[Future[Solved], str] = {}
    solved: dict[str, Solved] = {}
    with ThreadPoolExecutor(threads) as pool:
        for key in order:
            if len(running) == threads:
                collect(running, solved)
            tell(project.duties[key].name)
            running[pool.submit(one, key)] = key
        while running:
            collect(running, solved)
    return {key: solved[key] for key in project.duties}


def collect(running: dict[Future[Solved], str], solved: dict[str, Solved]) -> None:
    """Waits for the next duty to end. Raises what it raised."""
    for future in wait(running, return_when=FIRST_COMPLETED).done:
        solved[running.pop(future)] = future.result()


def margins_only(project: Project, variant: Variant, tell: Tell) -> dict[Key, float]:
    """Margins of a variant; the runs are dropped."""
    return margin_values(solve_everything(project, variant, tell), judged(variant))


def verdict_of(
    project: Project,
    fitted: tuple[str, ...],
    solved: Mapping[str, Solved],
    matrix: Sensitivities | None,
    *,
    own: bool,
) -> Verdict:
    """What `check` says of solved duties. own: whether the matrix was worked out for this very variant."""
    verdict = check(project, fitted, spreads=matrix if matrix is not None else False, solved=solved)
    if matrix is None:
        # The page does not leave spreads out: they are on their way.
        findings = tuple(
            replace(f, what=NONE_YET, next_step="") if f.code == SPREADS_LEFT_OUT else f
            for f in verdict.findings
        )
        return replace(verdict, findings=findings)
    return (
        verdict
        if own
        else replace(verdict, findings=(*verdict.findings, Finding("note", CARRIED, code="spread.carried")))
    )


def worst_state(rows: tuple[Row, ...]) -> Worst:
    """The worst state of any row."""
    return min((row.state for row in rows), key=WORST_FIRST.__getitem__, default="holds")


def with_spread(row: Row, sd: float | None, required: float) -> Row:
    """One row with its spread; None: without one."""
    if sd is None:
        return replace(row, sd=None, half=None, confidence=None, state=state_of(row.margin, None))
    half = half_width(float(sd), required)
    return replace(
        row,
        sd=float(sd),
        half=half,
        confidence=confidence(row.margin, float(sd)),
        state=state_of(row.margin, half),
    )


def moved_rows(answer: Answer, moves: Mapping[Key, float], required: float) -> tuple[Row, ...]:
    """Rows of an answer with margins moved by `moves` K: the quick answer."""
    rows = []
    for row in answer.verdict.rows:
        move = moves.get((row.part, row.duty), 0.0)
        if move and np.isfinite(move):
            f = row.found
            found = replace(f, margin=f.margin + move, peak=f.peak - move, judged=f.judged - move)
            row = replace(row, found=found)
        rows.append(with_spread(row, row.sd, required))
    return tuple(sorted(rows, key=order_of))
