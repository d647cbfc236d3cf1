"""heatproof: does anything get too hot, in the hardest use the kit is sold for, and how sure are we?

What a Python session needs comes from here: every question as a function, and as a method of projects and variants;
everything else by its full name from its room (`docs/architecture.md`).
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from heatproof._compiled_cache import use_user_cache
from heatproof._version import __version__

if TYPE_CHECKING:
    from heatproof.assembly.model import Solved
    from heatproof.kit.findings import Refused
    from heatproof.session.answers import CheckAnswer, ExplainAnswer, Runs
    from heatproof.session.questions import (
        Project,
        Variant,
        bay,
        check,
        choose,
        compare,
        explain,
        new,
        rating,
        read_project,
        release,
        run,
        sheets,
        size,
        sweep,
        tolerance,
        variant,
    )
    from heatproof.verdict.explain import Explanation
    from heatproof.verdict.solving import DutyNotSolved
    from heatproof.verdict.verdict import Verdict

use_user_cache()

__all__ = [
    "CheckAnswer",
    "DutyNotSolved",
    "ExplainAnswer",
    "Explanation",
    "Project",
    "Refused",
    "Runs",
    "Solved",
    "Variant",
    "Verdict",
    "__version__",
    "bay",
    "check",
    "choose",
    "compare",
    "explain",
    "new",
    "rating",
    "read_project",
    "release",
    "run",
    "sheets",
    "size",
    "sweep",
    "tolerance",
    "variant",
]

_SHORT_WAYS = {
    "Verdict": "heatproof.verdict.verdict",
    "Solved": "heatproof.assembly.model",
    "Explanation": "heatproof.verdict.explain",
    "CheckAnswer": "heatproof.session.answers",
    "DutyNotSolved": "heatproof.verdict.solving",
    "ExplainAnswer": "heatproof.session.answers",
    "Project": "heatproof.session.questions",
    "Refused": "heatproof.kit.findings",
    "Runs": "heatproof.session.answers",
    "Variant": "heatproof.session.questions",
    "bay": "heatproof.session.questions",
    "check": "heatproof.session.questions",
    "choose": "heatproof.session.questions",
    "compare": "heatproof.session.questions",
    "explain": "heatproof.session.questions",
    "new": "heatproof.session.questions",
    "rating": "heatproof.session.questions",
    "read_project": "heatproof.session.questions",
    "release": "heatproof.session.questions",
    "run": "heatproof.session.questions",
    "sheets": "heatproof.session.questions",
    "size": "heatproof.session.questions",
    "sweep": "heatproof.session.questions",
    "tolerance": "heatproof.session.questions",
    "variant": "heatproof.session.questions",
}
"""Names that may be imported from the package itself; their rooms are loaded when first asked for."""


def __getattr__(name: str) -> Any:
    if name not in _SHORT_WAYS:
        raise AttributeError(f"module 'heatproof' has no attribute {name!r}")
    return getattr(import_module(_SHORT_WAYS[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *_SHORT_WAYS})
