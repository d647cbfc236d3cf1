"""What runs at the moment, and that it is not wanted any more."""

from dataclasses import dataclass


class Stopped(Exception):
    """A computation that is no longer wanted."""


@dataclass(frozen=True)
class Running:
    """What runs now. what: answer, measures, spreads or idle."""

    what: str = "idle"
    done: int = 0
    steps: int = 0
    detail: str = ""
