"""What one temperature channel is worth: tolerance, cold junction, resolution, and what all channels share.

Class tolerance and response time come from `heatproof.laws.instruments` (IEC 60584-1; Hilpert).
"""

from dataclasses import dataclass
from math import hypot, sqrt

from heatproof.laws.instruments import type_k_tolerance


@dataclass(frozen=True)
class SensorDoubt:
    """Standard deviations, K. `own` differs from channel to channel, `shared` is one bias of the whole
    logger."""

    own_K: float
    shared_K: float

    @property
    def total_K(self) -> float:
        """Both together."""
        return hypot(self.own_K, self.shared_K)


def thermocouple_doubt(
    T: float,
    *,
    tolerance_class: int = 1,
    cold_junction_K: float = 1.0,
    resolution_K: float = 0.1,
    mounting_K: float = 0.0,
) -> SensorDoubt:
    """Doubt of a type K thermocouple at T [K].

    Limits (class tolerance, cold junction 0.5 to 1 K: common practice, no source) count as rectangular
    spreads,
    sd = limit/√3; a resolution step r as r/√12 (JCGM 100:2008, 4.3.7 and F.2.2.1). `mounting_K` is a standard
    deviation. The cold junction is shared by all channels of a logger.
    """
    tolerance = type_k_tolerance(T - 273.15, tolerance_class)
    own = sqrt((tolerance / sqrt(3)) ** 2 + resolution_K**2 / 12 + mounting_K**2)
    return SensorDoubt(own, cold_junction_K / sqrt(3))


def byte_sensor_doubt(*, resolution_K: float = 1.0, tolerance_K: float = 2.0) -> SensorDoubt:
    """Doubt of an engine sensor read over the diagnostic bus: steps of 1 K (SAE J1979, A − 40), thermistor
    2 K
    (common practice, no source)."""
    return SensorDoubt(sqrt((tolerance_K / sqrt(3)) ** 2 + resolution_K**2 / 12), 0.0)
