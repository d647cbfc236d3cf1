"""Cooling and bay air: zones, the passages between them, the fan."""

from typing import Annotated, Literal

from pydantic import Field

from heatproof.kit.records.base import Record, Title
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, cm3, degC, hour, kPa, kW, percent

HEIGHT = Quantity("m", -0.5, 4.0, "Height above the road")


class Zone(Record):
    """A space of well-mixed air."""

    volume: Annotated[float, Quantity("L", 10 * cm3, 20.0, "Air volume")]
    flow_area: Annotated[
        float, Quantity("m2", 1 * cm2, 10.0, "Area the air flows through; sets its speed past parts")
    ]
    height: Annotated[float, HEIGHT]
    walls: Annotated[
        tuple[str, ...], Reference("parts", "Panels that bound the zone: one name or a list")
    ] = ()
    title: Title = ""


class Passage(Record):
    """A way for air between two zones. Flow goes either way unless `one_way`. `outside` is the open air.

    Area: required, unless the passage holds a core (`share` of its face) or is the fan's.
    """

    from_: Annotated[
        str, Field(alias="from"), Reference("air.zones", "Zone where positive flow starts", also=("outside",))
    ]
    to: Annotated[str, Reference("air.zones", "Zone where positive flow ends", also=("outside",))]
    kind: Annotated[
        Literal["opening", "gap", "vent", "duct", "fan"],
        Text("fan: the fan blows through it; gap: an installer may seal or leave it"),
    ] = "opening"
    area: Annotated[float | None, Quantity("cm2", 0.01 * cm2, 5.0, "Free area")] = None
    loss: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            500.0,
            "Pressure loss over dynamic pressure in the free area; of no effect with a core or fan",
            spread="20 %",
            source="sharp-edged opening, 1/0.61 squared, handbook",
        ),
    ] = 2.7
    pressure_coefficient: Annotated[
        float,
        Quantity(
            "1", -3.0, 1.2, "Pressure outside the opening over ram pressure, only where one end is outside"
        ),
    ] = 0.0
    height: Annotated[float, HEIGHT]
    core: Annotated[str | None, Reference("cores", "Core the air passes through")] = None
    share: Annotated[float, Quantity("%", 0.1 * percent, 100 * percent, "Share of the core's face")] = 1.0
    one_way: Annotated[bool, Text("True for a flap that shuts against flow from `to` to `from`")] = False
    title: Title = ""


class Fan(Record):
    """Electric fan, two speeds. Its curve is a parabola through the two points, scaled by affinity laws."""

    passage: Annotated[str, Reference("air.passages", "Passage it blows through")]
    pressure_at_rest: Annotated[float, Quantity("Pa", 1.0, 5 * kPa, "Pressure rise at zero flow, full speed")]
    free_flow: Annotated[float, Quantity("m3/s", 1e-3, 20.0, "Flow at zero pressure rise, full speed")]
    power: Annotated[float, Quantity("W", 0.0, 5 * kW, "Electric power, full speed")] = 250.0
    low_speed: Annotated[float, Quantity("%", 5 * percent, 100 * percent, "Low speed over full speed")] = (
        65 * percent
    )
    on_temperature: Annotated[
        float, Quantity("degC", degC(20), degC(150), "Low speed above this", "temperature")
    ] = degC(97)
    high_temperature: Annotated[
        float, Quantity("degC", degC(20), degC(150), "Full speed above this", "temperature")
    ] = degC(102)
    hysteresis: Annotated[
        float, Quantity("K", 0.0, 30.0, "Falls back this far below each temperature", "difference")
    ] = 5.0
    sensor: Annotated[str, Reference("coolant.junctions", "Coolant junction that is sensed")]
    with_air_conditioning: Annotated[bool, Text("True where low speed runs with the air conditioning")] = True
    run_on: Annotated[
        float, Quantity("s", 0.0, hour, "Time it may run after key-off, above on_temperature")
    ] = 0.0


class Air(Record):
    """The cooling-air network."""

    zones: Annotated[dict[str, Zone], Text("Spaces of air")]
    passages: Annotated[dict[str, Passage], Text("Ways between zones and to the outside")]
    fan: Annotated[Fan | None, Text("Cooling fan")] = None
