"""heatproof: does anything get too hot, in the hardest use the kit is sold for, and how sure are we?

What a Python session needs comes from here; tables, labelled arrays and plots from `heatproof.report.session`,
everything else by its full name from its room (`docs/architecture.md`).
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from heatproof._compiled_cache import use_user_cache
from heatproof._version import __version__

if TYPE_CHECKING:
    from heatproof.assembly.model import Solved
    from heatproof.kit.findings import Refused
    from heatproof.kit.project import Project
    from heatproof.kit.read import read_project
    from heatproof.kit.records.variant import Variant
    from heatproof.report.session import run, variant
    from heatproof.study.check import check
    from heatproof.study.explain import explain
    from heatproof.verdict.explain import Explanation
    from heatproof.verdict.solving import DutyNotSolved
    from heatproof.verdict.verdict import Verdict

use_user_cache()

__all__ = [
    "DutyNotSolved",
    "Explanation",
    "Project",
    "Refused",
    "Solved",
    "Variant",
    "Verdict",
    "__version__",
    "check",
    "explain",
    "read_project",
    "run",
    "variant",
]

_SHORT_WAYS = {
    "DutyNotSolved": "heatproof.verdict.solving",
    "Explanation": "heatproof.verdict.explain",
    "Project": "heatproof.kit.project",
    "Refused": "heatproof.kit.findings",
    "Solved": "heatproof.assembly.model",
    "Variant": "heatproof.kit.records.variant",
    "Verdict": "heatproof.verdict.verdict",
    "check": "heatproof.study.check",
    "explain": "heatproof.study.explain",
    "read_project": "heatproof.kit.read",
    "run": "heatproof.report.session",
    "variant": "heatproof.report.session",
}
"""Names that may be imported from the package itself; their rooms are loaded when first asked for."""


def __getattr__(name: str) -> Any:
    if name not in _SHORT_WAYS:
        raise AttributeError(f"module 'heatproof' has no attribute {name!r}")
    return getattr(import_module(_SHORT_WAYS[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *_SHORT_WAYS})
