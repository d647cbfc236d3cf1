"""Results kept in the project's `results/` folder, so that an unchanged project is not solved again.

A result is found by a hash of everything it depends on: all project files, the measures fitted, the whole program,
compiler and processor. Files are JSON, written whole or not at all; one that cannot be
used is ignored with a note, and the folder may be deleted at any time.
"""

import hashlib
from dataclasses import asdict
from typing import Any

import numpy as np

from heatproof._files import tidy_once, write_whole
from heatproof._program_hash import answers_hash
from heatproof._sealed import seal, unseal
from heatproof.kit.findings import Finding, Where
from heatproof.kit.project import Project
from heatproof.units.quantity import Amount
from heatproof.verdict.duty_facts import DutyFacts
from heatproof.verdict.margins import Margin
from heatproof.verdict.spread import Sensitivities
from heatproof.verdict.verdict import Row, Verdict

FOLDER, FORMAT = "results", "heatproof result 3"
MOST_FILES = 40


class Store:
    """Where one variant's result of one project is kept. `notes`: what went wrong on the way, if anything."""

    def __init__(self, project: Project, fitted: tuple[str, ...], *, spreads: bool) -> None:
        text = f"{project.hash()} {','.join(fitted)} {spreads} {answers_hash()}"
        self.key = hashlib.sha256(text.encode()).hexdigest()[:24]
        self.folder = project.folder / FOLDER
        self.path = self.folder / f"check-{self.key}.json"
        self.notes: list[Finding] = []

    def load(self) -> Verdict | None:
        """The stored verdict; None where there is none or it cannot be used."""
        tidy_once(self.folder)
        try:
            raw = self.path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            self._note(f"a stored result cannot be read ({type(error).__name__}); solved again")
            return None
        try:
            return decoded(unseal(raw), self.key)
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            self._note("a stored result is damaged; solved again")
            return None

    def save(self, verdict: Verdict) -> None:
        """Writes the file whole; where that is not allowed a note says so."""
        try:
            self.folder.mkdir(exist_ok=True)
            write_whole(self.path, seal(encoded(verdict, self.key), allow_nan=False), sync=False)
            self._drop_oldest()
        except OSError as error:
            self._note(f"the result could not be stored ({error.strerror or error}); nothing else is lost")

    def _note(self, what: str) -> None:
        self.notes.append(Finding("note", what, Where(f"{FOLDER}/{self.path.name}")))

    def _drop_oldest(self) -> None:
        """Keeps the newest results; only files of this kind are touched."""
        found = sorted(self.folder.glob("check-*.json"), key=lambda p: p.stat().st_mtime, reverse=True)
        for path in found[MOST_FILES:]:
            path.unlink(missing_ok=True)


# --- verdict ↔ plain data ---------------------------------------------------------------------------------
def encoded(verdict: Verdict, key: str) -> dict[str, Any]:
    """Plain data of a verdict."""
    data = asdict(verdict)
    if verdict.sensitivities is not None:
        data["sensitivities"] = {
            name: value.tolist() if isinstance(value, np.ndarray) else value
            for name, value in data["sensitivities"].items()
        }
    return {"format": FORMAT, "key": key, "verdict": data}


def decoded(data: dict[str, Any], key: str) -> Verdict:
    """The verdict again. ValueError, KeyError or TypeError where the data is not one."""
    if data["format"] != FORMAT or data["key"] != key:
        raise ValueError("another format or key")
    plain = dict(data["verdict"])
    plain["rows"] = tuple(Row(**{**row, "found": Margin(**row["found"])}) for row in plain["rows"])
    plain["duties"] = tuple(DutyFacts(**{**d, "notes": tuple(d["notes"])}) for d in plain["duties"])
    plain["findings"] = tuple(map(finding, plain["findings"]))
    plain["sensitivities"] = matrix(plain["sensitivities"])
    for name in ("fitted", "cautions"):
        plain[name] = tuple(plain[name])
    return Verdict(**plain)


def finding(plain: dict[str, Any]) -> Finding:
    """A finding again."""
    amounts = tuple(Amount(**one) for one in plain["amounts"])
    return Finding(**{**plain, "where": Where(**plain["where"]), "amounts": amounts})


def matrix(plain: dict[str, Any] | None) -> Sensitivities | None:
    """Sensitivities from lists. ValueError where shapes do not agree."""
    if plain is None:
        return None
    keys, paths = tuple((a, b) for a, b in plain["keys"]), tuple(plain["paths"])
    change = np.array(plain["change"], dtype=float).reshape(len(keys), len(paths))
    sd, group = np.array(plain["sd"], dtype=float), np.array(plain["group"], dtype=int)
    if sd.shape != (len(paths),) or group.shape != sd.shape:
        raise ValueError("shapes of the sensitivities do not agree")
    by_draws = tuple(((part, duty), float(one)) for (part, duty), one in plain["drawn"])
    return Sensitivities(keys, paths, sd, change, group, tuple(plain["unsolved"]), by_draws)
