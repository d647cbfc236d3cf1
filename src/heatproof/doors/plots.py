"""Plots that a verb writes when asked to."""

from pathlib import Path
from typing import Any


def save_plot(figure: Any, path: Path) -> None:
    """Written whole or not at all. Refused where it is no PNG."""
    from heatproof._files import write_through
    from heatproof.kit.findings import Finding, Refused

    if path.suffix.lower() != ".png":
        raise Refused([Finding("error", "plots are PNG files", got=path.name, next_step="name it NAME.png")])
    write_through(path, lambda file: figure.savefig(file, dpi=150, format="png"))


def new_figure(width: float = 7.0, height: float = 4.5) -> tuple[Any, Any]:
    """A figure and its axes, without a screen. Refused where the extra is missing."""
    from heatproof.kit.findings import Finding, Refused

    try:
        from matplotlib.figure import Figure
    except ImportError as error:
        step = "pip install 'heatproof[report]'"
        raise Refused([Finding("error", "plots need an extra package", next_step=step)]) from error
    figure = Figure(figsize=(width, height), layout="constrained")
    return figure, figure.subplots()
