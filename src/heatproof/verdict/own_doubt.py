"""The model's own doubt: how far a lumped model of a car is off when every value in it is right.

No factor on a value or a law can mimic what the model leaves out: one temperature for a body, mixed zones, a car's own way of
guiding its air. What such models missed by, where somebody published it, stands here by kind of thing and phase of the duty;
where nobody did, an engineering judgement that says so. It is independent of the values, so its square adds to theirs. (That
a model with its best values still needs a term of its own: Kennedy and O'Hagan 2001, from memory.)
"""

from dataclasses import dataclass
from math import hypot
from typing import Literal

from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.verdict.judged import Judged
from heatproof.verdict.margins import Margin

Kind = Literal["coolant", "oil", "intake and charge air", "exhaust metal", "parts in the bay"]
Phase = Literal["steady", "bursts", "after key-off"]

LUMPED = "RMSE of an untuned lumped model of a car over seven warm drives, median (GRAD-project, thermal_calibration, a7ce7295)"
NO_FIGURE = "no published figure found; an engineering judgement"


@dataclass(frozen=True)
class OwnDoubt:
    """sd: standard deviation, K; share: of the rise over ambient, added in quadrature."""

    sd: float
    share: float
    source: str

    def at(self, rise: float) -> float:
        """Standard deviation (K) at a rise over ambient (K)."""
        return hypot(self.sd, self.share * max(rise, 0.0))


OWN: dict[Kind, dict[Phase, OwnDoubt]] = {
    "coolant": {
        "steady": OwnDoubt(4.5, 0.0, LUMPED),
        "bursts": OwnDoubt(4.5, 0.0, LUMPED),
        "after key-off": OwnDoubt(6.0, 0.0, NO_FIGURE),
    },
    "oil": {
        "steady": OwnDoubt(6.5, 0.0, LUMPED),
        "bursts": OwnDoubt(12.0, 0.0, "the same model was 33 K off in full-load pulls; " + NO_FIGURE),
        "after key-off": OwnDoubt(8.0, 0.0, NO_FIGURE),
    },
    "intake and charge air": {
        "steady": OwnDoubt(4.0, 0.0, NO_FIGURE),
        "bursts": OwnDoubt(5.0, 0.0, NO_FIGURE),
        "after key-off": OwnDoubt(6.0, 0.0, NO_FIGURE),
    },
    "exhaust metal": {
        "steady": OwnDoubt(
            0.0,
            0.05,
            "gas before the turbine within 5 % (Linköping thesis 3378, 2002); a turbine housing up to 80 K by choice of values "
            "(Burke et al. 2014, second-hand)",
        ),
        "bursts": OwnDoubt(0.0, 0.06, NO_FIGURE),
        "after key-off": OwnDoubt(0.0, 0.06, NO_FIGURE),
    },
    "parts in the bay": {
        "steady": OwnDoubt(2.0, 0.05, NO_FIGURE),
        "bursts": OwnDoubt(2.0, 0.06, NO_FIGURE),
        "after key-off": OwnDoubt(2.0, 0.06, NO_FIGURE),
    },
}
BURSTS = ("pulls", "lap", "trace")
"""Kinds of drive whose load comes and goes within a minute."""


def kind_of(variant: Variant, part: Judged) -> Kind:
    """What kind of thing is judged."""
    if part.mass.startswith("charge."):
        return "intake and charge air"
    if part.mass.startswith("oil."):
        return "oil"
    if any(part.mass.startswith(f"{path}.") for path in variant.coolants):
        return "coolant"
    hot = {piece.part for piece in variant.exhaust.values()}
    if variant.turbo is not None:
        hot.add(variant.turbo.part_turbine)
    return "exhaust metal" if part.part in hot else "parts in the bay"


def phase_of(duty: Duty, peak_time: float, key_off: float) -> Phase:
    """When its peak comes."""
    if peak_time > key_off:
        return "after key-off"
    return "bursts" if duty.drive.kind in BURSTS else "steady"


def own_sd(
    variant: Variant, part: Judged, duty: Duty, margin: Margin, key_off: float, ambient: float
) -> float:
    """Standard deviation (K) of the model itself at this margin."""
    doubt = OWN[kind_of(variant, part)][phase_of(duty, margin.time, key_off)]
    return doubt.at(margin.judged - ambient)
