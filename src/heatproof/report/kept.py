"""Plain results that take longer than a document should, kept in the project's `results/` folder."""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from heatproof._files import write_whole
from heatproof._program_hash import answers_hash
from heatproof._sealed import seal, unseal
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.study.stored import FOLDER

FORMAT, MOST_FILES = "heatproof kept 2", 12


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
    text = " ".join((project.hash(), *variant.fitted, what, options, answers_hash()))
    key = hashlib.sha256(text.encode()).hexdigest()[:24]
    path = project.folder / FOLDER / f"{what}-{key}.json"
    found = None if fresh else read(path, key)
    if found is not None:
        return found["data"]
    data = make()
    try:
        path.parent.mkdir(exist_ok=True)
        sealed = seal({"format": FORMAT, "key": key, "data": data}, allow_nan=False)
        write_whole(path, sealed, sync=False)
        drop_oldest(path.parent, what)
    except OSError:
        pass  # a folder that cannot be written costs time, nothing else
    return data


def drop_oldest(folder: Path, what: str) -> None:
    """Keeps the newest answers of one kind; only files of that kind are touched."""
    found = sorted(folder.glob(f"{what}-*.json"), key=lambda p: p.stat().st_mtime, reverse=True)
    for path in found[MOST_FILES:]:
        path.unlink(missing_ok=True)


def read(path: Path, key: str) -> dict[str, Any] | None:
    """The stored object; None where there is none or it is damaged."""
    try:
        data = unseal(path.read_bytes())
    except (OSError, ValueError):
        return None
    sound = (
        isinstance(data, dict) and data.get("format") == FORMAT and data.get("key") == key and "data" in data
    )
    return data if sound else None
