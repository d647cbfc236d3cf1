"""Which runs the first-order spread needs, so that it costs a few runs of the dear duties and not one a value.

Two savings, both checked as they are used. *Coarse steps*: a long duty is integrated with a looser tolerance
and its drive averaged over two seconds, its nominal run too, so that the change of a margin is between like and like; only where the nominal margins
stay within COARSE_WITHIN of the fine ones. *Minor values*: a value that moves no margin by more than MINOR in a
quick duty is expected to do the same in the long ones. All minor values of one kind are moved together there,
once in the same direction and once alternating; where no margin then differs by more than JOINT from what was
expected of them together, they are taken as expected, else the group is halved and each half tried again, down
to single values.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

from heatproof.assembly.model import lay_network
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.network.transient import Stepping
from heatproof.numerics.at_once import Tell, at_once
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import margins_in
from heatproof.verdict.solving import DutyNotSolved, Pace, solve_duty_of

Key = tuple[str, str]
"""Part, duty."""
Margins = dict[Key, float]
Move = Callable[[Variant, str, float], tuple[Variant, float]]
"""Variant, path, direction → the variant with that value moved, and by how many standard deviations."""

COARSE = Pace(Stepping(tolerance=0.6), hold=2)
COARSE_WITHIN = 1.0  # K between nominal margins by coarse and by fine steps
COARSE_PAYS = 0.8  # of the rows
LONG = 600  # rows from which a coarser run is tried
DEAR = 1.5  # times the rows of the quickest duty
MINOR = 0.4  # K
JOINT = 0.5  # K, of all minor values of a kind together


class NotRun(RuntimeError):
    """The moved value cannot be laid (a core better than its flows allow), or a duty is not solved with it."""


@dataclass
class Runs:
    """Runs of one variant with values moved, in duties that each have their own steps and nominal margins."""

    variant: Variant
    duties: Mapping[str, Duty]
    start: Margins
    move: Move
    jobs: int
    tell: Tell
    pace: dict[str, Pace | None] = field(default_factory=dict)
    full_runs: int = 0

    @property
    def parts(self) -> tuple[Judged, ...]:
        """What is judged."""
        return judged(self.variant)

    def margins(self, variant: Variant, duties: Iterable[str], pace: Mapping[str, Pace | None]) -> Margins:
        """Margins (K) in some duties, those of `start` only. Raises NotRun."""
        found = Margins()
        try:
            network = lay_network(variant)
            for key in duties:
                run = solve_duty_of(variant, key, self.duties[key], network, pace.get(key)).run
                found |= {(part, key): m.margin for part, m in margins_in(run, self.parts).items()}
        except (DutyNotSolved, ValueError) as error:
            raise NotRun(str(error)) from error
        return {key: m for key, m in found.items() if key in self.start}

    # --- coarse steps -------------------------------------------------------------------------------------
    def coarsen(self, rows: Mapping[str, int]) -> None:
        """Takes coarse steps, and their nominal margins, in every long duty in which they are good enough."""
        for key in [k for k in self.duties if rows.get(k, 0) >= LONG]:
            network = lay_network(self.variant)
            try:
                run = solve_duty_of(self.variant, key, self.duties[key], network, COARSE).run
            except DutyNotSolved:
                continue
            found = {(part, key): m.margin for part, m in margins_in(run, self.parts).items()}
            own = {k: m for k, m in found.items() if k in self.start}
            off = max((abs(m - self.start[k]) for k, m in own.items()), default=0.0)
            if run.time.size <= COARSE_PAYS * rows[key] and off <= COARSE_WITHIN:
                self.pace[key] = COARSE
                self.start = {**self.start, **own}

    # --- columns ------------------------------------------------------------------------------------------
    def column(self, path: str, duties: Sequence[str]) -> Margins | None:
        """K per standard deviation of one value, moved up, or down where that cannot be run; None where neither."""
        for turn in (1.0, -1.0):
            other, steps = self.move(self.variant, path, turn)
            if steps == 0.0:
                return {key: 0.0 for key in self.start if key[1] in duties}
            with suppress(NotRun):
                return self.slopes(other, steps, duties)
        return None

    def slopes(self, other: Variant, steps: float, duties: Iterable[str]) -> Margins:
        """K per standard deviation by a variant with one value moved by so many. Raises NotRun."""
        found = self.margins(other, duties, self.pace)
        return {key: (m - self.start[key]) / steps for key, m in found.items()}

    def other_side(self, path: str, duties: Sequence[str]) -> Margins | None:
        """The column of one value moved down where `column` moves it up; None where it cannot be."""
        _, up = self.move(self.variant, path, 1.0)
        other, steps = self.move(self.variant, path, -1.0)
        if steps * up >= 0.0:
            return None
        with suppress(NotRun):
            return self.slopes(other, steps, duties)
        return None

    def columns(
        self, paths: Sequence[str], duties: Sequence[str], *, last: bool
    ) -> dict[str, Margins | None]:
        """A column for every path."""
        found = {}
        work = at_once(lambda path: self.column(path, duties), paths, self.jobs)
        for path, column in zip(paths, work, strict=True):
            found[path] = column
            if last:
                self.tell(path)
        return found

    def all_columns(self, paths: Sequence[str], rows: Mapping[str, int]) -> dict[str, Margins | None]:
        """Every path in every duty: the quick duties one by one, the dear ones as the module says."""
        quick, dear = split_duties(self.duties, rows)
        if not dear:
            return self.columns(paths, list(self.duties), last=True)
        found = self.columns(paths, quick, last=False)
        expected = {path: expectation(one, quick, dear, self.start) for path, one in found.items() if one}
        minor = [path for path, one in expected.items() if one is not None]
        kinds = grouped_by_kind(minor)
        alone = [path for path in paths if not any(path in kind for kind in kinds)]
        later = self.columns(alone, dear, last=True)
        for kind in kinds:
            later |= self.together(kind, dear, {path: expected[path] or {} for path in kind})
        return {path: merged(found[path], later[path]) for path in paths}

    def together(
        self, paths: list[str], dear: list[str], expected: Mapping[str, Margins]
    ) -> dict[str, Margins | None]:
        """Columns of minor values: as expected, where moving them together shows no more than that."""
        if len(paths) == 1:
            return self.columns(paths, dear, last=True)
        checks = list(
            at_once(lambda turn: self.as_expected(paths, turn, dear, expected), (1.0, -1.0), self.jobs)
        )
        if all(checks):
            for path in paths:
                self.tell(path)
            return {path: expected[path] for path in paths}
        half = len(paths) // 2
        return self.together(paths[:half], dear, expected) | self.together(paths[half:], dear, expected)

    def as_expected(
        self, paths: list[str], turn: float, dear: list[str], expected: Mapping[str, Margins]
    ) -> bool:
        """Whether all moved at once, every second one times `turn`, change no margin otherwise than expected."""
        other, wanted = self.variant, dict.fromkeys((k for k in self.start if k[1] in dear), 0.0)
        for k, path in enumerate(paths):
            other, steps = self.move(other, path, turn if k % 2 else 1.0)
            for key, change in expected[path].items():
                wanted[key] += steps * change
        try:
            found = self.margins(other, dear, self.pace)
        except NotRun:
            return False
        return all(abs(m - self.start[key] - wanted[key]) <= JOINT for key, m in found.items())


def split_duties(duties: Iterable[str], rows: Mapping[str, int]) -> tuple[list[str], list[str]]:
    """Quick and dear duties, by the rows of their nominal runs; all are quick where the rows are not known."""
    known = {key: rows[key] for key in duties if key in rows}
    least = min(known.values(), default=0)
    dear = [key for key, n in known.items() if n > DEAR * least]
    return [key for key in duties if key not in dear], dear


def expectation(
    column: Margins, quick: Sequence[str], dear: Sequence[str], keys: Iterable[Key]
) -> Margins | None:
    """What a value does in the dear duties, from the quick one in which it does least; None where that is
    more than MINOR somewhere."""
    of = {duty: {part: c for (part, d), c in column.items() if d == duty} for duty in quick}
    most = {duty: max((abs(c) for c in changes.values()), default=0.0) for duty, changes in of.items()}
    duty = min(most, key=most.__getitem__)
    if most[duty] > MINOR:
        return None
    return {key: of[duty].get(key[0], 0.0) for key in keys if key[1] in dear}


def grouped_by_kind(paths: Iterable[str]) -> list[list[str]]:
    """Paths of the same section and the same last word; only groups of more than two save anything."""
    kinds: dict[tuple[str, str], list[str]] = {}
    for path in paths:
        words = path.split(".")
        kinds.setdefault((words[0], words[-1]), []).append(path)
    return [kind for kind in kinds.values() if len(kind) > 2]


def merged(one: Margins | None, other: Margins | None) -> Margins | None:
    """Both parts of a column; None where one was not solved."""
    return None if one is None or other is None else {**one, **other}
