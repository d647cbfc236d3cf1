"""Kinds of thermocouple a shop has, what each is worth where it may stand, and what to mind when fitting it.

Response times in a stream follow Hilpert (laws.instruments) at a usual speed; mounting shares, speeds and the
times of beads and washers: common practice, no source.
"""

from dataclasses import dataclass
from math import hypot

from heatproof.laws.instruments import probe_time_constant
from heatproof.logs.correcting.information import ReadingDoubt
from heatproof.logs.predicting.places import Place
from heatproof.logs.reducing.thermocouples import thermocouple_doubt

RUN_K, NOISE_K, NOISE_S = 1.0, 1.0, 300.0
"""Bias of one run (weather, driver) and correlated rest, sd in K; its time in s: what a model leaves out is slow."""
MODEL_SHARE, NOISE_SHARE = 0.03, 0.01
"""Of the excess over ambient that the model is off at any one place whatever its values are, sd: for all runs
alike, and within a run. Without it a plan would promise what only a perfect model could keep."""


@dataclass(frozen=True)
class SensorKind:
    """One kind. media: where it may stand; sheath: diameter, m; mounting: share of the excess over ambient that
    it misreads, sd; response: s on a surface or in a liquid, 0 where the stream decides."""

    key: str
    title: str
    media: tuple[str, ...]
    tolerance_class: int
    sheath: float
    mounting: float
    response: float = 0.0


KINDS = (
    SensorKind("bead", "K class 1, bare 0.5 mm bead cemented or welded on", ("solid",), 1, 0.5e-3, 0.02, 1.0),
    SensorKind("washer", "K class 2 under a washer", ("solid",), 2, 1.0e-3, 0.05, 8.0),
    SensorKind("thin", "K class 1, 1.5 mm sheath, tip in the stream", ("air", "gas"), 1, 1.5e-3, 0.0),
    SensorKind("stout", "K class 1, 3 mm sheath, tip in the stream", ("exhaust", "gas"), 1, 3.0e-3, 0.01),
    SensorKind(
        "fitting", "K class 1, 3 mm sheath through a fitting", ("coolant", "oil"), 1, 3.0e-3, 0.0, 3.0
    ),
)
STREAM = {"air": 3.0, "gas": 20.0, "exhaust": 60.0}
"""Usual speed past a probe, m/s."""
MIND = {
    "solid": "Bond the bead to clean metal and lead the wire along the part for 50 mm before it leaves it.",
    "air": "Keep the tip clear of walls and out of sight of the turbine; shield it where it sees hot metal.",
    "gas": "Seal the gland for boost pressure; fasten the sheath so that nothing can reach the engine.",
    "exhaust": "Weld a boss and use a sheath for 1000 °C; nothing that breaks off may reach the turbine.",
    "coolant": "Fit it cold and empty; never open a hot system. Bleed and check for leaks under pressure.",
    "oil": "Fit it cold with the engine off; check for leaks before driving, oil on the exhaust burns.",
}


def medium_of(place: Place) -> str:
    """`exhaust` for hot gas, else the place's own."""
    return "exhaust" if place.mass.startswith("exhaust.") else place.medium


def kinds_for(place: Place) -> tuple[SensorKind, ...]:
    """Kinds that may stand there."""
    medium = medium_of(place)
    screwed = not place.mass.endswith(".skin")
    return tuple(kind for kind in KINDS if medium in kind.media and (screwed or kind.key != "washer"))


def response_s(kind: SensorKind, place: Place, T: float) -> float:
    """63 % response time, s, at T (K)."""
    if kind.response > 0.0:
        return kind.response
    speed = STREAM.get(medium_of(place), 5.0)
    return probe_time_constant(kind.sheath, speed, min(max(T, 250.0), 1200.0))


def doubt_at(kind: SensorKind, T: float, excess: float = 0.0) -> ReadingDoubt:
    """What a reading near T (K), `excess` above ambient, is worth, apart from what is in proportion to it."""
    sensor = thermocouple_doubt(T, tolerance_class=kind.tolerance_class)
    noise = hypot(NOISE_K, NOISE_SHARE * excess)
    return ReadingDoubt(sensor.own_K, sensor.shared_K, RUN_K, noise, NOISE_S)


def proportional(kind: SensorKind) -> float:
    """sd of the share of the excess that mounting and model are off at one place."""
    return hypot(kind.mounting, MODEL_SHARE)
