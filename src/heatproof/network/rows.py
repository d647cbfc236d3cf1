"""What has been laid so far, thing by thing and by name: what a builder fills and packing turns into arrays."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

VEHICLE_AIR, STILL_AIR = "(vehicle air)", "(still air)"
LINKS = ("conduction", "radiation", "convection", "wetted", "duct", "exchanger", "source", "boiling")

Row = dict[str, Any]
"""Columns of `arrays`, with names where those have places."""


class NetworkError(ValueError):
    """A link names something that was never laid; the message says which."""


@dataclass
class Rows:
    """In the order of laying. boundaries: K, nan where the duty's ambient counts; fluids: curves of liquids."""

    masses: dict[str, Row] = field(default_factory=dict)
    boundaries: dict[str, float] = field(default_factory=lambda: {"ambient": float("nan")})
    junctions: dict[str, Row] = field(default_factory=dict)
    branches: dict[str, Row] = field(default_factory=dict)
    networks: dict[str, Row] = field(default_factory=dict)
    links: dict[str, list[Row]] = field(default_factory=lambda: {kind: [] for kind in LINKS})
    lifts: dict[str, Row] = field(default_factory=dict)
    fans: dict[str, Row] = field(default_factory=dict)
    fluids: dict[int, np.ndarray] = field(default_factory=dict)
    tanks: dict[str, str] = field(default_factory=dict)
    engine: Row | None = None
    breathing: np.ndarray = field(default_factory=lambda: np.array([[0.0, 1.0], [1.0, 1.0]]))
    compressor_map: np.ndarray = field(default_factory=lambda: np.ones((3, 2, 2)))

    def link(self, kind: str, name: str, **values: Any) -> None:
        """One link more of a kind."""
        self.links[kind].append({"name": name, **values})
