"""The two decorators that compile a kernel: one for functions Python calls, one for those only kernels call.

A function that only other kernels call needs no way in from Python (unpacking the 60 arrays of a model takes the
compiler longer than the function itself) and, as long as it makes no array, no counting of who holds which array
(two atomic instructions whenever `model.x` is read, a fifth of all time in kernels).
"""

from collections.abc import Callable
from typing import Any, NoReturn, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compile a function of floats and arrays; cached on disk, IEEE division, callable from Python."""
    return cast(F, numba.njit(cache=True, error_model="numpy", nogil=True)(function))


def compiled_inner(function: F) -> F:
    """As `compiled`, for a function that only compiled functions call and that makes no array.

    The compiler refuses one that makes an array; a call from Python raises TypeError.
    """
    kernel = cast(Any, numba.njit)(
        cache=True,
        error_model="numpy",
        nogil=True,
        no_cpython_wrapper=True,
        no_cfunc_wrapper=True,
        _nrt=False,
    )(function)

    def keep_from_python(compilation: Any) -> None:
        # Known to kernels, not entered among what a call from Python may run: there is nothing it could run.
        kernel.overloads[compilation.signature.args] = compilation

    def refuse(*_: Any, **__: Any) -> NoReturn:
        raise TypeError(f"{function.__name__} runs inside compiled functions only: call it from one")

    kernel.add_overload = keep_from_python
    kernel._compile_for_args = refuse
    return cast(F, kernel)
