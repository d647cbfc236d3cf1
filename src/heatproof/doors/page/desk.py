"""One project on the desk: its edits and their undo, answers quick and full, and what runs in the background.

All tabs of a browser share one desk. `version` counts edits; an edit that names an older version is refused,
so that no tab works on what it does not see. One worker thread computes: the answer that is asked for first,
then what makes the next answers quick (every measure tried), then spreads. Kernels run without the
interpreter's lock, so requests are answered meanwhile.
"""

import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from heatproof.doors.page.answers import Answer, margins_only, moved_rows, solve_everything, verdict_of
from heatproof.doors.page.edits import Overlays, State, by_file
from heatproof.doors.page.named import named_or_refuse, read_named, usable_name, write_named
from heatproof.kit.findings import Finding, Findings, Refused, listed, nearest
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant, Where
from heatproof.kit.tree import read_source
from heatproof.kit.write import write_all_edits
from heatproof.study.stored import Store
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import DutyNotSolved
from heatproof.verdict.spread import Sensitivities, sensitivities
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Row

LOG = logging.getLogger("heatproof.page")
MOST_ANSWERS, MOST_MARGINS = 5, 400
SETTLE = 0.12  # s, left to the quick answer and the browser that draws it


class Stale(Exception):
    """An edit of a version that is not the present one."""


class ChangedOnDisk(Exception):
    """Files that somebody else wrote since they were read."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(", ".join(names))
        self.names = names


class Stopped(Exception):
    """A computation that is no longer wanted."""


@dataclass
class Progress:
    """What runs now. what: answer, measures, spreads or idle."""

    what: str = "idle"
    done: int = 0
    steps: int = 0
    detail: str = ""


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


class Desk:
    """See the module's text. Public methods may be called from any thread."""

    def __init__(self, folder: Path, *, background: bool = True, compute: bool = True) -> None:
        self.folder = folder
        self.lock = threading.RLock()
        self.changed = threading.Condition(self.lock)
        self.background = background
        self.listeners: list[Callable[[], None]] = []
        self.version, self.pulse = 1, 0
        self.moved_at = 0.0
        self.progress = Progress()
        self.failed: tuple[int, dict[str, object]] | None = None
        self.answers: OrderedDict[State, Answer] = OrderedDict()
        self.tried: OrderedDict[State, dict[Key, float]] = OrderedDict()
        self.matrices: OrderedDict[State, Sensitivities] = OrderedDict()
        self.unsolved: set[State] = set()
        self.spreadless: set[State] = set()
        self.skip_background = False
        self.variants: OrderedDict[State, Variant] = OrderedDict()
        self.named = read_named(folder)
        self.against = ""
        self._quick: tuple[tuple[object, ...], tuple[tuple[Row, ...], bool]] | None = None
        self._gains: tuple[tuple[object, ...], dict[str, dict[Key, float]]] | None = None
        self._load()
        self._ending = False
        self.worker = threading.Thread(target=self._work, name="heatproof-worker", daemon=True)
        if compute:
            self.worker.start()

    def _load(self) -> None:
        self.disk = read_project(self.folder)
        self.overlays = Overlays(self.disk)
        self.saved = State(self.disk.fitted)
        self.history, self.at = [self.saved], 0

    def close(self) -> None:
        """Ends the worker."""
        with self.changed:
            self._ending = True
            self.changed.notify_all()
        if self.worker.is_alive():
            self.worker.join(timeout=10.0)

    # --- state ------------------------------------------------------------------------------------------
    @property
    def state(self) -> State:
        """What is on the desk now."""
        return self.history[self.at]

    @property
    def reference(self) -> State:
        """What is compared against: the variant as saved, unless a kept one was chosen."""
        return self.named.get(self.against, self.saved)

    @property
    def dirty(self) -> bool:
        """Whether anything waits to be saved."""
        return self.state != self.saved

    def project_of(self, state: State) -> Project:
        """Read with the state's edits. Refused."""
        with self.lock:
            return self.overlays.project(state.edits)

    def variant_of(self, state: State) -> Variant:
        """Refused where it cannot be built."""
        with self.lock:
            if state not in self.variants:
                findings = Findings()
                built = self.project_of(state).try_variant(state.fitted, findings)
                findings.refuse_errors()
                if built is None:
                    raise Refused(findings)
                self.variants[state] = built
                trim(self.variants, 60)
            return self.variants[state]

    def edit(
        self,
        version: int,
        fit: Iterable[str] = (),
        leave: Iterable[str] = (),
        values: Iterable[tuple[str, str, str]] = (),
    ) -> list[str]:
        """One undoable step. Returns what went along with it, in words. Stale, Refused."""
        with self.changed:
            self._fresh(version)
            new, said = self._changed_state(self.state, list(fit), list(leave))
            for file, path, text in values:
                new = new.with_edit(file, path, text)
            self.variant_of(new)
            if new != self.state:
                self.history[self.at + 1 :] = [new]
                self.at += 1
                self._moved()
            return said

    def _fresh(self, version: int) -> None:
        if version != self.version:
            raise Stale

    def _changed_state(self, state: State, fit: list[str], leave: list[str]) -> tuple[State, list[str]]:
        measures = self.project_of(state).measures
        unknown = [name for name in [*fit, *leave] if name not in measures]
        if unknown:
            raise Refused([unknown_measure(unknown[0], measures)])
        said: list[str] = []
        fitted = set(state.fitted) - set(leave)

        def named(one: str) -> str:
            return measures[one].title or one

        for name in fit:
            for other in with_needs(name, measures):
                out = {o for o in fitted if o in measures[other].excludes or other in measures[o].excludes}
                said += [
                    f"{measures[o].title or o} is left out: it cannot be fitted with {measures[other].title or other}"
                    for o in sorted(out)
                ]
                if other != name and other not in fitted:
                    said.append(
                        f"{measures[other].title or other} is fitted too: {measures[name].title or name} needs it"
                    )
                fitted = (fitted - out) | {other}
        for name in leave:
            for other in sorted(fitted):
                if name in with_needs(other, measures):
                    fitted.discard(other)
                    said.append(
                        f"{measures[other].title or other} is left out too: it needs {measures[name].title or name}"
                    )
        return replace(state, fitted=tuple(name for name in measures if name in fitted)), said

    def toggled(self, state: State, name: str) -> State:
        """The state with one measure fitted or left out, and what must go with it."""
        fit, leave = ([], [name]) if name in state.fitted else ([name], [])
        return self._changed_state(state, fit, leave)[0]

    def undo(self, version: int) -> None:
        """Stale; nothing happens at the beginning."""
        self._step(version, -1)

    def redo(self, version: int) -> None:
        """Stale; nothing happens at the end."""
        self._step(version, +1)

    def _step(self, version: int, by: int) -> None:
        with self.changed:
            self._fresh(version)
            if 0 <= self.at + by < len(self.history):
                self.at += by
                self._moved()

    def _moved(self) -> None:
        self.version += 1
        self.moved_at = time.monotonic()
        self.failed = None
        self.tell()
        self.changed.notify_all()

    def tell(self) -> None:
        """Something to see has changed."""
        self.pulse += 1
        for listener in list(self.listeners):
            listener()

    # --- variants kept by name --------------------------------------------------------------------------
    def keep(self, version: int, name: str) -> str:
        """Keeps what is on the desk under a name, at once. Stale, Refused."""
        with self.changed:
            self._fresh(version)
            name = usable_name(self.named, name)
            named = {**self.named, name: self.state}
            write_named(self.folder, named)
            self.named = named
            self.tell()
            return name

    def drop(self, name: str) -> None:
        """Forgets a kept variant. Refused."""
        with self.changed:
            named_or_refuse(self.named, name)
            named = {key: state for key, state in self.named.items() if key != name}
            write_named(self.folder, named)
            self.named = named
            self.tell()

    def compare_with(self, name: str) -> None:
        """Every comparison is against this one from now on; "" is the variant as saved. Refused."""
        with self.changed:
            if name:
                self.variant_of(named_or_refuse(self.named, name))
            self.against = name
            self.tell()
            self.changed.notify_all()

    def take_up(self, version: int, name: str) -> None:
        """Puts a kept variant on the desk, as one undoable step. Stale, Refused."""
        with self.changed:
            self._fresh(version)
            new = named_or_refuse(self.named, name)
            self.variant_of(new)
            if new != self.state:
                self.history[self.at + 1 :] = [new]
                self.at += 1
                self._moved()

    # --- files ------------------------------------------------------------------------------------------
    def changed_files(self) -> dict[str, str | None]:
        """Files that differ on disk from what was read: name to text as it stands there, None where gone."""
        found: dict[str, str | None] = {}
        for name, source in self.disk.files.items():
            try:
                data = (self.folder / name).read_bytes()
            except OSError:
                found[name] = None
                continue
            if data != source.data:
                found[name] = data.decode("utf-8", "replace")
        return found

    def save_edits(self) -> dict[str, dict[str, str]]:
        """File to path to text: everything that Save writes."""
        found = by_file(self.state.edits)
        for name, measure in self.disk.measures.items():
            fitted = name in self.state.fitted
            if fitted != measure.fitted:
                found.setdefault("kit.yaml", {})[f"measures.{name}.fitted"] = "true" if fitted else "false"
        return found

    def save(self, version: int, *, keep_mine: bool = False) -> list[str]:
        """Writes all files or none; names written. keep_mine: lays the edits over files changed on disk.

        Stale, ChangedOnDisk (nothing is written then), Refused.
        """
        with self.changed:
            self._fresh(version)
            edits, away = self.save_edits(), self.changed_files()
            if away and not keep_mine:
                raise ChangedOnDisk(tuple(sorted(away)))
            sources = {
                name: read_source(self.folder / name, self.folder) if name in away else self.disk.files[name]
                for name in edits
            }
            write_all_edits(self.folder, [(sources[name], edits[name]) for name in edits])
            if edits or away:
                self._read_again(keep_answers=not away)
            return sorted(edits)

    def reread(self, version: int) -> None:
        """Takes the files as they are on disk; edits not saved go. Stale, Refused (then nothing goes)."""
        with self.changed:
            self._fresh(version)
            self._read_again(keep_answers=False)

    def _read_again(self, *, keep_answers: bool) -> None:
        before = self.state
        disk = read_project(self.folder)
        self.disk, self.overlays = disk, Overlays(disk)
        self.saved = State(disk.fitted)
        kept = self.answers.get(before) if keep_answers else None
        matrix = self.matrices.get(before) if keep_answers else None
        tried = (
            {replace(s, edits=()): m for s, m in self.tried.items() if s.edits == before.edits}
            if keep_answers
            else {}
        )
        self.variants.clear()
        for kept_ones in (self.answers, self.matrices, self.tried, self.unsolved, self.spreadless):
            kept_ones.clear()
        self.history, self.at = [self.saved], 0
        if kept is not None and kept.variant.fitted == self.saved.fitted:
            self.answers[self.saved] = replace(kept, state=self.saved, project=disk)
            self.tried.update(tried)
            if matrix is not None:
                self.matrices[self.saved] = matrix
        self._moved()

    # --- answers ----------------------------------------------------------------------------------------
    def answer(self) -> Answer | None:
        """The full answer of the present state, where it is there."""
        return self.answers.get(self.state)

    def base(self) -> Answer | None:
        """The present answer, else the newest one with the fewest differences."""
        with self.lock:
            if self.state in self.answers:
                return self.answers[self.state]
            found = list(self.answers.values())
            return max(
                found,
                key=lambda a: (a.state.edits == self.state.edits, self._nearness(a.state)),
                default=None,
            )

    def _nearness(self, state: State) -> int:
        return -len(set(state.fitted) ^ set(self.state.fitted)) - len(
            set(state.edits) ^ set(self.state.edits)
        )

    def quick(self) -> tuple[tuple[Row, ...], bool] | None:
        """Rows of the quick answer, and whether every change is in it. None without an answer to start from."""
        with self.lock:
            base = self.base()
            if base is None:
                return None
            key = (self.state, base.state, base.verdict, len(self.tried))
            if self._quick is None or not same(self._quick[0], key):
                moves, whole = self._moves(base)
                self._quick = key, (moved_rows(base, moves, self.disk.head.confidence), whole)
            return self._quick[1]

    def _moves(self, base: Answer) -> tuple[dict[Key, float], bool]:
        start, wanted = base.margins, self.state
        known = self.tried.get(wanted)
        if known is not None:
            return {key: known[key] - start[key] for key in known.keys() & start.keys()}, True
        moves: dict[Key, float] = {}
        whole = True
        for name in sorted(set(wanted.fitted) ^ set(base.state.fitted)):
            effect = self._effect(base.state, name)
            whole = whole and effect is not None
            for key, change in (effect or {}).items():
                if key in start:
                    moves[key] = moves.get(key, 0.0) + change
        whole = self._value_moves(base, moves) and whole
        return moves, whole

    def _effect(self, state: State, name: str) -> dict[Key, float] | None:
        """What toggling a measure does to margins: from this state, else from the newest other one where it was tried."""
        for start in (state, *reversed(self.tried)):
            if (name in start.fitted) == (name in state.fitted) and start in self.tried:
                after = self.tried.get(self.toggled(start, name))
                if after is not None:
                    before = self.tried[start]
                    return {key: after[key] - before[key] for key in after.keys() & before.keys()}
        return None

    def _value_moves(self, base: Answer, moves: dict[Key, float]) -> bool:
        """Adds what edited values do, from sensitivities; False where one has none."""
        matrix, new = base.verdict.sensitivities, self.variant_of(self.state)
        known = True
        for _, path, _ in set(self.state.edits) ^ set(base.state.edits):
            bare = variant_path(path)
            if matrix is None or bare not in matrix.paths:
                known = False
                continue
            try:
                step = float(new.value(bare)) - float(base.variant.value(bare))
            except (KeyError, TypeError, ValueError):
                known = False
                continue
            for key in matrix.keys:
                moves[key] = moves.get(key, 0.0) + matrix.slope(key, bare) * step
        return known

    def gains(self) -> dict[str, dict[Key, float]]:
        """Measure to what fitting it (or leaving it out, where fitted) does to every margin, K."""
        with self.lock:
            base = self.base()
            if base is None:
                return {}
            key = (base.state, base.verdict, len(self.tried))
            if self._gains is not None and same(self._gains[0], key):
                return self._gains[1]
            start: dict[Key, float] = base.margins
            found: dict[str, dict[Key, float]] = {}
            for name in base.project.measures:
                tried = self.tried.get(self.toggled(base.state, name))
                if tried is not None:
                    found[name] = {k: tried[k] - start[k] for k in tried.keys() & start.keys()}
            self._gains = key, found
            return found

    # --- the worker -------------------------------------------------------------------------------------
    def _work(self) -> None:
        while True:
            with self.changed:
                task = self._next_task()
                while task is None and not self._ending:
                    self._set_progress(Progress())
                    self.changed.wait()
                    task = self._next_task()
                # The quick answer goes first, and edits that follow at once are solved as one.
                rest = self.moved_at + SETTLE - time.monotonic()
                if rest > 0.0 and not self._ending:
                    self.changed.wait(rest)
                    continue
                if self._ending:
                    return
            try:
                assert task is not None
                task()
            except Stopped:
                continue

    def _fail(self, state: State, error: Exception) -> None:
        with self.changed:
            self.unsolved.add(state)
            if state == self.state:
                self.failed = (self.version, failure(error))
            if not isinstance(error, DutyNotSolved | Refused):
                LOG.exception("a computation failed")
            self.tell()

    def _next_task(self) -> Callable[[], None] | None:
        state = self.state
        if state not in self.answers:
            return None if state in self.unsolved else lambda: self._full(state)
        wanted = self.reference
        if wanted != self.saved and wanted not in self.answers and wanted not in self.unsolved:
            return lambda: self._full(wanted)
        if not self.background or self.skip_background:
            return None
        todo = self._untried(state)
        if todo:
            return lambda: self._try(state, todo[0], len(todo))
        if self.saved != state and self.saved not in self.answers and self.saved not in self.unsolved:
            return lambda: self._full(self.saved)
        if state not in self.matrices and state not in self.spreadless:
            return lambda: self._spread(state)
        return None

    def _untried(self, state: State) -> list[State]:
        found = []
        for name in self.answers[state].project.measures:
            try:
                other = self.toggled(state, name)
                self.variant_of(other)
            except Refused:
                continue
            if other not in self.tried and other not in self.unsolved and other not in found:
                found.append(other)
        return found

    def _set_progress(self, progress: Progress) -> None:
        if progress != self.progress:
            self.progress = progress
            self.tell()

    def _still_wanted(self, state: State) -> None:
        """Stopped where the state on the desk is another one that has no answer yet."""
        with self.lock:
            if self._ending or (self.state != state and self.state not in self.answers):
                raise Stopped

    def _teller(self, state: State, progress: Progress) -> Callable[[str], None]:
        """Counts steps; raises Stopped where the state on the desk is another one."""

        def tell(detail: str) -> None:
            with self.changed:
                self._still_wanted(state)
                self._set_progress(
                    replace(
                        progress,
                        done=self.progress.done + 1
                        if self.progress.what == progress.what and self.progress.steps == progress.steps
                        else 0,
                        detail=detail,
                    )
                )

        return tell

    def _full(self, state: State) -> None:
        try:
            self._solve(state)
        except Stopped:
            raise
        except Exception as error:
            self._fail(state, error)

    def _solve(self, state: State) -> None:
        project, variant = self.project_of(state), self.variant_of(state)
        with self.changed:
            self._set_progress(Progress("answer", 0, len(project.duties)))
        began = time.perf_counter()
        seen = -1

        def tell(detail: str) -> None:
            nonlocal seen
            seen += 1
            with self.changed:
                self._still_wanted(state)
                self._set_progress(Progress("answer", seen, len(project.duties), detail))

        solved = solve_everything(project, variant, tell, threads=2)
        matrix, own = self._matrix_for(state, project, variant)
        verdict = verdict_of(project, variant, solved, matrix, own=own)
        parts = {part.part: part for part in judged(variant)}
        answer = Answer(state, project, variant, verdict, solved, parts, time.perf_counter() - began, own)
        with self.changed:
            self.answers[state] = answer
            self.answers.move_to_end(state)
            trim(self.answers, MOST_ANSWERS, {self.saved, self.state, self.reference})
            self.tried[state] = answer.margins
            trim(self.tried, MOST_MARGINS)
            self.tell()

    def _matrix_for(
        self, state: State, project: Project, variant: Variant
    ) -> tuple[Sensitivities | None, bool]:
        """The state's own spreads where they are known (from results on disk as well), else the newest of another."""
        if state in self.matrices:
            return self.matrices[state], True
        if not state.edits:
            kept = Store(project, variant.fitted, spreads=True).load()
            if kept is not None and kept.sensitivities is not None:
                self.matrices[state] = kept.sensitivities
                return kept.sensitivities, True
        return next(reversed(self.matrices.values()), None), False

    def _try(self, state: State, other: State, left: int) -> None:
        """One toggled measure, margins only."""
        steps = len(self.answers[state].project.measures)
        with self.changed:
            self._set_progress(Progress("measures", steps - left, steps))

        def tell(detail: str) -> None:
            self._still_wanted(state)

        try:
            found = margins_only(self.project_of(other), self.variant_of(other), tell)
        except Stopped:
            raise
        except Exception as error:
            LOG.info("a measure could not be tried: %s", error)
            self.unsolved.add(other)
            return
        with self.changed:
            self.tried[other] = found
            trim(self.tried, MOST_MARGINS)
            self.tell()

    def _spread(self, state: State) -> None:
        answer = self.answers[state]
        values = sum(1 for s in answer.variant.spreads.values() if s.sd > 0.0)
        with self.changed:
            self._set_progress(Progress("spreads", 0, values))
        try:
            matrix = sensitivities(
                answer.variant,
                WhileWanted(answer.project.duties, partial(self._still_wanted, state)),
                answer.margins,
                rows={key: one.run.time.size for key, one in answer.solved.items()},
                jobs=1,
                tell=self._teller(state, Progress("spreads", 0, values)),
            )
        except Stopped:
            raise
        except Exception as error:
            self.spreadless.add(state)
            LOG.warning("spreads could not be worked out: %s", error)
            return
        verdict = verdict_of(answer.project, answer.variant, answer.solved, matrix, own=True)
        with self.changed:
            self.matrices[state] = matrix
            trim(self.matrices, 6)
            self.answers[state] = replace(answer, verdict=verdict, own_spread=True)
            self.tell()
        if not state.edits:
            Store(answer.project, answer.variant.fitted, spreads=True).save(verdict)

    def wait(self, seconds: float = 60.0) -> Answer | None:
        """The present state's answer, waited for; None where it cannot be had."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            with self.lock:
                if self.state in self.answers:
                    return self.answers[self.state]
                if self.state in self.unsolved:
                    return None
            time.sleep(0.01)
        return None


def same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    """Equal where the pieces are; big ones only where they are the same object."""
    pairs = zip(one, other, strict=True)
    return all(a is b or (isinstance(a, int | State) and a == b) for a, b in pairs)


def variant_path(path: str) -> str:
    """Path in a variant of a path in a file: without `changes.` and without a measure's name and heading."""
    keys = path.removesuffix(".value").split(".")
    if keys[0] == "changes":
        return ".".join(keys[1:])
    if keys[0] == "measures" and len(keys) > 3 and keys[2] in ("set", "add"):
        return ".".join(keys[3:])
    return ".".join(keys)


def trim(kept: OrderedDict, most: int, never: set | None = None) -> None:  # type: ignore[type-arg]
    """Drops the oldest beyond `most`."""
    for key in list(kept):
        if len(kept) <= most:
            return
        if key not in (never or set()):
            del kept[key]


def with_needs(name: str, measures: dict) -> list[str]:  # type: ignore[type-arg]
    """The measure and all it needs, itself first."""
    found, todo = [], [name]
    while todo:
        one = todo.pop()
        if one in measures and one not in found:
            found.append(one)
            todo += measures[one].needs
    return found


def unknown_measure(name: str, measures: Iterable[str]) -> Finding:
    """What to say of a measure that is not there."""
    known = list(measures)
    return Finding(
        "error",
        f"unknown measure {name!r}",
        Where("kit.yaml", 0, "measures"),
        allowed=listed(known),
        nearest=nearest(name, known),
        next_step="correct the name",
    )


def failure(error: Exception) -> dict[str, object]:
    """What could not be computed, as data."""
    if isinstance(error, DutyNotSolved):
        return {
            "what": f"{error.name} could not be solved: {error.what}",
            "time_s": error.time,
            "next_step": "undo, or change what this part of the car is told to do",
        }
    return {"what": str(error) or type(error).__name__, "next_step": "undo the last edit"}
