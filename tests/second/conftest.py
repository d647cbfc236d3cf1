"""The demo, laid once, with its duties warmed up by production: where both solutions start."""

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
from heatproof.kit.read import read_project
from heatproof.network.solve import Duty, Run, settle_start, solve_duty
from heatproof.network.transient import Stepping


@dataclass(frozen=True)
class Start:
    """One duty of the demo: the laid network, the day, the samples, the first state and what its relays say."""

    network: object
    around: object
    duty: Duty
    y: np.ndarray
    fans: np.ndarray

    def production(self, duty: Duty | None = None, **stepping: float) -> Run:
        given = duty or self.duty
        return solve_duty(
            self.network, self.around, given, self.y, stepping=Stepping(**stepping), fan_target=self.fans
        )


@pytest.fixture(scope="session")
def start() -> Callable[[str], Start]:
    project = read_project(Path(heatproof.__file__).parent / "examples" / "hatchback")
    variant = project.variant()
    network = lay_network(variant)

    @cache
    def of(name: str) -> Start:
        record = project.duties[name]
        around = surroundings(variant, network, record)
        sample, seconds = start_sample(record, variant)
        y, fans = settle_start(network, around, sample, seconds=max(seconds, 1))
        return Start(network, around, duty_samples(record, variant), y, fans)

    return of
