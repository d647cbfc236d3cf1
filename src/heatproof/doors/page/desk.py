"""One project on the desk: its edits and their undo, variants kept by name, files, and the quick answer.

All tabs of a browser share one desk. `version` counts edits; an edit that names an older version is refused,
so that no tab works on what it does not see. What is computed comes from `worker.Worker` and is kept in `results`.
"""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

from heatproof.doors.page.answers import Answer, moved_rows
from heatproof.doors.page.edits import Overlays, State, changed_files, save_edits
from heatproof.doors.page.fitting import refitted
from heatproof.doors.page.named import named_or_refuse, read_named, usable_name, write_named
from heatproof.doors.page.progress import Running
from heatproof.doors.page.quick import Newest, gains_from, moves_to
from heatproof.doors.page.results import Results, trim
from heatproof.doors.page.unsaved import read_unsaved, set_aside, write_unsaved
from heatproof.kit.findings import Findings, Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.kit.tree import read_source
from heatproof.kit.write import write_all_edits
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Row

MOST_VARIANTS = 60


class Stale(Exception):
    """An edit of a version that is not the present one."""


class ChangedOnDisk(Exception):
    """Files that somebody else wrote since they were read."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(", ".join(names))
        self.names = names


class Desk:
    """See the module's text. Public methods may be called from any thread."""

    def __init__(self, folder: Path, *, background: bool = True) -> None:
        self.folder = folder
        self.lock = threading.RLock()
        self.changed = threading.Condition(self.lock)
        self.background, self.skip_background = background, False
        self.listeners: list[Callable[[], None]] = []
        # Counts on from the clock: no version of an earlier run of the program is ever a present one.
        self.run = time.time_ns() // 1_000_000
        self.version, self.pulse, self.moved_at = self.run, 0, 0.0
        self.notices: tuple[str, ...] = ()
        self.away: tuple[str, ...] = ()
        self.progress = Running()
        self.failed: tuple[int, dict[str, object]] | None = None
        self.results = Results()
        self.variants: OrderedDict[State, Variant] = OrderedDict()
        self.named = read_named(folder)
        self.against = ""
        self._quick: Newest[tuple[tuple[Row, ...], bool]] = Newest()
        self._gains: Newest[dict[str, dict[Key, float]]] = Newest()
        self._load()
        self._take_up_unsaved()

    def _load(self) -> None:
        self.disk = read_project(self.folder)
        self.fingerprint = self.disk.hash()[:12]
        self.away = ()
        self.overlays = Overlays(self.disk)
        self.saved = State(self.disk.fitted)
        self.history, self.at = [self.saved], 0

    def _take_up_unsaved(self) -> None:
        """Puts the edits of a run that ended before they were saved back on the desk; what cannot be used is kept aside."""
        try:
            kept = read_unsaved(self.folder)
            if kept is None:
                return
            steps, at = kept
            if steps[0] != self.saved:  # the files were changed since
                steps, at = [self.saved, *steps], at + 1
            self.variant_of(steps[at])
        except (ValueError, OSError) as error:
            what = error.findings[0].what if isinstance(error, Refused) and error.findings else str(error)
            self.notices = (
                f"edits of an earlier run do not fit the files any more ({what[:120]}); they are kept in {set_aside(self.folder)}",
            )
            return
        self.history, self.at = steps, at
        if self.dirty:
            self.notices = (
                "the program was started again: the edits that were not saved are back, undo included",
            )

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
                trim(self.variants, MOST_VARIANTS)
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
            new, said = self._refitted(self.state, fit, leave)
            for file, path, text in values:
                new = new.with_edit(file, path, text)
            self._put(new)
            return said

    def _put(self, new: State) -> None:
        """On the desk, as one undoable step. Refused where its variant cannot be built."""
        self.variant_of(new)
        if new != self.state:
            self.history[self.at + 1 :] = [new]
            self.at += 1
            self._moved()

    def _fresh(self, version: int) -> None:
        if version != self.version:
            raise Stale

    def _refitted(self, state: State, fit: Iterable[str], leave: Iterable[str]) -> tuple[State, list[str]]:
        fitted, said = refitted(self.project_of(state).measures, state.fitted, fit, leave)
        return replace(state, fitted=fitted), said

    def toggled(self, state: State, name: str) -> State:
        """The state with one measure fitted or left out, and what must go with it."""
        fit, leave = ([], [name]) if name in state.fitted else ([name], [])
        return self._refitted(state, fit, leave)[0]

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
        try:
            write_unsaved(self.folder, self.history, self.at)
        except OSError as error:  # an edit is not refused for it
            self.notices = (
                f"edits that are not saved could not be kept beside the project: {error.strerror}",
            )
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

    def show_progress(self, progress: Running) -> None:
        """What runs now."""
        with self.changed:
            if progress != self.progress:
                self.progress = progress
                self.tell()

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
            self._put(named_or_refuse(self.named, name))

    # --- files ------------------------------------------------------------------------------------------
    def changed_files(self) -> dict[str, str | None]:
        """Files that differ on disk from what was read: name to text as it stands there, None where gone."""
        return changed_files(self.disk)

    def save_edits(self) -> dict[str, dict[str, str]]:
        """File to path to text: everything that Save writes."""
        return save_edits(self.disk, self.state)

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

    def look_at_disk(self) -> None:
        """Notices files that somebody else wrote, came or went since they were read, and says so once."""
        with self.changed:
            added = {f"duties/{path.name}" for path in (self.folder / "duties").glob("*.yaml")}
            away = tuple(sorted({*self.changed_files(), *(added - self.disk.files.keys())}))
            if away != self.away:
                self.away = away
                self.tell()

    def reread(self, version: int) -> list[str]:
        """Takes the files as they are on disk and lays the edits that are not saved over them, as a step that undo takes off.

        Returns what was done, in words. Stale; Refused where the files cannot be read or the edits do not fit them (then
        everything stays as it was).
        """
        with self.changed:
            self._fresh(version)
            mine, saved = self.state, self.saved
            kept = self.disk, self.overlays, self.saved, self.history, self.at, self.fingerprint, self.away
            variants = self.variants.copy()
            self._load()
            self.variants.clear()
            toggled = set(mine.fitted) ^ set(saved.fitted)
            fitted = (
                *(n for n in self.saved.fitted if n not in toggled),
                *(n for n in mine.fitted if n in toggled),
            )
            laid = State(tuple(dict.fromkeys(fitted)), mine.edits)
            try:
                self.variant_of(laid)
            except Refused:
                self.disk, self.overlays, self.saved, self.history, self.at, self.fingerprint, self.away = (
                    kept
                )
                self.variants = variants
                raise
            if laid != self.saved:
                self.history, self.at = [self.saved, laid], 1
            self.results.forget()
            self._moved()
            return ["the files were read again"] + (
                ["your unsaved edits are laid over them"] if laid != self.saved else []
            )

    def _read_again(self, *, keep_answers: bool) -> None:
        before = self.state
        self._load()
        self.variants.clear()
        if keep_answers:
            self.results.saved_as(before, self.saved, self.disk)
        else:
            self.results.forget()
        self._moved()

    # --- answers ----------------------------------------------------------------------------------------
    def answer(self) -> Answer | None:
        """The full answer of the present state, where it is there."""
        return self.results.answers.get(self.state)

    def base(self) -> Answer | None:
        """The present answer, else the newest one with the fewest differences."""
        with self.lock:
            return self.results.nearest(self.state)

    def quick(self) -> tuple[tuple[Row, ...], bool] | None:
        """Rows of the quick answer, and whether every change is in it. None without an answer to start from."""
        with self.lock:
            base = self.base()
            if base is None:
                return None

            def moved() -> tuple[tuple[Row, ...], bool]:
                variant = self.variant_of(self.state)
                moves, whole = moves_to(self.results, base, self.state, variant, self.toggled)
                return moved_rows(base, moves, self.disk.head.confidence), whole

            return self._quick.of((self.state, base.state, base.verdict, len(self.results.tried)), moved)

    def gains(self) -> dict[str, dict[Key, float]]:
        """Measure to what fitting it (or leaving it out, where fitted) does to every margin, K."""
        with self.lock:
            base = self.base()
            if base is None:
                return {}
            key = (base.state, base.verdict, len(self.results.tried))
            return self._gains.of(key, lambda: gains_from(self.results, base, self.toggled))

    def wait(self, seconds: float = 60.0) -> Answer | None:
        """The present state's answer, waited for; None where it cannot be had."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            with self.lock:
                if self.state in self.results.answers:
                    return self.results.answers[self.state]
                if self.state in self.results.unsolved:
                    return None
            time.sleep(0.01)
        return None
