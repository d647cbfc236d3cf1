"""An unknown name is an error that says which known name is nearest."""

from collections.abc import Iterable
from difflib import get_close_matches


class UnknownName(KeyError):
    """A name that no data file knows; `.nearest` is the closest known name or None, `.known` all of them."""

    def __init__(self, kind: str, name: str, known: Iterable[str]):
        self.kind, self.name, self.known = kind, name, tuple(known)
        lowered = {entry.lower(): entry for entry in self.known}
        matches = get_close_matches(name.lower(), lowered, n=1, cutoff=0.3)
        self.nearest: str | None = lowered[matches[0]] if matches else None
        super().__init__(name)

    def __str__(self) -> str:
        hint = f"nearest known: {self.nearest!r}" if self.nearest else f"known: {', '.join(self.known)}"
        return f"unknown {self.kind} {self.name!r}; {hint}"
