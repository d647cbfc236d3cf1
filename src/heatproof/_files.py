"""Files written whole or not at all: the one home of this for every room.

A file is written beside its place under a name like `.kit.yaml.k3j2h1g0.tmp` and renamed into it. Files that
belong together are all written first; their names then stand in a journal, `.heatproof-writing`, while they are
renamed, so that whoever comes after a crash can finish what was begun. What a crash leaves otherwise is removed by
the next program that writes there, once it is old enough to be nobody's work.
"""

import contextlib
import json
import os
import re
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import BinaryIO

JOURNAL = ".heatproof-writing"
LEFTOVER = re.compile(r"\..+\.[a-z0-9_]{8}\.tmp")
OLD = 3600.0  # s: no write takes that long
_tidied: set[Path] = set()


def write_whole(path: Path, data: bytes, *, sync: bool = True) -> None:
    """Writes a file through a temporary one beside it; permissions of an existing file are kept.

    sync: wait for the disk, so that a power cut cannot leave an empty file; results that can be made again do
    without.
    """
    write_through(path, lambda file: file.write(data), sync=sync)


def write_through(path: Path, write: Callable[[BinaryIO], object], *, sync: bool = False) -> None:
    """Calls `write` on a temporary file beside `path`, then puts it in place; nothing stays after an error."""
    tidy_once(path.parent)
    name = _beside(path, write, sync)
    try:
        os.replace(name, path)
    except BaseException:
        name.unlink(missing_ok=True)
        raise


def write_together(folder: Path, files: Mapping[str, bytes]) -> None:
    """Writes files below `folder` by their relative names: all of them or none, also where the program is killed.

    Until `finish_writing` has run after a kill, some may still be the old ones.
    """
    if len(files) == 1:
        ((name, data),) = files.items()
        write_whole(folder / name, data)
        return
    staged: list[tuple[Path, Path]] = []
    try:
        for name, data in files.items():
            path = folder / name
            tidy_once(path.parent)
            staged.append((_beside(path, lambda file, data=data: file.write(data), True), path))  # type: ignore[misc]
        names = [[temporary.relative_to(folder).as_posix(), path.relative_to(folder).as_posix()]
                 for temporary, path in staged]  # fmt: skip
        write_whole(folder / JOURNAL, json.dumps(names).encode())
    except BaseException:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)
        raise
    finish_writing(folder)


def finish_writing(folder: Path) -> None:
    """Puts in place what a program that was killed had written whole; does nothing where none was.

    Safe to run twice, and at the same time as another that does it. OSError where the folder cannot be written.
    """
    journal = folder / JOURNAL
    try:
        names = json.loads(journal.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return
    except (ValueError, RecursionError):
        names = []  # not ours, or damaged: nothing is known to be whole
    for pair in names if isinstance(names, list) else []:
        if _is_move(pair):
            with contextlib.suppress(FileNotFoundError):
                os.replace(folder / pair[0], folder / pair[1])
    journal.unlink(missing_ok=True)


def tidy_once(folder: Path) -> None:
    """Removes temporary files that a killed program left in a folder; once a process looks at each folder once."""
    if folder in _tidied:
        return
    _tidied.add(folder)
    with contextlib.suppress(OSError):
        finish_writing(folder)
        for entry in os.scandir(folder):
            if (
                LEFTOVER.fullmatch(entry.name)
                and entry.is_file(follow_symlinks=False)
                and is_old(Path(entry.path))
            ):
                os.unlink(entry.path)


def is_old(path: Path) -> bool:
    """Whether nobody can be at work on it any more."""
    return time.time() - path.stat(follow_symlinks=False).st_mtime > OLD


def _beside(path: Path, write: Callable[[BinaryIO], object], sync: bool) -> Path:
    """A temporary file beside `path`, whole, with its permissions."""
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:200]}.", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            write(file)
            if sync:
                file.flush()
                os.fsync(file.fileno())
        os.chmod(name, mode)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return path.parent / Path(name).name  # as relative as the path: what was made is named in full


def _is_move(pair: object) -> bool:
    """Whether a journal's entry moves a temporary file of ours to its own place, below the folder."""
    if not (isinstance(pair, list) and len(pair) == 2 and all(isinstance(one, str) for one in pair)):
        return False
    temporary, path = Path(pair[0]), Path(pair[1])
    inside = not path.is_absolute() and ".." not in path.parts and temporary.parent == path.parent
    return (
        inside
        and temporary.name.startswith(f".{path.name[:200]}.")
        and bool(LEFTOVER.fullmatch(temporary.name))
    )
