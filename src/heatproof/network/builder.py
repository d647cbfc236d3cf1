"""Lays a network link by link, by name, and turns it into arrays once.

A trade part is a function that calls these methods; it owns no solver. Names are kept, so that every result
can say what it belongs to. Any order of calls gives the same answers.
"""

from typing import Any

import numpy as np

from heatproof.network.laid import Network
from heatproof.network.lay_flow import LaysFlow
from heatproof.network.lay_heat import LaysHeat
from heatproof.network.packing import Packing
from heatproof.network.rows import Rows


class NetworkBuilder(LaysHeat, LaysFlow):
    """Collects masses, links, junctions and branches by name."""

    def __init__(self) -> None:
        self.rows = Rows()

    def engine(
        self, values: dict[str, Any], breathing: np.ndarray, compressor_map: np.ndarray | None
    ) -> None:
        """The engine: columns of arrays.ENGINE, its temperatures and junction by name; (2, points) breathing
        curve; (3, ratios, flows) compressor map."""
        self.rows.engine, self.rows.breathing = values, breathing
        if compressor_map is not None:
            self.rows.compressor_map = compressor_map

    def build(self) -> Network:
        """Turn names into arrays."""
        return Packing(self.rows).network()
