"""What the room says when a shape cannot be used, or can but deserves a look; and when an optional library is missing."""

from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType
from typing import Literal

from heatproof.units.quantity import Amount

Level = Literal["error", "warning", "note"]


class ShapeError(ValueError):
    """A shape was refused: what is wrong, where, what was got, what is allowed and what to do next."""

    def __init__(
        self, what: str, *, where: str = "", got: str = "", allowed: str = "", next_step: str = ""
    ) -> None:
        self.what, self.where, self.got, self.allowed, self.next_step = what, where, got, allowed, next_step
        super().__init__(self.text())

    def text(self) -> str:
        """One readable message from all fields that are filled."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        labels = (("got", self.got), ("allowed", self.allowed), ("next", self.next_step))
        return "; ".join([head] + [f"{label}: {value}" for label, value in labels if value])


@dataclass(frozen=True)
class ShapeFinding:
    """Something about a part's shape that the user should know. `level` "error" must be mended first.

    It knows the part, not the files: `assembly` gives it its place in them. amounts: what its texts hold.
    """

    level: Level
    part: str
    what: str
    got: str = ""
    next_step: str = ""
    amounts: tuple[Amount, ...] = ()


INSTALL = "pip install 'heatproof[bay]'"


def need(module: str) -> ModuleType:
    """Import an optional library; ShapeError naming the install line when it is missing."""
    try:
        return import_module(module)
    except ImportError as missing:
        raise ShapeError(
            f"bay geometry needs the library {module.partition('.')[0]}, which is not installed",
            got=str(missing),
            next_step=INSTALL,
        ) from missing


@cache
def has_ray_library() -> bool:
    """Whether the fast ray tracing wheel (embreex) is present on this machine."""
    return find_spec("embreex") is not None


@cache
def has_step_reader() -> bool:
    """Whether the wheel that reads STEP files (cascadio) is present."""
    return find_spec("cascadio") is not None
