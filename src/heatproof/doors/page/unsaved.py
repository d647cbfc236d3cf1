"""Edits that are not saved yet, kept beside the project in `unsaved.json`, so that no end of the program loses them.

Written whole after every step, with all that undo goes back to; gone once everything is saved or undone. Nothing that is
computed depends on it, and no other verb reads it.
"""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from heatproof._files import write_whole
from heatproof.doors.page.edits import State

FILE, FORMAT = "unsaved.json", "heatproof unsaved 1"
ASIDE = "unsaved-not-used.json"
MOST_STEPS = 200


def write_unsaved(folder: Path, history: Sequence[State], at: int) -> None:
    """The newest steps, whole; the file goes where there is nothing to come back to. OSError. A link is left alone."""
    path = folder / FILE
    if path.is_symlink():
        return
    if len(history) < 2:
        path.unlink(missing_ok=True)
        return
    first = max(0, min(at, len(history) - MOST_STEPS))
    steps = [{"fitted": state.fitted, "edits": state.edits} for state in history[first:][:MOST_STEPS]]
    text = json.dumps({"format": FORMAT, "at": at - first, "steps": steps}, ensure_ascii=False, indent=0)
    write_whole(path, text.encode())


def read_unsaved(folder: Path) -> tuple[list[State], int] | None:
    """Steps and which of them is on the desk; None without a file. ValueError where it cannot be understood."""
    path = folder / FILE
    if not path.is_file() or path.is_symlink():
        return None
    data = json.loads(path.read_text(encoding="utf-8"))
    try:
        if data["format"] != FORMAT:
            raise ValueError(f"format {data['format']!r}")
        steps, at = [state_of(step) for step in data["steps"]], int(data["at"])
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(str(error)) from error
    if not 0 <= at < len(steps):
        raise ValueError(f"at {at} of {len(steps)} steps")
    return steps, at


def state_of(step: dict[str, Any]) -> State:
    """One step of the file. ValueError, KeyError or TypeError for another form."""
    edits = tuple((str(file), str(path), str(text)) for file, path, text in step["edits"])
    return State(tuple(str(name) for name in step["fitted"]), edits)


def set_aside(folder: Path) -> str:
    """Keeps a file that cannot be used under another name; returns that name."""
    (folder / FILE).replace(folder / ASIDE)
    return ASIDE
