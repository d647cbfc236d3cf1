"""The one decorator that compiles a kernel."""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compile a function of floats and arrays; cached on disk, IEEE division, callable from Python."""
    return cast(F, numba.njit(cache=True, error_model="numpy", nogil=True)(function))
