"""Finished results of a sweep in a folder: one small JSON file each, whole or not there at all."""

from pathlib import Path
from typing import Any

from heatproof._files import tidy_once, write_whole
from heatproof._sealed import seal, unseal

FORMAT = "heatproof sweep 2"


class Kept:
    """Results of the tasks whose hashes are `names`; without a folder nothing is kept."""

    def __init__(self, folder: Path | str | None, names: list[str]) -> None:
        self.folder = Path(folder) if folder is not None else None
        self.names = names
        if self.folder is not None:
            self.folder.mkdir(parents=True, exist_ok=True)
            tidy_once(self.folder)

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
            data = {"format": FORMAT, "key": self.names[k], "result": result}
            write_whole(self.path(k), seal(data), sync=False)

    def _read(self, k: int) -> dict[str, Any] | None:
        try:
            data = unseal(self.path(k).read_bytes())
        except (OSError, ValueError):
            return None
        whole = isinstance(data, dict) and data.get("format") == FORMAT and data.get("key") == self.names[k]
        return data if whole and "result" in data else None
