"""The exhaust, in flow order from the ports."""

from typing import Annotated

from heatproof.kit.records.base import Record, Title
from heatproof.units.quantity import Quantity, Reference, Text
from heatproof.units.si import cm2, mm


class ExhaustPiece(Record):
    """A pipe, catalyst or silencer in the gas. The turbine follows the piece marked `turbine`."""

    part: Annotated[str, Reference("parts", "Part whose metal the gas heats")]
    bore: Annotated[float, Quantity("mm", 5 * mm, 500 * mm, "Inner diameter of one runner or pipe")]
    length: Annotated[float, Quantity("mm", 5 * mm, 20.0, "Length of the gas path of one runner or pipe")]
    runners: Annotated[int, Text("Number of equal pipes side by side")] = 1
    correlation_factor: Annotated[
        float,
        Quantity(
            "1",
            0.2,
            10.0,
            "Multiplies the straight-pipe gas-side coefficient (pulsation, bends)",
            spread="25 %",
            source="estimate",
        ),
    ] = 1.0
    wetted_area: Annotated[
        float | None, Quantity("m2", 1 * cm2, 50.0, "Gas-side surface; from bore and length where left out")
    ] = None
    loss: Annotated[
        float, Quantity("1", 0.0, 200.0, "Pressure loss coefficient on the bore, besides friction")
    ] = 0.5
    turbine: Annotated[bool, Text("True where the turbine follows this piece")] = False
    silencer: Annotated[bool, Text("True for a piece with a silencer's pressure loss")] = False
    after: Annotated[
        str | None, Reference("exhaust", "Piece this one follows; at the end where left out")
    ] = None
    title: Title = ""
