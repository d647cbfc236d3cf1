"""The thread that computes for a desk: the answer asked for first, then what makes the next answers quick, then spreads.

Kernels run without the interpreter's lock, so requests are answered meanwhile. Work that is no longer wanted ends
within one solve.
"""

import logging
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial

from heatproof.doors.page.answers import Answer, margins_only, solve_everything, verdict_of
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.edits import State
from heatproof.doors.page.progress import Running, Stopped
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.study.store import VerdictStore
from heatproof.verdict.draws import DRAWS
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import DutyNotSolved
from heatproof.verdict.spread import Sensitivities, sensitivities

LOG = logging.getLogger("heatproof.page")
SETTLE = 0.12  # s, left to the quick answer and the browser that draws it


class WhileWanted(Mapping[str, Duty]):
    """Duties that ask before each look-up whether the work is still wanted, so that it ends within one solve."""

    def __init__(self, duties: Mapping[str, Duty], ask: Callable[[], None]) -> None:
        self.duties, self.ask = duties, ask

    def __getitem__(self, key: str) -> Duty:
        self.ask()
        return self.duties[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.duties)

    def __len__(self) -> int:
        return len(self.duties)


class Worker:
    """Begins at once; see the module's text."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.results = desk, desk.results
        self._ending = False
        self.thread = threading.Thread(target=self._work, name="heatproof-worker", daemon=True)
        self.thread.start()

    def close(self) -> None:
        """Ends the thread."""
        with self.desk.changed:
            self._ending = True
            self.desk.changed.notify_all()
        self.thread.join(timeout=10.0)

    def _work(self) -> None:
        desk = self.desk
        while True:
            with desk.changed:
                task = self._next_task()
                while task is None and not self._ending:
                    desk.show_progress(Running())
                    desk.changed.wait()
                    task = self._next_task()
                # The quick answer goes first, and edits that follow at once are solved as one.
                rest = desk.moved_at + SETTLE - time.monotonic()
                if rest > 0.0 and not self._ending:
                    desk.changed.wait(rest)
                    continue
                if self._ending:
                    return
            try:
                assert task is not None
                task()
            except Stopped:
                continue

    # --- what is next -----------------------------------------------------------------------------------
    def _next_task(self) -> Callable[[], None] | None:
        desk, state = self.desk, self.desk.state
        if state not in self.results.answers:
            return None if state in self.results.unsolved else lambda: self._full(state)
        if desk.reference != desk.saved and self._open(desk.reference):
            return partial(self._full, desk.reference)
        if not desk.background or desk.skip_background:
            return None
        todo = self._untried(state)
        if todo:
            return lambda: self._try(state, todo[0], len(todo))
        if self._open(desk.saved):
            return partial(self._full, desk.saved)
        if state not in self.results.matrices and state not in self.results.spreadless:
            return lambda: self._spread(state)
        return None

    def _open(self, state: State) -> bool:
        """Whether a state has no answer and may have one."""
        return state not in self.results.answers and state not in self.results.unsolved

    def _untried(self, state: State) -> list[State]:
        found = []
        for name in self.results.answers[state].project.measures:
            try:
                other = self.desk.toggled(state, name)
                self.desk.variant_of(other)
            except Refused:
                continue
            if other not in self.results.tried and other not in self.results.unsolved and other not in found:
                found.append(other)
        return found

    def _still_wanted(self, state: State) -> None:
        """Stopped where the state on the desk is another one that has no answer yet."""
        desk = self.desk
        with desk.lock:
            if self._ending or (desk.state != state and desk.state not in self.results.answers):
                raise Stopped

    # --- the full answer --------------------------------------------------------------------------------
    def _full(self, state: State) -> None:
        try:
            self._solve(state)
        except Stopped:
            raise
        except Exception as error:
            self._fail(state, error)

    def _solve(self, state: State) -> None:
        desk = self.desk
        project, variant = desk.project_of(state), desk.variant_of(state)
        began = time.perf_counter()
        desk.show_progress(Running("answer", 0, len(project.duties)))
        tell = self._teller(state, Running("answer", -1, len(project.duties)))
        solved = solve_everything(project, variant, tell, threads=2)
        matrix, own = self._matrix_for(state, project, variant)
        verdict = verdict_of(project, state.fitted, solved, matrix, own=own)
        parts = {part.part: part for part in judged(variant)}
        answer = Answer(state, project, variant, verdict, solved, parts, time.perf_counter() - began, own)
        with desk.changed:
            self.results.keep_answer(answer, {desk.saved, desk.state, desk.reference})
            desk.tell()

    def _teller(self, state: State, progress: Running) -> Callable[[str], None]:
        """Counts steps from `progress` on; raises Stopped where the work is not wanted any more."""
        now = progress

        def tell(detail: str) -> None:
            nonlocal now
            with self.desk.changed:
                self._still_wanted(state)
                now = replace(now, done=now.done + 1, detail=detail)
                self.desk.show_progress(now)

        return tell

    def _matrix_for(
        self, state: State, project: Project, variant: Variant
    ) -> tuple[Sensitivities | None, bool]:
        """The state's own spreads where they are known (from results on disk as well), else the newest of another."""
        matrices = self.results.matrices
        if state in matrices:
            return matrices[state], True
        if not state.edits:
            kept = VerdictStore(project, variant.fitted, spreads=True).load()
            if kept is not None and kept.sensitivities is not None:
                matrices[state] = kept.sensitivities
                return kept.sensitivities, True
        return next(reversed(matrices.values()), None), False

    def _fail(self, state: State, error: Exception) -> None:
        desk = self.desk
        with desk.changed:
            self.results.unsolved.add(state)
            if state == desk.state:
                desk.failed = (desk.version, failure(error))
            if not isinstance(error, DutyNotSolved | Refused):
                LOG.exception("a computation failed")
            desk.tell()

    # --- in the background ------------------------------------------------------------------------------
    def _try(self, state: State, other: State, left: int) -> None:
        """One toggled measure, margins only."""
        desk = self.desk
        steps = len(self.results.answers[state].project.measures)
        desk.show_progress(Running("measures", steps - left, steps))
        try:
            found = margins_only(
                desk.project_of(other), desk.variant_of(other), lambda _: self._still_wanted(state)
            )
        except Stopped:
            raise
        except Exception as error:
            LOG.info("a measure could not be tried: %s", error)
            self.results.unsolved.add(other)
            return
        with desk.changed:
            self.results.keep_margins(other, found)
            desk.tell()

    def _spread(self, state: State) -> None:
        desk, answer = self.desk, self.results.answers[state]
        progress = Running(
            "spreads", 0, sum(1 for s in answer.variant.spreads.values() if s.sd > 0.0) + DRAWS
        )
        desk.show_progress(progress)
        try:
            matrix = sensitivities(
                answer.variant,
                WhileWanted(answer.project.duties, partial(self._still_wanted, state)),
                answer.margins,
                rows={key: one.run.time.size for key, one in answer.solved.items()},
                jobs=1,
                tell=self._teller(state, progress),
            )
        except Stopped:
            raise
        except Exception as error:
            self.results.spreadless.add(state)
            LOG.warning("spreads could not be worked out: %s", error)
            return
        verdict = verdict_of(answer.project, state.fitted, answer.solved, matrix, own=True)
        with desk.changed:
            self.results.keep_matrix(state, matrix)
            self.results.answers[state] = replace(answer, verdict=verdict, own_spread=True)
            desk.tell()
        if not state.edits:
            VerdictStore(answer.project, answer.variant.fitted, spreads=True).save(verdict)


def failure(error: Exception) -> dict[str, object]:
    """What could not be computed, as data."""
    if isinstance(error, DutyNotSolved):
        return {
            "what": f"{error.name} could not be solved: {error.what}",
            "time_s": error.time,
            "next_step": f"undo, or {error.next_step}",
        }
    return {"what": str(error) or type(error).__name__, "next_step": "undo the last edit"}
