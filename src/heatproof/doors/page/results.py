"""What has been computed for the states of a session, as much of it as is worth keeping."""

from collections import OrderedDict
from collections.abc import Container
from dataclasses import replace
from typing import TypeVar

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.edits import State
from heatproof.kit.project import Project
from heatproof.verdict.spread import Sensitivities
from heatproof.verdict.spread_runs import Key

MOST_ANSWERS, MOST_MARGINS, MOST_MATRICES = 5, 400, 6
V = TypeVar("V")


class Results:
    """answers: in full. tried: margins only. matrices: what uncertain values do. unsolved, spreadless: cannot be had.

    Whoever uses it holds the desk's lock.
    """

    def __init__(self) -> None:
        self.answers: OrderedDict[State, Answer] = OrderedDict()
        self.tried: OrderedDict[State, dict[Key, float]] = OrderedDict()
        self.matrices: OrderedDict[State, Sensitivities] = OrderedDict()
        self.unsolved: set[State] = set()
        self.spreadless: set[State] = set()

    def keep_answer(self, answer: Answer, never: Container[State]) -> None:
        """never: states whose answers are not dropped for it."""
        self.answers[answer.state] = answer
        self.answers.move_to_end(answer.state)
        trim(self.answers, MOST_ANSWERS, never)
        self.keep_margins(answer.state, answer.margins)

    def keep_margins(self, state: State, margins: dict[Key, float]) -> None:
        """Of a state that was only tried."""
        self.tried[state] = margins
        trim(self.tried, MOST_MARGINS)

    def keep_matrix(self, state: State, matrix: Sensitivities) -> None:
        """Sensitivities of a state."""
        self.matrices[state] = matrix
        trim(self.matrices, MOST_MATRICES)

    def nearest(self, state: State) -> Answer | None:
        """The state's answer, else the newest one with the fewest differences."""
        if state in self.answers:
            return self.answers[state]

        def nearness(one: Answer) -> tuple[bool, int]:
            measures = set(one.state.fitted) ^ set(state.fitted)
            values = set(one.state.edits) ^ set(state.edits)
            return one.state.edits == state.edits, -len(measures) - len(values)

        return max(list(self.answers.values()), key=nearness, default=None)

    def forget(self) -> None:
        """All of it."""
        for kept in (self.answers, self.matrices, self.tried, self.unsolved, self.spreadless):
            kept.clear()

    def saved_as(self, before: State, saved: State, disk: Project) -> None:
        """Edits were written: what was known with them now holds without; all else goes."""
        answer, matrix = self.answers.get(before), self.matrices.get(before)
        tried = {replace(s, edits=()): m for s, m in self.tried.items() if s.edits == before.edits}
        self.forget()
        if answer is not None and answer.variant.fitted == saved.fitted:
            self.answers[saved] = replace(answer, state=saved, project=disk)
            self.tried.update(tried)
            if matrix is not None:
                self.matrices[saved] = matrix


def trim(kept: OrderedDict[State, V], most: int, never: Container[State] = ()) -> None:
    """Drops the oldest beyond `most`."""
    for key in list(kept):
        if len(kept) <= most:
            return
        if key not in never:
            del kept[key]
