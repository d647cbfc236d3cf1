"""Media against reference tables and general-purpose property libraries."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from heatproof.media import air, coolants, exhaust, oils, solids, water
from heatproof.media.liquids import liquid_density, liquid_viscosity
from heatproof.media.names import UnknownName

CP = pytest.importorskip("CoolProp.CoolProp")


def burned_gas_rows():
    """Computed with Cantera 3.2.0 and GRI-Mech 3.0 (see the file's header)."""
    text = (Path(__file__).parent / "burned_gas.csv").read_text(encoding="utf-8").splitlines()
    for row in csv.DictReader(line for line in text if not line.startswith("#")):
        lam = 1e9 if row["lambda"] == "air" else float(row["lambda"])
        yield lam, float(row["T_K"]), {k: float(v) for k, v in row.items() if k not in ("lambda", "T_K")}


def test_burned_gas_every_row_within_0_3_percent():
    rows = list(burned_gas_rows())
    assert len(rows) == 225
    for lam, T, ref in rows:
        assert exhaust.cp_exhaust(T, lam) == pytest.approx(ref["cp_J_kgK"], rel=3e-3)
        assert exhaust.gamma_exhaust(T, lam) == pytest.approx(ref["gamma"], rel=3e-3)
        assert exhaust.viscosity_exhaust(T, lam) == pytest.approx(ref["mu_Pa_s"], rel=3e-3)
        assert exhaust.conductivity_exhaust(T, lam) == pytest.approx(ref["k_W_mK"], rel=3e-3)
        assert exhaust.density_exhaust(T, 101325.0, lam) == pytest.approx(ref["rho_kg_m3"], rel=3e-3)
        # 0.3 K worth of heat near the zero of enthalpy
        assert exhaust.enthalpy_exhaust(T, lam) == pytest.approx(ref["h_sens_J_kg"], rel=3e-3, abs=300.0)


@pytest.mark.parametrize("lam", [0.75, 0.82, 1.0, 1.3, 1e9])
@pytest.mark.parametrize("T", [300.0, 700.0, 1250.0])
def test_burned_gas_temperature_inverts_enthalpy(T, lam):
    assert exhaust.temperature_exhaust(exhaust.enthalpy_exhaust(T, lam), lam) == pytest.approx(T, abs=1e-6)


def test_burned_gas_enthalpy_is_the_integral_of_its_cp():
    T = np.linspace(298.15, 1200.0, 4001)
    cp = [exhaust.cp_exhaust(t, 0.9) for t in T]
    assert exhaust.enthalpy_exhaust(1200.0, 0.9) == pytest.approx(np.trapezoid(cp, T), rel=1e-6)


def test_lean_limit_of_burned_gas_is_air():
    assert exhaust.cp_exhaust(500.0, 1e9) == pytest.approx(air.cp_air(500.0), rel=5e-3)
    assert exhaust.gas_constant_exhaust(1e9) == pytest.approx(air.R_AIR, rel=1e-3)


@pytest.mark.parametrize(
    ("law", "key"), [(air.cp_air, "C"), (air.viscosity_air, "V"), (air.conductivity_air, "L")]
)
def test_air_against_reference_equation(law, key):
    for T in np.arange(230.0, 1400.0, 17.0):
        assert law(T) == pytest.approx(CP.PropsSI(key, "T", T, "P", 101325.0, "Air"), rel=1e-3)


@pytest.mark.parametrize("t", [-20.0, -5.0, 10.0, 35.0])
@pytest.mark.parametrize("rh", [0.2, 0.9])
def test_humidity_ratio_against_reference_mixture(t, rh):
    expected = CP.HAPropsSI("W", "T", 273.15 + t, "P", 95e3, "R", rh)
    assert air.humidity_ratio(273.15 + t, 95e3, rh) == pytest.approx(expected, rel=5e-3)


def test_humidity_refuses_nonsense():
    with pytest.raises(ValueError, match=r"0\.\.1"):
        air.vapour_pressure(300.0, 1.2)
    with pytest.raises(ValueError, match="altitude"):
        air.atmosphere(20e3)


def test_saturation_line_of_water_and_its_inverse():
    for T in np.arange(275.0, 460.0, 9.0):
        p = water.saturation_pressure_water(T)
        assert p == pytest.approx(CP.PropsSI("P", "T", T, "Q", 0, "Water"), rel=2e-4)
        assert water.saturation_temperature_water(p) == pytest.approx(T, abs=1e-3)


def test_latent_heat_against_reference():
    for T in np.arange(280.0, 450.0, 10.0):
        h = CP.PropsSI("H", "T", T, "Q", 1, "Water") - CP.PropsSI("H", "T", T, "Q", 0, "Water")
        assert water.latent_heat_water(T) == pytest.approx(h, rel=3e-3)


@pytest.mark.parametrize("x", [0.15, 0.35, 0.5, 0.55])
@pytest.mark.parametrize("t", [0.0, 20.0, 60.0, 95.0])
def test_coolant_between_the_tabulated_fractions(x, t):
    """Mixing between fractions adds its own error; INCOMP::AEG is by volume (ASHRAE)."""
    T, fluid = 273.15 + t, f"INCOMP::AEG[{x}]"
    assert coolants.density_coolant(T, x) == pytest.approx(CP.PropsSI("D", "T", T, "P", 4e5, fluid), rel=1e-3)
    assert coolants.cp_coolant(T, x) == pytest.approx(CP.PropsSI("C", "T", T, "P", 4e5, fluid), rel=3e-3)
    assert coolants.conductivity_coolant(T, x) == pytest.approx(
        CP.PropsSI("L", "T", T, "P", 4e5, fluid), rel=5e-3
    )
    assert coolants.viscosity_coolant(T, x) == pytest.approx(
        CP.PropsSI("V", "T", T, "P", 4e5, fluid), rel=0.06
    )


def test_coolant_by_volume_is_not_by_mass():
    by_mass = coolants.density_coolant(313.15, coolants.volume_fraction(0.5))
    by_volume = coolants.density_coolant(313.15, 0.5)
    assert by_volume - by_mass > 2.0
    assert coolants.volume_fraction(coolants.mass_fraction(0.4)) == pytest.approx(0.4)


def test_coolant_says_where_it_is_extrapolated():
    assert coolants.is_extrapolated(383.15, 0.5)
    assert not coolants.is_extrapolated(368.15, 0.5)
    assert coolants.is_extrapolated(263.15, 0.1)
    assert not coolants.is_extrapolated(383.15, 0.0)


def test_hotter_coolant_is_thinner_up_to_the_extrapolated_end():
    for x in (0.0, 0.3, 0.5, 0.6):
        mu = [coolants.viscosity_coolant(T, x) for T in np.arange(275.0, 414.0, 3.0)]
        assert np.all(np.diff(mu) < 0.0)


def test_more_glycol_boils_hotter_and_pressure_helps():
    T = [coolants.saturation_temperature_coolant(2e5, x) for x in (0.0, 0.2, 0.4, 0.6)]
    assert np.all(np.diff(T) > 0.0)
    for x in (0.0, 0.5):
        T = coolants.saturation_temperature_coolant(2.4e5, x)
        assert coolants.saturation_pressure_coolant(T, x) == pytest.approx(2.4e5, rel=1e-9)
        assert coolants.saturation_temperature_coolant(2.5e5, x) > T


def test_glycol_fraction_out_of_range_is_refused():
    with pytest.raises(ValueError, match=r"0\.\.0\.6"):
        coolants.density_coolant(300.0, 0.8)


@pytest.mark.parametrize("x", [0.0, 0.1, 0.33, 0.5, 0.6])
def test_compact_coolant_curve(x):
    coef = coolants.liquid_coefficients_coolant(x)
    assert coef.shape == (7,)
    for T in np.linspace(293.15, 403.15, 45):
        rho = coolants.density_coolant(T, x)
        assert liquid_density(T, coef) == pytest.approx(rho, rel=1e-3)
        assert liquid_viscosity(T, coef) == pytest.approx(coolants.viscosity_coolant(T, x) / rho, rel=0.022)
        assert coef[6] == pytest.approx(coolants.cp_coolant(T, x), rel=0.10)


@pytest.mark.parametrize("grade", sorted(oils.OILS))
def test_compact_oil_curve(grade):
    coef = oils.liquid_coefficients_oil(grade)
    for T in np.linspace(313.15, 433.15, 25):
        assert liquid_density(T, coef) == pytest.approx(oils.density_oil(T, grade), rel=1e-4)
        assert liquid_viscosity(T, coef) == pytest.approx(oils.viscosity_oil(T, grade), rel=8e-3)
        assert coef[6] == pytest.approx(oils.cp_oil(T, grade), rel=0.13)


def test_compact_curve_is_finite_when_very_cold():
    coef = oils.liquid_coefficients_oil("10W-60")
    assert math.isfinite(liquid_viscosity(150.0, coef))


def test_unknown_names_point_to_the_nearest():
    with pytest.raises(UnknownName) as oil:
        oils.oil("5W30")
    assert oil.value.nearest == "5W-30"
    with pytest.raises(UnknownName) as steel:
        solids.material("stainles 304")
    assert steel.value.nearest == "stainless 304"
    assert "stainless 304" in str(steel.value)
    with pytest.raises(UnknownName):
        solids.emissivity("cast iron", "gold plated and signed", 400.0)


def test_every_material_is_complete_and_banded():
    for name, solid in solids.materials().items():
        for curve in (solid.density, solid.conductivity, solid.specific_heat):
            point = curve.at(500.0)
            assert 0.0 < point.low <= point.value <= point.high, name
            assert point.source, name
            assert point.confidence in {"high", "medium", "low"}, name
            assert point.spread >= 0.0


def test_every_finish_lies_between_0_and_1():
    for name, states in solids.finishes().items():
        for state, curve in states.items():
            point = curve.at(500.0)
            assert 0.0 < point.low <= point.value <= point.high <= 1.0, (name, state)


def test_property_between_two_rows_is_linear():
    """Stainless 304 at 427 degC lies midway between its rows at 327 and 527 degC (19.8, 22.6 W/(m K))."""
    assert solids.material("stainless 304").conductivity.at(700.15).value == pytest.approx(21.2, abs=0.01)
    assert solids.material("stainless 304").conductivity.at(2000.0).value == 25.4


def test_material_without_finish_borrows_its_family():
    own = solids.emissivity("stainless steel", "polished", 600.0)
    assert solids.emissivity("stainless 304", "polished", 600.0) == own


def test_limits_are_kelvin_and_complete():
    wet = solids.limit("L004")  # 49 CFR 571.116 S5.1.2: DOT 4 wet boiling point 155 degC
    assert wet.continuous == (428.15, 428.15)
    assert "boiling" in wet.kind
    touch = solids.limit("L086")  # threshold only, no continuous value
    assert touch.continuous is None
    assert touch.short_term == (338.15, 343.15)
    for entry in solids.limits().values():
        assert entry.continuous or entry.short_term, entry.id
        assert entry.source, entry.id


def test_limits_of_boiling_coolant_agree_with_our_own_curve():
    """Rows L067-L084 were computed independently (IAPWS-95, Raoult estimate): one printed decimal."""
    seen = 0
    for entry in solids.limits().values():
        if not entry.item.startswith("coolant boiling"):
            continue
        gauge = float(entry.grade.split()[1])
        x = 0.0 if "water" in entry.item and "EG" not in entry.item else 0.5
        T = coolants.saturation_temperature_coolant(101325.0 + gauge * 1e5, x)
        assert entry.continuous is not None
        assert pytest.approx(entry.continuous[0], abs=0.1) == T, entry.id
        seen += 1
    assert seen == 18
