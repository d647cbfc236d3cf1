"""A temperature that must not be passed."""

from typing import Annotated, Literal

from heatproof.kit.records.base import Record, Title
from heatproof.units.quantity import Quantity, Text
from heatproof.units.si import degC, hour


class Limit(Record):
    """Continuous limit, short limit with its allowed time, boil margin; at least one of them."""

    continuous: Annotated[
        float | None,
        Quantity("degC", degC(-40), degC(1300), "Temperature allowed for any length of time", "temperature"),
    ] = None
    short: Annotated[
        float | None,
        Quantity("degC", degC(-40), degC(1400), "Temperature allowed for `short_time` in all", "temperature"),
    ] = None
    short_time: Annotated[
        float | None, Quantity("min", 1.0, 1000 * hour, "Time allowed between continuous and short limit")
    ] = None
    boil_margin: Annotated[
        float | None,
        Quantity("K", 0.0, 100.0, "Least distance to boiling at the junction's own pressure", "difference"),
    ] = None
    kind: Annotated[
        Literal["service", "metal", "coking"],
        Text("service: of the material in use; metal: hot strength; coking: of oil left in a housing"),
    ] = "service"
    title: Title = ""
    source: Annotated[str, Text("Where the limit comes from")] = ""
