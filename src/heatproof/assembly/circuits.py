"""One liquid circuit about to be laid: its fluid, its records, its names and reference flows."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

import numpy as np

from heatproof.kit.records.liquids import (
    Coolant,
    CoolantLine,
    DisplacementPump,
    ElectricPump,
    Junction,
    Oil,
    OilLine,
    Pump,
)
from heatproof.kit.records.variant import Variant
from heatproof.laws.core import Stream
from heatproof.media.names import UnknownName
from heatproof.network.builder import NetworkBuilder

AnyLine = CoolantLine | OilLine

SMALLEST_VOLUME = 20e-6  # m3 of a cell laid where heat or height asks for one
PUMP_SPEED = 100.0  # rev/s, at which a displacement pump's largest delivery is taken


@dataclass(frozen=True)
class Liquid:
    """A circuit's fluid, and how its circuit is treated.

    number: of network.arrays; prefix: of all its names; stream: state that losses and coefficients hold at;
    expansion: 1/K; speed: m/s of the reference flow; circulates: False where gravity moves nothing.
    """

    number: int
    prefix: str
    kind: str
    coefficients: np.ndarray
    stream: Stream
    expansion: float
    speed: float
    circulates: bool
    boils: bool

    @property
    def nu(self) -> float:
        """m2/s."""
        return self.stream.mu / self.stream.rho

    def capacity(self, volume: float) -> float:
        """J/K of a volume (m3)."""
        return self.stream.rho * volume * self.stream.cp


def expansion_of(coefficients: np.ndarray) -> float:
    """1/K, from the slope of the density curve at 90 degC."""
    return float(-coefficients[1] / coefficients[0])


@dataclass(frozen=True)
class Circuit:
    """One liquid circuit being laid."""

    b: NetworkBuilder
    variant: Variant
    fluid: Liquid
    record: Coolant | Oil
    lines: dict[str, AnyLine]

    def name(self, key: str) -> str:
        """`coolant.head` for `head`."""
        return f"{self.fluid.prefix}.{key}"

    def height(self, key: str) -> float:
        """m of a junction; all alike where nothing circulates by itself."""
        if not self.fluid.circulates:
            key = self.record.fixed_pressure
        return junction(self.record, key).height


def junction_names(record: Coolant | Oil, lines: Mapping[str, AnyLine]) -> tuple[str, ...]:
    """Listed junctions, then those that only lines name."""
    named = [end for line in lines.values() for end in (line.from_, line.to)]
    return tuple(dict.fromkeys([*record.junctions, *named]))


def junction(record: Coolant | Oil, key: str) -> Junction:
    """A junction's record, or one made of the defaults for small ones."""
    if key in record.junctions:
        return record.junctions[key]
    if record.small_junctions is None:
        raise UnknownName("junction", key, record.junctions)
    return Junction(height=record.small_junctions.height, volume=record.small_junctions.volume)


def volume_of(line: AnyLine) -> float:
    """m3: given, or from bore and length; 0 for a pump without a bore."""
    if line.volume is not None:
        return line.volume
    return pi / 4.0 * line.bore**2 * line.length if line.bore else 0.0


def bore_of(line: AnyLine) -> float:
    """m; of a line without one, the width of a cube of its volume."""
    return line.bore if line.bore else max(volume_of(line), SMALLEST_VOLUME) ** (1.0 / 3.0)


def reference_flow(fluid: Liquid, line: AnyLine) -> float:
    """kg/s at the fluid's reference speed in the line's bore; half the free flow of a pump."""
    if line.bore:
        return fluid.stream.rho * pi / 4.0 * line.bore**2 * fluid.speed
    if isinstance(line, Pump | ElectricPump):
        return 0.5 * fluid.stream.rho * line.free_flow
    if isinstance(line, DisplacementPump):
        return 0.5 * delivery(fluid, line) * PUMP_SPEED
    return fluid.stream.rho * pi / 4.0 * bore_of(line) ** 2 * fluid.speed


def delivery(fluid: Liquid, line: DisplacementPump) -> float:
    """kg per engine revolution."""
    return fluid.stream.rho * line.displacement * line.volumetric_efficiency
