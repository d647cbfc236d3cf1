"""heatproof: does anything get too hot, in the hardest use the kit is sold for, and how sure are we?"""

from importlib import import_module
from typing import Any

from heatproof._compiled_cache import use_user_cache

use_user_cache()

__version__ = "0.1.0"

_SHORT_WAYS = {
    "read_project": "heatproof.kit.read",
    "check": "heatproof.study.check",
    "explain": "heatproof.study.explain",
    "variant": "heatproof.report.session",
}
"""Names that may be imported from the package itself; their rooms are loaded when first asked for."""


def __getattr__(name: str) -> Any:
    if name not in _SHORT_WAYS:
        raise AttributeError(f"module 'heatproof' has no attribute {name!r}")
    return getattr(import_module(_SHORT_WAYS[name]), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_SHORT_WAYS])
