"""Cores laid from records, against the general-purpose library `ht` and closed forms."""

import numpy as np
import pytest
from ht import effectiveness_from_NTU
from still_car import changed, instant, network_of

from heatproof.assembly.air import lay_air
from heatproof.assembly.charge import lay_charge
from heatproof.assembly.coolant import lay_coolant
from heatproof.assembly.core_tables import (
    air_losses,
    air_stream,
    coolant_stream,
    face_area,
    oil_stream,
    rated_conductances,
    sides,
)
from heatproof.assembly.cores import charge_side_loss, lay_cores
from heatproof.assembly.oil import lay_oil
from heatproof.kit.records.air import Core, Rated
from heatproof.laws.core import core_side
from heatproof.laws.exchange import COUNTERFLOW, UNMIXED
from heatproof.network import signals as S
from heatproof.network.fluids import CP_AIR

LAYERS = (lay_air, lay_coolant, lay_oil, lay_charge, lay_cores)
RATED = Rated(
    hot_flow=1.8,
    cold_flow=1.1,
    heat_per_kelvin=620.0,
    hot_share=0.2,
    face_area=0.22,
    air_loss=90.0,
    hot_loss=9e3,
)


def with_radiator(car, core, shares=(1.0,)):
    """The car with another radiator, its face divided among passages front to shroud."""
    one = car.air.passages["radiator_open"]
    passages = {n: p for n, p in car.air.passages.items() if n != "radiator_open"}
    passages |= {f"part_{i}": one.model_copy(update={"share": s}) for i, s in enumerate(shares)}
    air = car.air.model_copy(update={"passages": passages})
    return changed(car, air=air, cores={"radiator": core})


def rated_radiator(rated=RATED):
    return Core(kind="radiator", line="radiator", mass=3.0, rated=rated)


@pytest.mark.parametrize("shares", [(1.0,), (0.4, 0.6), (0.25, 0.5, 0.25)])
def test_rated_point_is_met_exactly_however_the_face_is_divided(car, shares):
    network = network_of(with_radiator(car, rated_radiator(), shares), *LAYERS)
    air = {f"air.part_{i}": s * RATED.cold_flow for i, s in enumerate(shares)}
    now = instant(network).with_flows({"coolant.radiator": RATED.hot_flow, **air})
    total = sum(now.conductance(f"radiator in part_{i}") for i in range(len(shares)))
    assert total == pytest.approx(RATED.heat_per_kelvin, rel=1e-6)


@pytest.mark.parametrize(("how", "name"), [(UNMIXED, "crossflow"), (COUNTERFLOW, "counterflow")])
def test_conductances_of_a_rated_point_give_its_heat_by_another_library(how, name):
    """Reference: ht.effectiveness_from_NTU (library ht)."""
    cp = coolant_stream(0.5).cp
    hot, cold = rated_conductances(RATED, cp, CP_AIR, how)
    UA, Ch, Cc = 1 / (1 / hot + 1 / cold), RATED.hot_flow * cp, RATED.cold_flow * CP_AIR
    eps = effectiveness_from_NTU(UA / min(Ch, Cc), min(Ch, Cc) / max(Ch, Cc), subtype=name)
    assert eps * min(Ch, Cc) == pytest.approx(RATED.heat_per_kelvin, rel=2e-3)
    assert (1 / hot) / (1 / hot + 1 / cold) == pytest.approx(0.2)


def test_more_heat_than_the_flows_can_carry_is_refused():
    with pytest.raises(ValueError, match=r"more than its flows can carry.*correct heat_per_kelvin"):
        rated_conductances(RATED.model_copy(update={"heat_per_kelvin": 1200.0}), 3500.0, CP_AIR, UNMIXED)


def test_radiator_by_geometry_against_ht(car):
    """hA of both sides from the surface laws; the combination by ht.effectiveness_from_NTU.

    At a flow clear of the laminar transition, which the solver's table of twelve points rounds off (6 % at 1.5 kg/s).
    """
    network = network_of(car, *LAYERS)
    now = instant(network).with_flows({"coolant.radiator": 2.8, "air.radiator_open": 1.0})
    g = car.cores["radiator"].geometry
    hot = core_side(sides(g).hot, 2.8, coolant_stream(0.5)).hA
    cold = g.fouling_factor * core_side(sides(g).cold, 1.0, air_stream()).hA
    Ch, Cc = 2.8 * coolant_stream(0.5).cp, 1.0 * CP_AIR
    eps = effectiveness_from_NTU(1 / (1 / hot + 1 / cold) / Cc, Cc / Ch, subtype="crossflow")
    assert now.conductance("radiator in radiator_open") == pytest.approx(eps * Cc, rel=0.02)


def test_dirt_counts_on_the_air_side_only(car):
    clean, dirty = (car.replace("cores.radiator.geometry.fouling_factor", f) for f in (1.0, 0.5))
    flows = {"coolant.radiator": 2.0, "air.radiator_open": 1.0}
    a, b = (instant(network_of(v, *LAYERS)).with_flows(flows) for v in (clean, dirty))
    assert (
        0.5 < b.conductance("radiator in radiator_open") / a.conductance("radiator in radiator_open") < 0.85
    )


def test_air_loss_of_a_core_follows_its_surface_law(car, kit):
    """Two constants for a curve with an exponent near 1.6: within 8 % from 1 to 9 m/s."""
    for core in (car.cores["radiator"], kit.cores["charge_cooler"]):
        a, b = air_losses(core)
        for u in np.linspace(1.0, 9.0, 9):
            m = float(u) * air_stream(300.0).rho * face_area(core)
            dp = core_side(sides(core.geometry).cold, m, air_stream(300.0)).dp
            assert a * m + b * m * m == pytest.approx(dp, rel=0.08)


def test_rated_losses_hold_at_the_rated_point(car):
    network = network_of(with_radiator(car, rated_radiator()), *LAYERS)
    k = network.branches.index("air.part_0")
    branch = network.model.branches[k]
    assert branch["a"] * 1.1 + branch["b"] * 1.1**2 == pytest.approx(90.0, rel=0.03)
    assert charge_side_loss(car, 1.6) == 0.0


def test_charge_side_loss_of_the_kit_is_a_few_kilopascals(kit):
    """Common practice, no source: 3 to 14 kPa at rated power."""
    m = 1e-6 * kit.engine.rated_power
    assert 3e3 < charge_side_loss(kit, 1.6) * m**2 < 14e3


def test_oil_to_coolant_cooler_meets_its_rated_point(project):
    variant = project.variant(["oil_cooler"])
    rated = variant.cores["oil_cooler"].rated
    flows = {"oil.oil_cooler": rated.hot_flow, "coolant.lower_hose": rated.cold_flow}
    now = instant(network_of(variant, *LAYERS)).with_flows(flows)
    Ch = rated.hot_flow * oil_stream(variant.oil.grade).cp
    assert now.conductance("oil_cooler") == pytest.approx(330.0, rel=1e-6)
    assert Ch > 330.0


def test_link_to_standing_liquid_is_small_beside_the_core(car, project):
    for variant, core, flows in (
        (car, "radiator in radiator_open", {"coolant.radiator": 1.5, "air.radiator_open": 1.0}),
        (project.variant(["oil_cooler"]), "oil_cooler", {"oil.oil_cooler": 0.25, "coolant.lower_hose": 1.6}),
    ):
        network = network_of(variant, *LAYERS)
        now = instant(network).with_flows(flows)
        name = f"core.{core.split(' in ')[0]}"
        wetted = network.model.wetted
        still = wetted["G_still"][wetted["i"] == network.mass(name)]
        assert still.size
        assert np.all(still > 0.0)
        assert np.all(still < 0.03 * now.conductance(core))


def test_condenser_gives_its_rated_heat_to_the_air(car):
    rated = Rated(hot_flow=0.03, cold_flow=0.8, heat_per_kelvin=480.0, face_area=0.2, air_loss=40.0)
    condenser = Core(kind="condenser", mass=2.0, rated=rated, heat=7e3)
    passages = dict(car.air.passages)
    passages["ac"] = passages["radiator_open"].model_copy(update={"core": "condenser"})
    air = car.air.model_copy(update={"passages": passages})
    variant = changed(car, air=air, cores={**car.cores, "condenser": condenser})
    network = network_of(variant, *LAYERS)
    now = instant(network).with_flows({"air.ac": 0.8})
    k = network.link_names["duct"].index("air.ac – core.condenser")
    assert now.work.g_duct[k] == pytest.approx(480.0, rel=1e-9)
    source = network.model.source[network.model.source["signal"] == S.AIR_CONDITIONING]
    assert source["factor"].tolist() == [7e3]
