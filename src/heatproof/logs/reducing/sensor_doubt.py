"""How far one channel of a log may be off: from what the channel map says of its sensor, else from its kind.

A sensor is described in words: `K class 1`, `K class 2`, `thermistor on the bus`. What the map does not say is
assumed as the usual case, and told.
"""

import re
from dataclasses import replace

import numpy as np

from heatproof.logs.reading.records import Channel
from heatproof.logs.reducing.thermocouples import SensorDoubt, byte_sensor_doubt, thermocouple_doubt

ENGINE_SENSORS = ("coolant_temperature", "intake_temperature", "oil_temperature")
SURFACE_MOUNTING = 0.02
"""Share of its excess over ambient that a bonded bead misreads, sd; common practice, no source. It grows and
falls with the part, so a log can hardly tell it from a part that is that much hotter."""


PLACEMENT_K = {
    "coolant_temperature": 2.0,
    "intake_temperature": 5.0,
    "oil_temperature": 6.0,
    "ambient_temperature": 1.5,
    "catalyst_temperature": 40.0,
}
"""sd, K, of where the maker put the engine's own sensor against the place it is compared with. Oil: the same oil read
12.5 K apart in the engine and after the filter (road logs of a turbocharged car, JadFelemban4/GRAD-project, public
repository). Intake air: 10 K high at cruise and 2 K at the end of a pull where the sensor sits in a warm manifold
(hobby measurement). Coolant, ambient, catalyst (often the engine computer's own estimate): judgement, no source."""


def on_bus(channel: Channel) -> bool:
    """Whether it is the engine's own sensor: said so, or an engine quantity in whole kelvins."""
    said = channel.sensor.lower()
    if said:
        return any(word in said for word in ("bus", "thermistor", "obd", "engine"))
    x = channel.values[channel.measured]
    whole = x.size > 0 and bool(np.all(np.abs((x - 273.15) % 1.0 - 0.5) > 0.499))
    return channel.quantity in ENGINE_SENSORS and whole


def doubt_of(channel: Channel, *, ambient: float) -> SensorDoubt:
    """Own and shared standard deviations, K, at the mean of what it measured; with its place, without the mounting."""
    if on_bus(channel):
        own = byte_sensor_doubt()
        return replace(own, own_K=float(np.hypot(own.own_K, placement_K(channel))))
    T = float(np.nanmean(channel.values)) if channel.measured.any() else ambient
    found = re.search(r"class\s*([12])", channel.sensor.lower())
    return thermocouple_doubt(T, tolerance_class=int(found[1]) if found else 1)


def placement_K(channel: Channel) -> float:
    """sd, K, of the sensor's place in the car; 0 where the channel map says what the sensor is."""
    return 0.0 if channel.sensor else PLACEMENT_K.get(channel.quantity, 0.0)


def mounting_share(channel: Channel, *, surface: bool) -> float:
    """sd of the share of its excess that a sensor misreads for the way it is fixed; 0 in a fluid."""
    return SURFACE_MOUNTING if surface and not on_bus(channel) else 0.0


def described(channel: Channel) -> str:
    """What the doubt was taken from."""
    if channel.sensor:
        return channel.sensor
    return "engine's own sensor, place not known" if on_bus(channel) else "thermocouple K class 1, assumed"
