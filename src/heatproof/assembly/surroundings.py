"""The day of a duty: pressure, air, sun, and the pressure at which coolant boils."""

from typing import Any

import numpy as np

from heatproof.kit.records.duty import Duty as DutyRecord
from heatproof.kit.records.duty import Weather
from heatproof.kit.records.variant import Variant
from heatproof.media.air import atmosphere, density_air, humidity_ratio
from heatproof.media.coolants import saturation_temperature_coolant
from heatproof.network import arrays as A
from heatproof.network.arrays import Surroundings
from heatproof.network.laid import Network

TABLE_FROM, TABLE_TO, TABLE_STEP = 30e3, 560e3, 5e3  # Pa absolute


def ambient_pressure(air: Weather) -> float:
    """Pa absolute: given, or the standard atmosphere's at that altitude."""
    return air.pressure if air.pressure is not None else atmosphere(air.altitude)[1]


def boiling_table(glycol: float) -> np.ndarray:
    """Saturation temperature (K) at equal steps of absolute pressure."""
    p = np.arange(TABLE_FROM, TABLE_TO, TABLE_STEP)
    return np.array([saturation_temperature_coolant(float(x), glycol) for x in p])


def coolant_volume(network: Network, path: str) -> float:
    """m3 of liquid in one coolant circuit, from its masses' capacities."""
    rho_cp = 1035.0 * 3550.0
    names = [n for n, kind in network.kinds.items() if kind == "coolant" and n.startswith(f"{path}.")]
    return sum(float(network.model.capacity[network.mass(n)]) for n in names) / rho_cp


def tank_row(variant: Variant, network: Network, path: str, mass: str) -> dict[str, Any]:
    """What sets the pressure of one coolant circuit."""
    record = variant.coolants[path]
    return {
        "fluid": int(network.model.networks["fluid"][network.networks.index(path)]),
        "mass": network.mass(mass),
        "z": tank_height(network, mass),
        "cap_pressure": record.cap_pressure,
        "air": record.tank_air,
        "liquid": coolant_volume(network, path),
        "fill_temperature": record.fill_temperature,
    }


def surroundings(variant: Variant, network: Network, duty: DutyRecord) -> Surroundings:
    """What stays the same through one duty, SI."""
    air = duty.air
    p = ambient_pressure(air)
    w = humidity_ratio(air.ambient, p, air.humidity)
    given = np.array(network.boundary_temperatures)
    return Surroundings(
        pressure=float(p),
        temperature=float(air.ambient),
        density=float(density_air(air.ambient, p, w)),
        boundary=np.where(np.isnan(given), air.ambient, given),
        sun=float(air.sun),
        saturation_p0=TABLE_FROM,
        saturation_step=TABLE_STEP,
        saturation_T=np.stack([_table(variant.coolants[path].glycol) for path in network.tanks]),
        tanks=A.records(A.TANK, [tank_row(variant, network, *tank) for tank in network.tanks.items()]),
    )


_TABLES: dict[float, np.ndarray] = {}


def _table(glycol: float) -> np.ndarray:
    if glycol not in _TABLES:
        _TABLES[glycol] = boiling_table(glycol)
    return _TABLES[glycol]


def tank_height(network: Network, mass: str) -> float:
    """m, of the junction whose mass is the expansion tank."""
    model = network.model
    at = np.flatnonzero(model.junctions["mass"] == network.mass(mass))
    return float(model.junctions["z"][at[0]])
