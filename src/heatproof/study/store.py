"""The one store of finished answers, so that nothing is solved twice.

An answer is found by a key: a hash of everything it depends on, which is all project files, the measures fitted, what was
asked, and the whole program with compiler and processor (`_program_hash`). Files are JSON that carries a checksum of its own
text, written whole or not at all; one that cannot be used is left aside, and the folder may be deleted at any time.

`Shelf` keeps plain data; `VerdictStore` keeps verdicts on one, `kept` whatever takes longer than a document should, and
`runs.spread_out` the finished runs of a sweep.
"""

import contextlib
import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from heatproof._files import tidy_once, write_whole
from heatproof._program_hash import answers_hash
from heatproof.kit.findings import Finding, Where
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.units.results import restored, stored
from heatproof.verdict.verdict import Verdict

FOLDER, FORMAT = "results", "heatproof answer 1"
MOST_VERDICTS, MOST_KEPT = 40, 12


# --- a file with its checksum --------------------------------------------------------------------------------
HEAD, DIGITS, MIDDLE, TAIL = b'{"sha256": "', 64, b'", "kept": ', b"}"


def seal(data: Any, *, allow_nan: bool = True) -> bytes:
    """JSON: `{"sha256": …, "kept": data}`, the checksum being that of the text of `data`."""
    body = json.dumps(data, allow_nan=allow_nan).encode()
    return HEAD + hashlib.sha256(body).hexdigest().encode() + MIDDLE + body + TAIL


def unseal(raw: bytes) -> Any:
    """The data again. ValueError where a byte of it is not as it was written, whatever was damaged."""
    start = len(HEAD) + DIGITS + len(MIDDLE)
    body = raw[start : -len(TAIL)]
    written = raw[len(HEAD) : len(HEAD) + DIGITS]
    if raw[:start] != HEAD + written + MIDDLE or raw[-len(TAIL) :] != TAIL:
        raise ValueError("not a sealed file")
    if hashlib.sha256(body).hexdigest().encode() != written:
        raise ValueError("not as it was written")
    return json.loads(body)


# --- a folder of answers ------------------------------------------------------------------------------------
@dataclass
class Shelf:
    """Plain answers of one kind in a folder. kind: begins their files' names. most: the newest that stay; None: all.

    notes: what went wrong on the way, if anything.
    """

    folder: Path
    kind: str = ""
    most: int | None = None
    notes: list[Finding] = field(default_factory=list)

    def path(self, key: str) -> Path:
        """Where the answer of that key is kept."""
        return self.folder / f"{self.kind}{key}.json"

    def load(self, key: str) -> Any:
        """The answer; None where there is none or it cannot be used."""
        tidy_once(self.folder)
        try:
            data = unseal(self.path(key).read_bytes())
        except FileNotFoundError:
            return None
        except OSError as error:
            return self.note(key, f"a stored result cannot be read ({type(error).__name__}); solved again")
        except (ValueError, RecursionError):
            return self.note(key, "a stored result is damaged; solved again")
        if not isinstance(data, dict) or (data.get("format"), data.get("key")) != (FORMAT, key):
            return self.note(key, "a stored result is damaged; solved again")
        return data.get("data")

    def save(self, key: str, data: Any, *, allow_nan: bool = False) -> None:
        """Writes the file whole, then drops the oldest of its kind. OSError where that is not allowed."""
        self.folder.mkdir(parents=True, exist_ok=True)
        sealed = seal({"format": FORMAT, "key": key, "data": data}, allow_nan=allow_nan)
        write_whole(self.path(key), sealed, sync=False)
        if self.most is not None:
            files = sorted(self.folder.glob(f"{self.kind}*.json"), key=lambda path: path.stat().st_mtime)
            for path in files[: -self.most]:
                path.unlink(missing_ok=True)

    def keys(self) -> set[str]:
        """Keys that have a file."""
        return {path.stem.removeprefix(self.kind) for path in self.folder.glob(f"{self.kind}*.json")}

    def note(self, key: str, what: str) -> None:
        """Remembers what went wrong with a file."""
        self.notes.append(Finding("note", what, Where(f"{FOLDER}/{self.path(key).name}")))


def key_of(project: Project, fitted: tuple[str, ...], *asked: str) -> str:
    """24 hex digits over all that an answer depends on."""
    text = " ".join((project.hash(), ",".join(fitted), *asked, answers_hash()))
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def kept(
    project: Project,
    variant: Variant,
    what: str,
    options: str,
    make: Callable[[], Any],
    *,
    fresh: bool = False,
) -> Any:
    """The stored answer to `what` with `options`, else that of `make` (plain JSON data), stored."""
    key = key_of(project, variant.fitted, what, options)
    shelf = Shelf(project.folder / FOLDER, f"{what}-", MOST_KEPT)
    known = None if fresh else shelf.load(key)
    if known is not None:
        return known
    data = make()
    with contextlib.suppress(OSError):  # a folder that cannot be written costs time, nothing else
        shelf.save(key, data)
    return data


# --- verdicts -----------------------------------------------------------------------------------------------
class VerdictStore:
    """Where the verdict on one variant of a project is kept. `notes`: what went wrong on the way, if anything."""

    def __init__(
        self,
        project: Project,
        fitted: tuple[str, ...],
        *,
        spreads: bool,
        duties: tuple[str, ...] | None = None,
    ) -> None:
        some = duties if duties is not None and set(duties) != set(project.duties) else ()
        self.key = key_of(project, fitted, str(spreads), *some)
        self.shelf = Shelf(project.folder / FOLDER, "check-", MOST_VERDICTS)
        self.notes = self.shelf.notes

    def load(self) -> Verdict | None:
        """The stored verdict; None where there is none or it cannot be used."""
        plain = self.shelf.load(self.key)
        try:
            return None if plain is None else decoded(plain)
        except (ValueError, KeyError, TypeError, AttributeError):
            self.shelf.note(self.key, "a stored result is damaged; solved again")
            return None

    def save(self, verdict: Verdict) -> None:
        """Writes the file whole; where that is not allowed a note says so."""
        try:
            self.shelf.save(self.key, stored(verdict))
        except OSError as error:
            what = f"the result could not be stored ({error.strerror or error}); nothing else is lost"
            self.shelf.note(self.key, what)


def decoded(data: dict[str, Any]) -> Verdict:
    """The verdict again from what `stored` made of it. ValueError, KeyError or TypeError where the data is not one."""
    verdict = restored(Verdict, data)
    matrix = verdict.sensitivities
    if matrix is not None and matrix.change.shape != (len(matrix.keys), len(matrix.paths)):
        raise ValueError("shapes of the sensitivities do not agree")
    return verdict
