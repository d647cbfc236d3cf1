"""A laid network: arrays for the kernels, and the names that go with them."""

from dataclasses import dataclass, field

import numpy as np

from heatproof.network import arrays as A
from heatproof.network.pattern import with_pattern


@dataclass(frozen=True)
class Network:
    """Arrays for the kernels, and the names that go with them."""

    model: A.Model
    masses: tuple[str, ...]
    boundaries: tuple[str, ...]
    junctions: tuple[str, ...]
    branches: tuple[str, ...]
    networks: tuple[str, ...]
    lifts: tuple[str, ...]
    fans: tuple[str, ...]
    causes: tuple[str, ...]
    link_names: dict[str, tuple[str, ...]]
    boundary_temperatures: tuple[float, ...]  # K; nan where the duty's ambient counts
    tanks: dict[str, str]  # network → mass of its expansion tank
    kinds: dict[str, str]
    link_pairs: dict[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)

    @property
    def size(self) -> int:
        """Number of states: masses, thermostat lifts, fan speeds."""
        return int(self.model.capacity.size)

    def mass(self, name: str) -> int:
        """Index of a mass."""
        return self.masses.index(name)


def exact_model(network: Network) -> A.Model:
    """The model with every radiation pair in its matrix, for those who need the whole Jacobian."""
    model = network.model
    return with_pattern(model, len(network.masses), np.arange(model.radiation.size))
