"""Every reader of files behind one face: `put` lays a damaged input, `read` reads it.

A reader's refusal comes out as `Told`; anything else it raises is a defect. Readers, one file each:
`fuzz_projects`, `fuzz_logs`, `fuzz_meshes`, `fuzz_kept`, `fuzz_page`.
"""

import random
from collections.abc import Callable
from importlib import import_module
from pathlib import Path

ROOMS = {
    "fuzz_projects": ("project", "trace", "signed", "variants", "memory"),
    "fuzz_logs": ("channel_map", "csv", "gzip", "parquet", "mdf", "dbc"),
    "fuzz_meshes": ("stl", "glb", "gltf", "obj", "step"),
    "fuzz_kept": ("record", "results", "sweep", "rays"),
    "fuzz_page": ("page", "uploads"),
}


class Told(Exception):
    """A refusal in words. good: it says where, and what to do next."""

    def __init__(self, text: str, *, good: bool) -> None:
        self.good = good
        super().__init__(text[:300])


class Reader:
    """Base. inputs: folder whose files may not be altered; may_change: what of it the program may write."""

    may_change: tuple[str, ...] = ()

    def __init__(self, room: Path) -> None:
        self.room = room
        self.inputs = room / "in"
        self.inputs.mkdir()

    def __enter__(self) -> "Reader":
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def start(self) -> None:
        """Whole files to start from."""

    def end(self) -> None:
        """Closes what is open."""

    def put(self, dice: random.Random) -> None:
        """Lays one damaged input."""
        raise NotImplementedError

    def read(self) -> None:
        """Reads it; Told where it is refused."""
        raise NotImplementedError


class Lazy(dict[str, Callable[[Path], Reader]]):
    """Reader by name; its file is imported when it is asked for."""

    def __missing__(self, name: str) -> Callable[[Path], Reader]:
        file = next(file for file, names in ROOMS.items() if name in names)
        return import_module(file).READERS[name]


READERS = Lazy()


def warm(names: list[str]) -> None:
    """Imports what the readers import, before memory is counted."""
    for name in names:
        _ = READERS[name]
