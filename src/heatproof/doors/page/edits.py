"""Edits that are not written yet, and a project read with them in place."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from heatproof.kit.findings import Finding, Refused, Where
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.tree import Source
from heatproof.kit.write import edited

Edit = tuple[str, str, str]
"""File, dotted path in it, new text."""


@dataclass(frozen=True)
class State:
    """What the session is about: measures fitted, and edits in the order made (the last one of a path counts)."""

    fitted: tuple[str, ...]
    edits: tuple[Edit, ...] = ()

    def with_edit(self, file: str, path: str, text: str) -> "State":
        """One more edit; an earlier one of the same path goes."""
        kept = tuple(e for e in self.edits if e[:2] != (file, path))
        return replace(self, edits=(*kept, (file, path, text)))


def by_file(edits: Iterable[Edit]) -> dict[str, dict[str, str]]:
    """File to its edits."""
    found: dict[str, dict[str, str]] = {}
    for file, path, text in edits:
        found.setdefault(file, {})[path] = text
    return found


def save_edits(disk: Project, state: State) -> dict[str, dict[str, str]]:
    """File to path to text: everything that has to be written so that the files say what the state says."""
    found = by_file(state.edits)
    for name, measure in disk.measures.items():
        fitted = name in state.fitted
        if fitted != measure.fitted:
            found.setdefault("kit.yaml", {})[f"measures.{name}.fitted"] = "true" if fitted else "false"
    return found


def changed_files(disk: Project) -> dict[str, str | None]:
    """Files that differ on disk from what was read: name to text as it stands there, None where gone."""
    found: dict[str, str | None] = {}
    for name, source in disk.files.items():
        try:
            data = (disk.folder / name).read_bytes()
        except OSError:
            found[name] = None
            continue
        if data != source.data:
            found[name] = data.decode("utf-8", "replace")
    return found


class Overlays:
    """Projects read with edits in place, the newest kept. Nothing is written: the files are read from memory."""

    def __init__(self, disk: Project, most: int = 12) -> None:
        self.disk, self.most = disk, most
        self._kept: dict[tuple[Edit, ...], Project] = {(): disk}

    def project(self, edits: tuple[Edit, ...]) -> Project:
        """The project with edits. Refused with findings where it cannot be read."""
        if edits not in self._kept:
            if len(self._kept) > self.most:
                del self._kept[next(key for key in self._kept if key)]
            self._kept[edits] = self._read(edits)
        return self._kept[edits]

    def _read(self, edits: tuple[Edit, ...]) -> Project:
        files = dict(self.disk.files)
        for name, changes in by_file(edits).items():
            if name not in files:
                raise Refused([Finding("error", "no such file in the project", Where(name))])
            text = edited(files[name], changes)
            files[name] = Source(name, text, text.encode())
        return read_project(self.disk.folder, files=files)
