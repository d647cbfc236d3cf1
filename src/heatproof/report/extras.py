"""Libraries of the `report` extra, imported when first needed."""

from importlib import import_module
from typing import Any

from heatproof.kit.findings import Finding, Refused


def need(name: str, extra: str = "report") -> Any:
    """The module. Refused with what to install."""
    try:
        return import_module(name)
    except ImportError as error:
        step = f"pip install 'heatproof[{extra}]'"
        what = f"documents need the package {name.split('.')[0]}"
        raise Refused([Finding("error", what, next_step=step)]) from error
