"""From a variant to a network, and from a duty to a run."""

from dataclasses import dataclass
from typing import Protocol

from heatproof.assembly.air import lay_air
from heatproof.assembly.bay.lay import lay_bay, lay_hot_faces
from heatproof.assembly.bay.refused import refused_shape
from heatproof.assembly.charge import lay_charge
from heatproof.assembly.coolant import lay_coolant
from heatproof.assembly.cores import lay_cores
from heatproof.assembly.duties.samples import duty_samples, held_longer, start_sample
from heatproof.assembly.engine import lay_engine, lay_turbo
from heatproof.assembly.exhaust import lay_exhaust
from heatproof.assembly.oil import lay_oil
from heatproof.assembly.parts import lay_links, lay_masses, lay_surfaces
from heatproof.assembly.surroundings import surroundings
from heatproof.kit.records.duty import Duty as DutyRecord
from heatproof.kit.records.variant import Variant
from heatproof.network.builder import NetworkBuilder
from heatproof.network.laid import Network
from heatproof.network.solve import Run, settle_start, solve_duty, uniform_state
from heatproof.network.transient import Stepping
from heatproof.shapes.errors import ShapeError


class Lays(Protocol):
    """Adds something to a network under construction."""

    def __call__(self, b: NetworkBuilder, variant: Variant) -> None: ...


LAYERS: tuple[Lays, ...] = (
    lay_masses,
    lay_air,
    lay_coolant,
    lay_oil,
    lay_charge,
    lay_exhaust,
    lay_cores,
    lay_turbo,
    lay_engine,
    lay_surfaces,
    lay_links,
    lay_bay,
    lay_hot_faces,
)


def lay_network(variant: Variant, *, layers: tuple[Lays, ...] = LAYERS) -> Network:
    """The whole car as one network. Raises Refused where a shape cannot be used."""
    b = NetworkBuilder()
    try:
        for layer in layers:
            layer(b, variant)
    except ShapeError as error:
        raise refused_shape(variant, error) from error
    return b.build()


@dataclass(frozen=True)
class Solved:
    """One duty of one variant, solved."""

    variant: Variant
    duty: DutyRecord
    run: Run


def solve(
    variant: Variant,
    duty: DutyRecord,
    network: Network | None = None,
    stepping: Stepping | None = None,
    *,
    hold: int = 1,
) -> Solved:
    """Warm up as the duty says, then integrate it. hold: s over which the drive is averaged. Raises NotSolved."""
    network = network or lay_network(variant)
    around = surroundings(variant, network, duty)
    samples = held_longer(duty_samples(duty, variant), hold)
    if duty.start.cold:
        start, fans = uniform_state(network, around), None
    else:
        sample, seconds = start_sample(duty, variant)
        start, fans = settle_start(network, around, sample, seconds=max(int(seconds), 1))
    run = solve_duty(network, around, samples, start, stepping=stepping, fan_target=fans)
    return Solved(variant=variant, duty=duty, run=run)
