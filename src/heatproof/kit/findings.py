"""Findings: what is wrong in a project, where, and what to do next."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Literal, Self, TypedDict, Unpack

from heatproof.units.quantity import Amount
from heatproof.units.results import HIDDEN, INLINE

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True)
class Where:
    """A place in a file. `line` counts from 1; 0 where there is none (a default)."""

    file: str = ""
    line: int = 0
    path: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place} ({self.path})" if self.path and place else place or self.path


NOWHERE = Where()


class Details(TypedDict, total=False):
    """What a finding may say besides; `next_step` apart, which some give for all of theirs."""

    got: str
    allowed: str
    nearest: str
    amounts: tuple[Amount, ...]
    code: str


class More(Details, total=False):
    """All that a finding may say besides."""

    next_step: str


@dataclass(frozen=True)
class Finding:
    """One thing to say about the project, with its place in the files. Empty texts are left out when shown.

    amounts: what its texts hold in metric units; a door for readers of others says them again. code: what kind of finding it
    is, the same in every version and whatever its words, for programs that sort findings: `value.range`, `name.unknown`.
    """

    level: Level
    what: str
    where: Annotated[Where, INLINE] = NOWHERE
    got: str = ""
    allowed: str = ""
    nearest: str = ""
    next_step: str = ""
    amounts: Annotated[tuple[Amount, ...], HIDDEN] = ()
    code: str = ""

    def __str__(self) -> str:
        """One block: place and what, then a line each for got, allowed, nearest, next step."""
        place = str(self.where)
        head = f"{place}: {self.level}: {self.what}" if place else f"{self.level}: {self.what}"
        rows = (
            ("got", self.got),
            ("allowed", self.allowed),
            ("nearest", self.nearest),
            ("next step", self.next_step),
        )
        return "\n".join([head, *(f"  {label}: {text}" for label, text in rows if text)])

    @property
    def line(self) -> str:
        """All on one line, for a report, a log or a message beside others."""
        place = str(self.where)
        parts = [f"{place}: {self.what}" if place else self.what]
        rows = (
            ("got ", self.got),
            ("allowed: ", self.allowed),
            ("nearest: ", self.nearest),
            ("next step: ", self.next_step),
        )
        return "; ".join(parts + [label + text for label, text in rows if text])


class Refused(ValueError):
    """Input that cannot be used: a project, a log, a value at any door. `findings` holds everything found, errors first.

    One finding alone is refused by `raise Refused.of(what, where, got=…, allowed=…, next_step=…)`.
    """

    @classmethod
    def of(cls, what: str, where: Where = NOWHERE, **more: Unpack[More]) -> Self:
        """Refused with one error."""
        return cls([Finding("error", what, where, **more)])

    @property
    def line(self) -> str:
        """The first error on one line."""
        return self.findings[0].line if self.findings else str(self)

    def __init__(self, findings: Iterable[Finding]) -> None:
        order = {"error": 0, "warning": 1, "note": 2}
        self.findings = tuple(sorted(findings, key=lambda f: order[f.level]))
        super().__init__("\n".join(str(f) for f in self.findings))


class Findings(list[Finding]):
    """A growing list of findings."""

    def error(self, what: str, where: Where, **more: Unpack[More]) -> None:
        """Adds an error: the project cannot be used as it stands."""
        self.append(Finding("error", what, where, **more))

    def warning(self, what: str, where: Where, **more: Unpack[More]) -> None:
        """Adds a warning: usable, but somebody should look."""
        self.append(Finding("warning", what, where, **more))

    def note(self, what: str, where: Where, **more: Unpack[More]) -> None:
        """Adds a note: taken as it stands, worth knowing."""
        self.append(Finding("note", what, where, **more))

    @property
    def errors(self) -> list[Finding]:
        """The errors among them."""
        return [f for f in self if f.level == "error"]

    def refuse_errors(self) -> None:
        """Raises Refused with all findings where there is an error."""
        if self.errors:
            raise Refused(self)


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like `name`, or an empty text."""
    names = list(known)
    same = [k for k in names if k.lower().replace("-", "_").replace(" ", "_") == name.lower()]
    # A word of a longer name before a name that only looks alike: `boot` is of `steering_boot`, not of `bonnet`.
    same = same or [
        k for k in names if len(name) > 2 and name.lower() in re.split(r"[^a-z0-9]+|_", k.lower())
    ]
    return (same or difflib.get_close_matches(name, names, n=1, cutoff=0.55) or [""])[0]


def unknown(
    what: str,
    name: str,
    known: Iterable[str],
    where: Where = NOWHERE,
    *,
    next_step: str = "correct the name",
    code: str = "name.unknown",
) -> Finding:
    """An error: a name that is none of the known ones; says which they are and which is nearest."""
    names = list(known)
    return Finding(
        "error",
        what,
        where,
        allowed=listed(names),
        nearest=nearest(name, names),
        next_step=next_step,
        code=code,
    )


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names in one line, cut short where there are many."""
    names = list(names)
    return ", ".join(names[:most]) + (f", … ({len(names)} in all)" if len(names) > most else "")
