"""The demo, laid once."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import heatproof
from heatproof.assembly.duties.samples import duty_samples, start_sample
from heatproof.assembly.model import lay_network
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.network.arrays import Surroundings
from heatproof.network.laid import Network
from heatproof.network.solve import Duty, Run, settle_start, solve_duty, uniform_state
from heatproof.network.transient import Stepping

sys.path.insert(0, str(Path(__file__).parents[2]))  # bench holds the reference integrators


@dataclass(frozen=True)
class Case:
    """One duty of the demo, warmed up."""

    network: Network
    around: Surroundings
    duty: Duty
    start: np.ndarray
    fans: np.ndarray

    def run(self, duty: Duty | None = None, **stepping: float) -> Run:
        return solve_duty(
            self.network,
            self.around,
            duty or self.duty,
            self.start,
            stepping=Stepping(**stepping),
            fan_target=self.fans,
        )


@pytest.fixture(scope="session")
def hatchback() -> Project:
    return read_project(Path(heatproof.__file__).parent / "examples" / "hatchback")


@pytest.fixture(scope="session")
def case(hatchback: Project) -> Callable[[str], Case]:
    variant = hatchback.variant()
    network = lay_network(variant)

    @cache
    def of(name: str) -> Case:
        record = hatchback.duties[name]
        around = surroundings(variant, network, record)
        if record.start.cold:
            y, fans = uniform_state(network, around), np.zeros(len(network.fans))
        else:
            sample, seconds = start_sample(record, variant)
            y, fans = settle_start(network, around, sample, seconds=max(seconds, 1))
        return Case(network, around, duty_samples(record, variant), y, fans)

    return of


@pytest.fixture(scope="session")
def runs(case: Callable[[str], Case]) -> Callable[[str], Run]:
    """Production runs, once each."""
    return cache(lambda name: case(name).run())
