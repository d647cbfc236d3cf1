"""The optional geometry libraries: imported when used, with the install line when missing."""

from functools import cache
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType

from heatproof.shapes.errors import ShapeError

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
