"""The oil network."""

from typing import Annotated

from heatproof.kit.records.base import Record
from heatproof.kit.records.coolant import SmallJunctions
from heatproof.kit.records.lines import Junction, OilLine
from heatproof.units.quantity import Reference, Text


class Oil(Record):
    """Oil, junctions and lines. Pressure is fixed at one junction, the vented sump."""

    grade: Annotated[str, Text("Viscosity grade, e.g. 5W-30")] = "5W-30"
    fixed_pressure: Annotated[str, Reference("oil.junctions", "Junction at ambient pressure")]
    junctions: Annotated[dict[str, Junction], Text("Points where lines meet")]
    lines: Annotated[dict[str, OilLine], Text("Ways between junctions")]
    small_junctions: Annotated[
        SmallJunctions | None, Text("Junctions that lines name but the list leaves out")
    ] = None
