"""What a random project has, decided first; the sections of its files are then written to fit."""

from dataclasses import dataclass

from pen import Pen

SEA_LEVEL = 1.013  # bar
COOLERS = (
    "none",
    "to air, bar and plate",
    "to air, tube and fin",
    "to air, rated",
    "own circuit",
    "engine water",
)
OIL_COOLERS = ("none", "to water", "to air")
SIZES = ("small", "medium", "large")
LARGE = ("small", *["large"] * 9)  # nearly all large, and yet a finding shrinks to a small project


@dataclass(frozen=True)
class Sketch:
    """Sizes in the units of the files: L, rpm, kW, bar."""

    large: bool
    turbo: bool
    litres: float
    cylinders: int
    speed: int
    bare_power: float
    boost: float
    power: float
    bays: tuple[str, ...]
    front: bool
    shroud: bool
    fan: bool
    airbox: bool
    air_conditioning: bool
    thermostat: bool
    heater: bool
    tank: bool
    cooler: str
    water: bool
    electric_pump: bool
    oil_cooler: str
    shapes: bool

    @property
    def ducted(self) -> str:
        """Zone that fresh air is drawn from."""
        return "front" if self.front else "outside"

    @property
    def circuit(self) -> bool:
        """Whether the charge cooler has a liquid circuit of its own."""
        return self.cooler == "own circuit"

    @property
    def last_bay(self) -> str:
        """The zone the exhaust side stands in."""
        return self.bays[-1]


def power_of_air(litres: float, speed: float, pressure: float) -> float:
    """kW that the air of a full cylinder charge burns for: filling 0.85, 36 % indicated, no friction."""
    air = 0.85 * 0.5 * litres * 1e-3 * speed / 60.0 * pressure * 1e5 / (287.05 * 313.15)
    return air / 14.5 * 42.8e6 * 0.36 / 1e3


def sketched(pen: Pen, *, size: str, shapes: bool) -> Sketch:
    """A sketch of one of `SIZES`. Full load asks for 65 to 90 % of what the air could give.

    Every other large one has all that a car may have: charge cooler, oil cooler, condenser, fan, heater, tank.
    """
    small, large = size == "small", size == "large"
    full = large and pen.flip()
    turbo, litres, speed = pen.pick((True, True, True, False)), pen.number(0.9, 3.0), 100 * pen.whole(45, 68)
    boost = pen.number(0.3, 1.1) if turbo else 0.0
    share = pen.number(0.65, 0.9)
    bays = 1 if small else pen.whole(1, 9 if large else 6)
    shroud = pen.flip() or full
    coolers, oil_coolers = (COOLERS[1:], OIL_COOLERS[1:]) if full else (COOLERS, OIL_COOLERS)
    return Sketch(
        large=large,
        turbo=turbo,
        litres=litres,
        cylinders=pen.pick((4, 3, 6)),
        speed=speed,
        bare_power=float(f"{share * power_of_air(litres, speed, SEA_LEVEL):.4g}"),
        boost=boost,
        power=float(f"{share * power_of_air(litres, speed, SEA_LEVEL + boost):.4g}"),
        bays=tuple(f"bay_{k + 1}" for k in range(bays)),
        front=not small and (pen.flip() or full),
        shroud=shroud,
        fan=shroud and (pen.flip() or full),
        airbox=pen.flip() or full,
        air_conditioning=pen.flip() or full,
        thermostat=pen.flip(),
        heater=pen.flip() or full,
        tank=pen.flip() or full,
        cooler=pen.pick(coolers) if turbo else "none",
        water=turbo and (pen.flip() or full),
        electric_pump=pen.flip(),
        oil_cooler=pen.pick(oil_coolers),
        shapes=shapes,
    )
