"""The car on the road: what the drive needs and what the point-mass lap needs."""

from typing import Annotated

from heatproof.kit.records import doubts
from heatproof.kit.records.base import Record
from heatproof.units.quantity import Quantity
from heatproof.units.si import percent


class Vehicle(Record):
    """Mass, resistance, gearing and grip."""

    mass: Annotated[
        float,
        Quantity("kg", 100.0, 50e3, "Mass as driven, with driver, without the kit", doubt=doubts.CAR_MASS),
    ]
    drag_area: Annotated[
        float, Quantity("m2", 0.05, 15.0, "Drag coefficient times frontal area", doubt=doubts.DRAG)
    ]
    rolling_resistance: Annotated[
        float, Quantity("1", 1e-3, 0.1, "Rolling resistance over weight", doubt=doubts.ROLLING)
    ] = 0.012
    wheel_radius: Annotated[
        float, Quantity("m", 0.1, 1.0, "Rolling radius of the driven wheels", doubt=doubts.WHEEL)
    ]
    gear_ratios: Annotated[
        tuple[float, ...],
        Quantity(
            "1", 0.2, 20.0, "Gear ratios, first gear first, engine speed over shaft speed", doubt=doubts.EXACT
        ),
    ]
    final_drive: Annotated[float, Quantity("1", 0.5, 20.0, "Final drive ratio", doubt=doubts.EXACT)]
    driveline_efficiency: Annotated[
        float,
        Quantity(
            "%",
            50 * percent,
            100 * percent,
            "Power at the wheels over power at the crank",
            doubt=doubts.DRIVELINE,
        ),
    ] = 92 * percent
    lateral_grip: Annotated[
        float, Quantity("1", 0.1, 4.0, "Cornering acceleration over gravity", doubt=doubts.GRIP)
    ] = 0.9
    braking_grip: Annotated[
        float, Quantity("1", 0.1, 4.0, "Braking deceleration over gravity", doubt=doubts.GRIP)
    ] = 0.9
