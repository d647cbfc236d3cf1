"""Files written whole or not at all: the one home of this for every room."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO


def write_whole(path: Path, data: bytes, *, sync: bool = True) -> None:
    """Writes a file through a temporary one beside it; permissions of an existing file are kept.

    sync: wait for the disk, so that a power cut cannot leave an empty file; results that can be made again do
    without.
    """
    write_through(path, lambda file: file.write(data), sync=sync)


def write_through(path: Path, write: Callable[[BinaryIO], object], *, sync: bool = False) -> None:
    """Calls `write` on a temporary file beside `path`, then puts it in place; nothing stays after an error."""
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            write(file)
            if sync:
                file.flush()
                os.fsync(file.fileno())
        os.chmod(name, mode)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
