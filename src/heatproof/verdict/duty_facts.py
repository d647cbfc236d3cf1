"""What one solved duty says beside its temperatures: power and boost reached, where the heat went."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.network import signals as S
from heatproof.units.results import HIDDEN, Pa, Shown, W, degC, s

BALANCE: tuple[tuple[str, int, float], ...] = (
    ("fuel", S.FUEL_HEAT, 1.0),
    ("brake power", S.BRAKE_POWER, 1.0),
    ("cylinder walls", S.WALL_HEAT, 1.0),
    ("friction", S.FRICTION_HEAT, 1.0),
    ("exhaust ports", S.EXHAUST_HEAT, 1.0),
    ("unburned", S.CHEMICAL_LOSS, 1.0),
    ("compression of the charge", S.COMPRESSION_HEAT, 1.0),
)
"""Name, signal, factor: mean power of each while the engine runs."""


@dataclass(frozen=True)
class DutyFacts:
    """key: of the duty; name: as people know it. Times s, power W, boost Pa over ambient.

    closure: heat in less out less stored, over heat put in. balance: mean W while the engine runs. power and
    boost are the highest reached.
    """

    key: Annotated[str, Shown("name")]
    name: Annotated[str, Shown("title", "Duty")]
    duration: Annotated[float, s, Shown(label="Length")]
    key_off: Annotated[float, HIDDEN]
    closure: float
    power: Annotated[float, W]
    boost: Annotated[float, Pa]
    ambient: Annotated[float, degC]
    balance: Annotated[dict[str, float], W, Shown("heat")]
    notes: tuple[str, ...] = ()

    @property
    def stops(self) -> bool:
        """Whether the engine stops before the end."""
        return self.key_off < self.duration

    @property
    def stops_at(self) -> Annotated[float | None, s, Shown("key_off", "Key-off")]:
        """When the engine stops, s; None where it runs to the end."""
        return self.key_off if self.stops else None


def duty_facts(key: str, solved: Solved, notes: tuple[str, ...] = ()) -> DutyFacts:
    """Facts of one run."""
    run = solved.run
    return DutyFacts(
        key=key,
        name=solved.duty.name,
        duration=float(run.duty.duration),
        key_off=float(run.duty.key_off),
        closure=run.closure,
        power=float(run.signal[:, S.BRAKE_POWER].max()),
        boost=float(run.signal[:, S.MANIFOLD_PRESSURE].max() - run.around.pressure),
        ambient=run.around.temperature,
        balance=balance_of(solved),
        notes=notes,
    )


def balance_of(solved: Solved) -> dict[str, float]:
    """Mean W of every term while the engine runs; signals hold from a stored row to the next."""
    run = solved.run
    dt = np.diff(run.time) * (run.signal[:-1, S.ENGINE_ON] > 0.5)
    seconds = float(dt.sum())
    if seconds == 0.0:
        return {name: 0.0 for name, _, _ in BALANCE}
    return {name: float(dt @ run.signal[:-1, k]) * factor / seconds for name, k, factor in BALANCE}
