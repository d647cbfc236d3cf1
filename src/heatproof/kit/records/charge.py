"""Charge air from the filter to the intake valves."""

from typing import Annotated

from heatproof.kit.records.base import Record, Title
from heatproof.kit.records.limit import Limit
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, cm3, gram, kPa, litre, mm


class Filter(Record):
    """Air filter: one point of its pressure loss, which follows flow squared."""

    pressure_loss: Annotated[float, Quantity("kPa", 0.0, 30 * kPa, "Pressure loss at `at_flow`")]
    at_flow: Annotated[float, Quantity("kg/s", 1 * gram, 5.0, "Air flow of that loss")]


class ChargePipe(Record):
    """A pipe the charge air flows through."""

    part: Annotated[str, Reference("parts", "Part that is the pipe's wall")]
    bore: Annotated[float, Quantity("mm", 10 * mm, 300 * mm, "Inner diameter")]
    length: Annotated[float, Quantity("mm", 10 * mm, 10.0, "Length of the centre line")]
    bends: Annotated[int, Text("Number of 90 degree bends")] = 0
    loss: Annotated[float, Quantity("1", 0.0, 200.0, "Further pressure loss coefficient on the bore")] = 0.0
    title: Title = ""


class Plenum(Record):
    """The intake manifold; its limit is for the charge temperature."""

    part: Annotated[str, Reference("parts", "Part that is the intake manifold")]
    volume: Annotated[float, Quantity("L", 10 * cm3, 100 * litre, "Gas volume")]
    wetted_area: Annotated[float, Quantity("cm2", 10 * cm2, 5.0, "Inner surface")]
    limit: Annotated[Limit | None, Text("Limit of the charge temperature")] = None
    title: Title = "Charge temperature"


class Inlet(Record):
    """The air entering compressor or engine; its limit is for the intake temperature."""

    limit: Annotated[Limit | None, Text("Limit of the intake temperature")] = None
    title: Title = "Intake temperature"


class Throttle(Record):
    """Throttle body, wide open."""

    bore: Annotated[float, Quantity("mm", 10 * mm, 200 * mm, "Bore")]
    loss: Annotated[float, Quantity("1", 0.0, 20.0, "Pressure loss coefficient, wide open")] = 0.3


class Charge(Record):
    """Flow order: zone, filter, inlet pipe, [compressor, hot pipe, cooler, cold pipe], throttle, plenum."""

    draws_from: Annotated[str, Reference("air.zones", "Air zone the filter stands in", also=("outside",))]
    filter: Annotated[Filter, Text("Air filter")]
    inlet_pipe: Annotated[ChargePipe | None, Text("From filter to compressor or throttle")] = None
    inlet: Annotated[Inlet, Text("The air entering compressor or engine")] = Inlet()
    hot_pipe: Annotated[ChargePipe | None, Text("From compressor to charge cooler")] = None
    cooler: Annotated[str | None, Reference("cores", "Core that cools the charge")] = None
    cold_pipe: Annotated[ChargePipe | None, Text("From charge cooler to throttle")] = None
    throttle: Annotated[Throttle | None, Text("Throttle body")] = None
    plenum: Annotated[Plenum, Text("Intake manifold")]
