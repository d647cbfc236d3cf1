"""What can hurt someone, once each: the usual cautions, and those that a part brings with it."""

from collections.abc import Iterable
from typing import Final

USUAL: Final[tuple[str, ...]] = (
    "A prediction is not proof: a prototype must be instrumented and driven before anything is sold.",
    "Brake, clutch, fuel and pressurised coolant parts can hurt people; have their limits confirmed by a test.",
    "Never open a hot cooling system: coolant under pressure boils and scalds when the cap comes off.",
    "Insulation soaked with oil or fuel burns; keep leaks away from it and replace it once it is soaked.",
    "Emissions, noise and roadworthiness law is local; check what applies where the car is registered.",
    "A qualified person must review and sign off the work.",
)

BY_KIND: Final[dict[str, str]] = {
    "brake": "Brake fluid that boils takes the brakes away; hot lines and reservoirs need fresh fluid and a test.",
    "fuel": "Fuel lines near hot parts can leak and burn; keep the distance and the shields that were judged.",
    "coolant": "Hoses with hot coolant can burst; use hose rated for pressure and temperature, and good clamps.",
    "oil": "Oil that reaches the exhaust burns; route and fasten oil lines so that a leak cannot reach it.",
    "battery": "A hot battery can vent gas that explodes; keep sparks and exhaust heat away.",
    "electrical": "Melted insulation shorts wires and starts fires; fuse every added wire at its source.",
    "steering": "A steering boot or joint that fails from heat can take the steering away; inspect after hot use.",
}
"""`caution:` of a part to its text."""


def cautions_for(kinds: Iterable[str]) -> tuple[str, ...]:
    """The usual cautions, then one for each kind present."""
    present = set(kinds)
    return (*USUAL, *(text for kind, text in BY_KIND.items() if kind in present))
