"""Finished results of a sweep in a folder: one small JSON file each, whole or not there at all."""

import json
import os
import tempfile
from pathlib import Path
from typing import Any

FORMAT = "heatproof sweep 1"


def write_whole(path: Path, text: str) -> None:
    """Temporary file in the same folder, then renamed over. Stands here so that workers load little."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".part-", suffix=".tmp")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


class Kept:
    """Results of the tasks whose hashes are `names`; without a folder nothing is kept."""

    def __init__(self, folder: Path | str | None, names: list[str]) -> None:
        self.folder = Path(folder) if folder is not None else None
        self.names = names
        if self.folder is not None:
            self.folder.mkdir(parents=True, exist_ok=True)

    def path(self, k: int) -> Path:
        """Where result k is kept."""
        assert self.folder is not None
        return self.folder / f"{self.names[k]}.json"

    def load(self) -> dict[int, Any]:
        """Place to result of all that are there and whole."""
        if self.folder is None:
            return {}
        there = {path.stem for path in self.folder.glob("*.json")}
        found = {}
        for k, name in enumerate(self.names):
            if name in there and (value := self._read(k)) is not None:
                found[k] = value["result"]
        return found

    def save(self, k: int, result: Any) -> None:
        """Writes result k."""
        if self.folder is not None:
            write_whole(self.path(k), json.dumps({"format": FORMAT, "key": self.names[k], "result": result}))

    def _read(self, k: int) -> dict[str, Any] | None:
        try:
            data = json.loads(self.path(k).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        whole = isinstance(data, dict) and data.get("format") == FORMAT and data.get("key") == self.names[k]
        return data if whole and "result" in data else None
