"""A charge cooler cooled by liquid, laid from records: against the library `ht`, plane channels and sums by hand."""

import numpy as np
import pytest
from ht import effectiveness_from_NTU
from still_car import changed, instant, network_of

from heatproof.assembly.air import lay_air
from heatproof.assembly.charge import lay_charge
from heatproof.assembly.coolant import coolant_liquid, lay_coolant
from heatproof.assembly.core_tables import T_CHARGE, air_stream, circuit_stream, liquid_losses, sides
from heatproof.assembly.cores import charge_side_loss, lay_cores
from heatproof.assembly.oil import lay_oil
from heatproof.kit.records.air import Core, PlatesToLiquid, Rated
from heatproof.laws.core import core_side
from heatproof.network.fluids import CP_AIR

LAYERS = (lay_air, lay_coolant, lay_oil, lay_charge, lay_cores)
LOW, LINE = "low_temperature", "circuits.low_temperature.charge_cooler"
AIR, WATER = 0.11, 0.3  # kg/s
RATED = Rated(
    hot_flow=AIR, cold_flow=WATER, heat_per_kelvin=92.0, hot_share=0.8, hot_loss=6e3, liquid_loss=9e3
)


def with_cooler(kit, **values):
    """The pickup's kit with another charge cooler in the same circuit."""
    core = Core(kind="charge_cooler", circuit=LOW, coolant_line="charge_cooler", mass=3.0, **values)
    return changed(kit, cores={**kit.cores, "charge_cooler": core})


def conductance(variant, air=AIR, water=WATER):
    now = instant(network_of(variant, *LAYERS)).with_flows({"charge.cooler": air, LINE: water})
    return now.conductance("charge_cooler")


def stream(kit):
    return circuit_stream(kit.circuits[LOW])


def test_rated_point_is_met_exactly(pickup_kit):
    assert conductance(with_cooler(pickup_kit, rated=RATED)) == pytest.approx(92.0, rel=1e-6)


def test_half_the_water_gives_what_another_library_says(pickup_kit):
    """Off the rated point: both conductances by their powers of flow, then ht.effectiveness_from_NTU."""
    Ca, Cw = AIR * CP_AIR, WATER * stream(pickup_kit).cp
    NTU = 1.0
    while effectiveness_from_NTU(NTU, Ca / Cw, subtype="crossflow") * Ca < 92.0:
        NTU += 1e-3
    hot, cold = NTU * Ca / 0.8, NTU * Ca / 0.2
    cold *= 0.5**RATED.cold_exponent
    eps = effectiveness_from_NTU(1 / (1 / hot + 1 / cold) / Ca, Ca / (0.5 * Cw), subtype="crossflow")
    found = conductance(with_cooler(pickup_kit, rated=RATED), water=0.5 * WATER)
    assert found == pytest.approx(eps * Ca, rel=5e-3)


def test_plates_against_ht(pickup_kit):
    """hA of both sides from the surface laws; their combination by ht.effectiveness_from_NTU, unmixed crossflow."""
    g = pickup_kit.cores["charge_cooler"].geometry
    hot = core_side(sides(g).hot, AIR, air_stream(T_CHARGE)).hA
    cold = g.fouling_factor * core_side(sides(g).cold, WATER, stream(pickup_kit)).hA
    Ca, Cw = AIR * CP_AIR, WATER * stream(pickup_kit).cp
    eps = effectiveness_from_NTU(1 / (1 / hot + 1 / cold) / Ca, Ca / Cw, subtype="crossflow")
    assert 0.7 < eps < 0.97
    assert conductance(pickup_kit) == pytest.approx(eps * Ca, rel=0.02)


PLAIN = PlatesToLiquid(
    width=0.2, height=0.11, depth=0.1, charge_channel=8e-3, charge_fin_pitch=2e-3, liquid_channel=2e-3, plate_thickness=0.5e-3
)  # fmt: skip


@pytest.mark.parametrize("passes", [1, 2, 4])
def test_plain_channels_are_as_large_as_they_are(passes):
    """Free area and surface by hand: ten layers of 2 mm between plates, each pass its share of the width."""
    side = sides(PLAIN.model_copy(update={"liquid_passes": passes})).cold
    layers = 0.11 / (8e-3 + 2e-3 + 2 * 0.5e-3)
    assert side.free_area == pytest.approx(layers * (0.2 / passes) * 2e-3, rel=2e-3)
    assert side.area == pytest.approx(layers * 2.0 * 0.2 * 0.1, rel=0.05)
    assert side.length == pytest.approx(0.1 * passes)
    assert side.Dh == pytest.approx(2 * 2e-3, rel=0.05)


def test_plain_channel_loses_what_flow_between_plates_loses(pickup_kit):
    """Plane Poiseuille flow, dp = 12 mu v L / b2 (any fluid-mechanics handbook), where it creeps."""
    s, side = stream(pickup_kit), sides(PLAIN).cold
    m = 20.0 * s.mu * side.free_area / side.Dh
    v = m / (s.rho * side.free_area)
    assert core_side(side, m, s).dp == pytest.approx(12.0 * s.mu * v * 0.1 / 2e-3**2, rel=0.06)


@pytest.mark.parametrize("pitch", [None, 4e-3])
def test_more_passes_cost_pressure(pickup_kit, pitch):
    """Three passes: three times the speed, three times the way. Offset fins turn it into heat; plain laminar
    channels, whose Nusselt number hardly knows speed, do not."""
    one, three = (
        with_cooler(
            pickup_kit, geometry=PLAIN.model_copy(update={"liquid_passes": n, "liquid_fin_pitch": pitch})
        )
        for n in (1, 3)
    )
    losses = [liquid_losses(v.cores["charge_cooler"], stream(v)) for v in (one, three)]
    dp = [x * WATER + y * WATER**2 for x, y in losses]
    assert 5.0 * dp[0] < dp[1] < 30.0 * dp[0]
    gain = conductance(three) / conductance(one)
    assert gain > 1.005 if pitch else gain == pytest.approx(1.0, abs=0.02)


def branch(variant, name):
    network = network_of(variant, *LAYERS)
    return network.model.branches[network.branches.index(name)]


def test_the_water_pays_for_the_core(pickup_kit):
    """The line's loss grows by the rated loss at the rated flow; the charge side by its own."""
    free = RATED.model_copy(update={"liquid_loss": 0.0, "hot_loss": 0.0})
    dear, cheap = (with_cooler(pickup_kit, rated=r) for r in (RATED, free))
    one, two = branch(dear, LINE), branch(cheap, LINE)
    more = (one["a"] - two["a"]) * WATER + (one["b"] - two["b"]) * WATER**2
    assert more == pytest.approx(9e3, rel=1e-6)
    assert (charge_side_loss(dear, 1.6) - charge_side_loss(cheap, 1.6)) * AIR**2 == pytest.approx(6e3)


def test_circuit_is_laid_with_its_own_fluid(pickup_kit):
    """Coolant's own curves at the circuit's mixture and working temperature (media.coolants, CoolProp data)."""
    network = network_of(pickup_kit, *LAYERS)
    main, low = (coolant_liquid(pickup_kit.coolants[p], p) for p in ("coolant", f"circuits.{LOW}"))
    assert low.stream.mu > 1.3 * main.stream.mu  # 60 against 90 degC
    rows = dict(zip(network.networks, network.model.networks["fluid"], strict=True))
    assert rows[f"circuits.{LOW}"] not in (rows["coolant"], rows["oil"], rows["air"])
    curve = network.model.liquids[rows[f"circuits.{LOW}"]]
    assert np.allclose(curve, low.coefficients)
    assert branch(pickup_kit, LINE)["cp"] == pytest.approx(low.stream.cp)


def test_any_number_of_circuits(pickup_kit):
    again = pickup_kit.circuits[LOW]
    record = again.model_copy(
        update={"lines": {n: x.model_copy(update={"core": None}) for n, x in again.lines.items()}}
    )
    network = network_of(changed(pickup_kit, circuits={**pickup_kit.circuits, "third": record}), *LAYERS)
    assert list(network.tanks) == ["coolant", f"circuits.{LOW}", "circuits.third"]
    fluids = network.model.networks["fluid"]
    assert len(set(fluids)) == len(network.networks) - 1  # air and charge air are the same
    now = instant(network, fan=1.0)
    assert now.flow("circuits.third.to_radiator") > now.flow(f"circuits.{LOW}.to_radiator") > 0.1
    tanks = network.model.boiling["tank"]
    assert set(tanks) == {0, 1, 2}
    mass = [network.masses[i] for i in network.model.boiling["cell"]]
    assert all(m.startswith(list(network.tanks)[t] + ".") for m, t in zip(mass, tanks, strict=True))
