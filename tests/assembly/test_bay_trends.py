"""What protection does in the whole car: direction of every effect, and the heat path that explains it.

Directions: common practice, no source, except where a law is named. The car is invented.
"""

from functools import cache

import pytest
from bay_cars import (
    PROTECTION,
    RAYS,
    Peaks,
    changed,
    hatchback,
    key_off,
    peaks,
    radiated,
    solved,
    steel_plate,
    with_measures,
    with_part,
)

from heatproof.assembly.model import Solved
from heatproof.kit.records.parts import Lining
from heatproof.network.paths import paths_at

pytest.importorskip("trimesh")
FELT = 2.0  # K, an effect smaller than this counts as none
SEEN = 0.5  # K, well above the step error and the rays' noise: enough for a direction
CLOSE_HOSE = ((0.428, -0.50, 0.62), (0.428, -0.28, 0.62))  # m, 130 mm from the turbine's rear, mostly past it


@cache
def fitted(*measures: str) -> Solved:
    """The car without any protection but these measures, solved once."""
    return solved(with_measures(*measures))


def bare() -> Solved:
    return fitted()


def shielded() -> Solved:
    return fitted("turbo_shield")


@cache
def dry(*measures: str) -> Solved:
    """The same with the turbo's water left off."""
    project = hatchback()
    wet = (*PROTECTION, "rising_water_line", "after_run_pump")
    kept = [name for name in project.fitted if name not in wet]
    variant = project.variant([*kept, "no_turbo_water", *measures])
    geometry = changed(changed(variant, "bay.geometry", "on"), "bay.rays_per_patch", RAYS)
    return solved(geometry)


def both_lower(after: Peaks, before: Peaks, least: float = FELT) -> bool:
    return after.running < before.running - least and after.soak < before.soak - least


def test_blanket_cools_neighbours_and_heats_the_turbine() -> None:
    wrapped = fitted("turbine_blanket")
    for part in ("loom", "brake_line", "bulkhead", "steering_boot"):
        assert both_lower(peaks(wrapped, part), peaks(bare(), part)), part
        assert radiated(wrapped, "turbine_housing", part) < 0.7 * radiated(bare(), "turbine_housing", part)
    assert peaks(wrapped, "turbine_housing").running > peaks(bare(), "turbine_housing").running + 20.0
    assert peaks(wrapped, "turbine_housing").soak > peaks(bare(), "turbine_housing").soak + 20.0


def into_bearing(one: Solved, kind: str) -> float:
    """W from the turbine housing into the bearing housing at the end of driving."""
    row = int((one.run.time <= key_off(one)).sum()) - 1
    ends = {"bearing_housing", "turbine_housing"}
    found = [p for p in paths_at(one.run, row) if p.kind == kind and {p.first, p.second} == ends]
    return sum(p.heat if p.second == "bearing_housing" else -p.heat for p in found)


def test_blanket_sends_more_heat_into_the_bearing_housing() -> None:
    """More through the neck, as the turbine is hotter; less by radiation, as the blanket's skin is cooler.

    With water in the jacket the metal hardly moves: the water takes the difference near its boiling point. Dry,
    the blanket shows: a little in driving, where oil cools it, and by tens of kelvin in the soak.
    """
    wrapped = fitted("turbine_blanket")
    assert into_bearing(wrapped, "conduction") > into_bearing(bare(), "conduction") + 50.0
    assert into_bearing(wrapped, "radiation") < into_bearing(bare(), "radiation") - 20.0
    assert peaks(wrapped, "bearing_housing").running > peaks(bare(), "bearing_housing").running
    assert peaks(wrapped, "bearing_housing").running < peaks(bare(), "bearing_housing").running + FELT
    dry_bare, dry_wrapped = dry(), dry("turbine_blanket")
    assert peaks(dry_bare, "bearing_housing").soak > peaks(bare(), "bearing_housing").soak + 50.0
    assert both_lower(peaks(dry_bare, "bearing_housing"), peaks(dry_wrapped, "bearing_housing"))
    assert peaks(dry_wrapped, "bearing_housing").soak > peaks(dry_bare, "bearing_housing").soak + 10.0


@pytest.mark.parametrize(
    ("measure", "part", "source", "running", "soak"),
    [
        ("turbine_blanket", "loom", "turbine_housing", 13.9, 14.6),
        ("turbo_shield", "brake_line", "turbine_housing", 11.8, 15.7),
        ("downpipe_coating", "steering_boot", "downpipe", 15.5, 14.5),
        ("loom_moved", "loom", "turbine_housing", 5.5, 5.2),
    ],
)
def test_what_each_measure_is_worth(
    measure: str, part: str, source: str, running: float, soak: float
) -> None:
    """Kelvin off the neighbour's peak in the long hill and its soak, as first computed (the example is invented),
    to a third; and the heat path that explains them: less radiation from what was treated."""
    before, after = peaks(bare(), part), peaks(fitted(measure), part)
    assert before.running - after.running == pytest.approx(running, rel=0.35)
    assert before.soak - after.soak == pytest.approx(soak, rel=0.35)
    assert radiated(fitted(measure), source, part) < 0.9 * radiated(bare(), source, part)


def test_shield_cools_what_stands_behind_it() -> None:
    for part in ("loom", "brake_line", "bulkhead"):
        assert both_lower(peaks(shielded(), part), peaks(bare(), part)), part
        assert radiated(shielded(), "turbine_housing", part) < radiated(bare(), "turbine_housing", part)


def test_shield_sends_heat_back_to_its_own_side() -> None:
    assert peaks(shielded(), "turbine_housing").running > peaks(bare(), "turbine_housing").running


def test_coating_outside_holds_heat_in_and_cools_neighbours() -> None:
    coated = solved(changed(with_measures(), "parts.turbine_housing.emissivity", 0.4))
    for part in ("loom", "brake_line", "steering_boot"):
        assert both_lower(peaks(coated, part), peaks(bare(), part)), part
        assert radiated(coated, "turbine_housing", part) < radiated(bare(), "turbine_housing", part)
    assert peaks(coated, "turbine_housing").running > peaks(bare(), "turbine_housing").running


def test_coating_inside_cools_metal_and_neighbours() -> None:
    lining = Lining(thickness=0.3e-3, conductivity=1.0)
    lined = solved(changed(with_measures(), "parts.turbine_housing.lining", lining))
    assert both_lower(peaks(lined, "turbine_housing"), peaks(bare(), "turbine_housing"))
    assert peaks(lined, "loom").running < peaks(bare(), "loom").running
    assert duct_heat(lined) < duct_heat(bare())


def duct_heat(one: Solved) -> float:
    """W from the gas into the turbine housing at the end of driving, before the minute at idle."""
    row = int((one.run.time < key_off(one) - 70.0).sum()) - 1
    found = [p.heat for p in paths_at(one.run, row) if p.kind == "duct" and p.second == "turbine_housing"]
    return sum(found)


def test_distance_cools() -> None:
    far = fitted("loom_moved")
    assert both_lower(peaks(far, "loom"), peaks(bare(), "loom"))
    assert radiated(far, "turbine_housing", "loom") < radiated(bare(), "turbine_housing", "loom")


def test_sleeve_cools_what_it_covers() -> None:
    sleeved = solved(with_measures("loom_sleeve"))
    assert both_lower(peaks(sleeved, "loom"), peaks(bare(), "loom"))


def test_coating_a_shield_matters_on_which_side() -> None:
    """Flux through a shield between two surfaces: 1/ε_hot + 1/ε_cold rises with either; its temperature
    falls with a bright hot face and rises with a bright cold face (Incropera/DeWitt section 13.3.4)."""
    plain = changed(with_measures("turbo_shield"), "parts.turbo_shield.back_emissivity", 0.3)
    bright_hot = solved(changed(plain, "parts.turbo_shield.emissivity", 0.1))
    dark_hot = solved(changed(plain, "parts.turbo_shield.emissivity", 0.9))
    dark_cold = solved(changed(plain, "parts.turbo_shield.back_emissivity", 0.9))
    base = peaks(shielded(), "turbo_shield").running
    assert peaks(bright_hot, "turbo_shield").running < base - FELT
    assert peaks(dark_hot, "turbo_shield").running > base + FELT
    assert peaks(dark_cold, "turbo_shield").running < base - FELT
    # Dark on the cold side the shield is cooler, and yet what stands behind gets more.
    assert peaks(dark_cold, "brake_line").running > peaks(shielded(), "brake_line").running
    assert peaks(dark_hot, "brake_line").running > peaks(shielded(), "brake_line").running


def test_insulated_shield_has_a_cool_back() -> None:
    two_skins = solved(with_measures("turbo_shield", "insulated_shield"))
    run = two_skins.run
    front, back = (run.state[:, run.network.mass(m)].max() for m in ("turbo_shield", "turbo_shield.back"))
    assert front > back + 20.0
    assert peaks(two_skins, "brake_line").running < peaks(shielded(), "brake_line").running


def test_closed_shield_too_near_a_hose_is_worse_than_none() -> None:
    """A dark plate 20 mm from the turbine, 4 mm from a hose that mostly looked past the turbine."""
    car = changed(with_measures(), "parts.clutch_line.shape.path", CLOSE_HOSE)
    plate = steel_plate((0.42, -0.25, 0.55), (0.2, 0.4), ventilated=False, emissivity=0.9)
    without, near = solved(car), solved(with_part(car, "plate", plate))
    assert peaks(near, "clutch_line").running > peaks(without, "clutch_line").running + SEEN
    assert peaks(near, "clutch_line").soak > peaks(without, "clutch_line").soak + SEEN
    assert radiated(near, "plate", "clutch_line") > radiated(without, "turbine_housing", "clutch_line")


def test_closing_the_gap_behind_a_shield_makes_it_hotter() -> None:
    closed = solved(changed(with_measures("turbo_shield"), "parts.turbo_shield.ventilated", False))
    assert peaks(closed, "turbo_shield").running > peaks(shielded(), "turbo_shield").running + FELT
    assert peaks(closed, "brake_line").running > peaks(shielded(), "brake_line").running
