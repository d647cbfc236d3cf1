"""Files that appear whole or not at all."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO


def write_through(path: Path, write: Callable[[BinaryIO], object]) -> None:
    """Call `write` on a temporary file beside `path`, then put it in place; nothing stays after an error."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            write(stream)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def write_bytes(path: Path, content: bytes) -> None:
    """Write `content` to `path`, whole or not at all."""
    write_through(path, lambda stream: stream.write(content))
