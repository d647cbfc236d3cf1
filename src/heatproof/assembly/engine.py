"""The engine and its turbocharger: columns of the mean-value block, heat into metal, oil and water."""

from typing import Any

import numpy as np

from heatproof.assembly.charge import RHO_REFERENCE, charge_loss, intake_junction, intake_loss
from heatproof.assembly.exhaust import T_REFERENCE, back_pressure
from heatproof.assembly.oil import engine_heat_mass
from heatproof.kit.records.engine import CompressorMap, Turbo
from heatproof.kit.records.variant import Variant
from heatproof.laws.compressor_map import INSIDE, MapTable, SpeedLine, tabulate_map
from heatproof.laws.convection import nusselt_duct
from heatproof.laws.turbo import ReferenceState
from heatproof.media.coolants import (
    conductivity_coolant,
    density_coolant,
    prandtl_coolant,
    viscosity_coolant,
)
from heatproof.media.oils import density_oil
from heatproof.network import signals as S
from heatproof.network.builder import NetworkBuilder

FLOW_EXPONENT = 0.7  # airflow ~ T_manifold^-0.7 at fixed pressure: between 0.5 and 1, default of laws.engine
T_GAS_LAW = 693.15  # K, effective gas temperature the law itself uses
WATER_REFERENCE_FLOW = 5.0 / 60e3  # m3/s
WATER_BORE = 0.008  # m, equivalent bore of a bearing housing's jacket; estimate
T_WATER = 368.15
STILL_WATER = 700.0  # W/m2/K, natural convection in the jacket; estimate, factor 2
STILL_OIL = 0.5  # W/K left with no oil flow; estimate


def boost_columns(variant: Variant) -> dict[str, Any]:
    """Full-load pressure of the controller."""
    e = variant.engine
    if variant.turbo is None:
        return {"boost": 0.0, "boost_absolute": 0, "boost_from": 1.0}
    absolute = e.manifold_pressure is not None
    return {
        "boost": e.manifold_pressure if absolute else (e.boost or 0.0),
        "boost_absolute": int(absolute),
        "boost_from": e.boost_from or 0.4 * e.rated_speed,
    }


def map_table(compressor: CompressorMap) -> MapTable:
    """Regular table of a kit's compressor map."""
    lines = [
        SpeedLine(line.speed, tuple(line.flow), tuple(line.pressure_ratio), tuple(line.efficiency))
        for line in compressor.lines
    ]
    reference = ReferenceState(compressor.reference_temperature, compressor.reference_pressure)
    return tabulate_map(lines, reference)


def map_columns(turbo: Turbo | None) -> tuple[dict[str, Any], np.ndarray | None]:
    """Axes of the compressor map and its three layers; zeros where an efficiency stands in."""
    if turbo is None or turbo.compressor_map is None:
        names = ("map_T_ref", "map_p_ref", "map_flow0", "map_flow_step", "map_ratio0", "map_ratio_step")
        return dict.fromkeys(names, 0.0), None
    table = map_table(turbo.compressor_map)
    columns = {
        "map_T_ref": turbo.compressor_map.reference_temperature,
        "map_p_ref": turbo.compressor_map.reference_pressure,
        "map_flow0": table.flow[0],
        "map_flow_step": table.flow[1] - table.flow[0],
        "map_ratio0": table.pressure_ratio[0],
        "map_ratio_step": table.pressure_ratio[1] - table.pressure_ratio[0],
    }
    layers = np.stack([table.efficiency.T, table.speed.T, (table.flag == INSIDE).astype(float).T])
    return columns, layers


def turbo_columns(turbo: Turbo | None) -> dict[str, Any]:
    """Efficiencies and the turbine's swallowing area."""
    if turbo is None:
        return {
            "turbo": 0,
            "compressor_efficiency": 0.7,
            "turbine_efficiency": 0.65,
            "mechanical_efficiency": 0.95,
            "swallowing_area": 1.0,
        }
    return {
        "turbo": 1,
        "compressor_efficiency": turbo.compressor_efficiency or 0.7,
        "turbine_efficiency": turbo.turbine_efficiency,
        "mechanical_efficiency": turbo.mechanical_efficiency,
        "swallowing_area": turbo.swallowing_area,
    }


def lay_engine(b: NetworkBuilder, variant: Variant) -> None:
    """Everything the mean-value block reads, and where its heat goes."""
    e = variant.engine
    axes, layers = map_columns(variant.turbo)
    values: dict[str, Any] = {
        "displacement": e.displacement,
        "cylinders": e.cylinders,
        "bore": e.bore,
        "flow_exponent": FLOW_EXPONENT,
        "indicated_efficiency": e.indicated_efficiency,
        "friction_factor": e.friction_factor,
        "mixture_full": e.mixture_full_load,
        "mixture_part": e.mixture_part_load,
        "full_threshold": e.full_load_threshold,
        "wall_heat_factor": e.coolant_heat_factor,
        "gas_temperature_offset": e.gas_temperature - T_GAS_LAW,
        "heating_value": e.fuel.lower_heating_value,
        "air_fuel": e.fuel.stoichiometric_air_fuel,
        "coolant": head_coolant(variant),
        "compressor_in": "charge.inlet",
        "plenum": "charge.plenum",
        "intake_junction": intake_junction(variant),
        "filter_loss": intake_loss(variant),
        "charge_loss": charge_loss(variant),
        "charge_rho": RHO_REFERENCE,
        "exhaust_loss": back_pressure(variant),
        "exhaust_T": T_REFERENCE,
    }
    values |= boost_columns(variant) | turbo_columns(variant.turbo) | axes
    curve = e.volumetric_efficiency
    breathing = np.array([curve.speed, np.array(curve.value) * curve.factor])
    b.engine(values, breathing, layers)
    lay_engine_heat(b, variant)


def head_coolant(variant: Variant) -> str:
    """Liquid that cools the head: what the gas side looks at."""
    for name, line in variant.coolant.lines.items():
        if line.metal == variant.engine.head:
            return f"coolant.{name}.fluid"
    return variant.engine.head


def lay_engine_heat(b: NetworkBuilder, variant: Variant) -> None:
    """Combustion heat into head, block and oil; friction into oil and block."""
    e = variant.engine
    oil = engine_heat_mass(variant)
    to_metal = 1.0 - e.oil_piston_share
    b.source(e.head, S.WALL_HEAT, e.head_share * to_metal, "combustion heat through the walls")
    b.source(e.block, S.WALL_HEAT, (1.0 - e.head_share) * to_metal, "combustion heat through the walls")
    b.source(oil, S.WALL_HEAT, e.oil_piston_share, "combustion heat through the walls")
    b.source(oil, S.FRICTION_HEAT, e.oil_friction_share, "engine friction")
    b.source(e.block, S.FRICTION_HEAT, 1.0 - e.oil_friction_share, "engine friction")


def lay_turbo(b: NetworkBuilder, variant: Variant) -> None:
    """Housings joined by neck and backplate; bearing housing washed by oil and water."""
    turbo = variant.turbo
    if turbo is None:
        return
    bearing = turbo.part_bearing
    b.conduction(turbo.part_turbine, bearing, turbo.neck_conductance, name="turbo neck")
    b.conduction(bearing, turbo.part_compressor, turbo.backplate_conductance, name="turbo backplate")
    oil = f"oil.{turbo.oil_line}.fluid"
    rho = density_oil(373.15, variant.oil.grade)
    b.wetted(
        bearing,
        oil,
        f"oil.{turbo.oil_line}",
        G_ref=turbo.oil_conductance,
        m_ref=turbo.oil_reference_flow * rho,
        exponent=turbo.oil_exponent,
        G_still=STILL_OIL,
        name="bearing housing to oil",
    )
    b.source(oil, S.BEARING_HEAT, turbo.oil_shaft_share, "turbo bearing friction")
    if turbo.oil_shaft_share < 1.0:
        b.source(bearing, S.BEARING_HEAT, 1.0 - turbo.oil_shaft_share, "turbo bearing friction")
    if turbo.water_line is not None:
        lay_turbo_water(b, variant, turbo)


def lay_turbo_water(b: NetworkBuilder, variant: Variant, turbo: Turbo) -> None:
    """Water jacket: forced by Gnielinski, still by natural convection, boiling past saturation."""
    assert turbo.water_line is not None
    area = turbo.water_area or 0.006
    glycol = variant.coolant.glycol
    rho = density_coolant(T_WATER, glycol)
    speed = WATER_REFERENCE_FLOW / (np.pi / 4.0 * WATER_BORE**2)
    Re = speed * WATER_BORE * rho / viscosity_coolant(T_WATER, glycol)
    h = (
        nusselt_duct(Re, prandtl_coolant(T_WATER, glycol))
        * conductivity_coolant(T_WATER, glycol)
        / WATER_BORE
    )
    b.wetted(
        turbo.part_bearing,
        f"coolant.{turbo.water_line}.fluid",
        f"coolant.{turbo.water_line}",
        G_ref=h * area,
        m_ref=WATER_REFERENCE_FLOW * rho,
        exponent=0.8,
        G_still=STILL_WATER * area,
        boiling_area=area,
        name="bearing housing to water",
    )
