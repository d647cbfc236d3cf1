"""Models and data that a run has used, each with its source as the code itself states it.

A model is listed where what it is for is in the variant. The text is read from the law's own docstring, so that
paper and code cannot drift apart.
"""

import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from importlib.resources import files

from heatproof.kit.records.air import BarAndPlate, TubeAndFin
from heatproof.kit.records.parts import Part
from heatproof.kit.records.variant import Variant
from heatproof.media.data_files import rows_of
from heatproof.media.solids import emissivity, material

Used = Callable[[Variant], bool]


def always(_: Variant) -> bool:
    """In every run."""
    return True


def has_turbo(variant: Variant) -> bool:
    return variant.turbo is not None


def has_water(variant: Variant) -> bool:
    return variant.turbo is not None and variant.turbo.water_line is not None


def has_geometry(variant: Variant) -> bool:
    return variant.bay is not None and variant.bay.geometry == "on"


def has_facing(variant: Variant) -> bool:
    return any(link.kind == "facing" for link in variant.links.values())


def has_core(kind: type) -> Used:
    """Whether a core of that build is there."""
    return lambda variant: any(isinstance(core.geometry, kind) for core in variant.cores.values())


MODELS: tuple[tuple[str, str, str, Used], ...] = (
    ("engine", "motored_friction_pressure", "Engine: friction", always),
    ("engine", "taylor_toong_coefficient", "Engine: heat to the cylinder walls", always),
    ("engine", "mean_gas_temperature", "Engine: effective gas temperature", always),
    ("engine", "power_factor_mixture", "Engine: efficiency against mixture", always),
    ("engine", "manifold_pressure", "Engine: manifold pressure", always),
    ("turbo", "compressor_outlet_temperature", "Compressor: outlet temperature", has_turbo),
    ("turbo", "turbine_match", "Turbine and wastegate: match to the boost asked for", has_turbo),
    ("exhaust_pipe", "manifold_coefficient", "Exhaust: gas to wall", always),
    ("convection", "surface_coefficient", "Surfaces to still and moving air", always),
    ("convection", "nusselt_vertical_plate", "Standing liquid at hot walls", always),
    ("convection", "nusselt_duct", "Liquids in lines and tubes", always),
    ("exchange", "effectiveness_crossflow_unmixed", "Exchangers: effectiveness", always),
    ("core", "core_side", "Exchangers: one side of a core", always),
    ("core", "core_pressure_drop", "Exchangers: pressure loss of a core", always),
    ("fin_surfaces", "offset_strip_j", "Offset strip fins: heat", has_core(BarAndPlate)),
    ("fin_surfaces", "offset_strip_f", "Offset strip fins: friction", has_core(BarAndPlate)),
    ("fin_surfaces", "louver_j", "Louvered fins: heat", has_core(TubeAndFin)),
    ("fin_surfaces", "louver_f", "Louvered fins: friction", has_core(TubeAndFin)),
    ("ducts", "channel_j_f", "Flat tubes", has_core(TubeAndFin)),
    ("pressure_loss", "pipe_branch", "Lines: pressure loss", always),
    ("pressure_loss", "friction_factor", "Lines: friction", always),
    ("pressure_loss", "bend_loss", "Pipes: bends", always),
    ("boiling", "nucleate_boiling_coefficient", "Coolant: boiling at hot walls", always),
    ("siphon", "line_shape", "Turbo water: may it circulate after key-off", has_water),
    ("radiation", "exchange_factor_plates", "Radiation between facing surfaces", has_facing),
    ("view_factors", "parallel_rectangles_centred", "View factor of facing surfaces", has_facing),
    ("radiation", "exchange_areas", "Radiation in the bay: grey enclosure", has_geometry),
    ("vehicle", "road_load", "Car: road load", always),
)
"""Module of laws, function, what it is for here, when it counts. Each is a function that the solver itself calls."""

FITTED_TO = {
    "convection.surface_coefficient": (
        "nusselt_vertical_plate",
        "nusselt_horizontal_cylinder",
        "nusselt_plate_facing_up",
        "nusselt_plate_facing_down",
        "nusselt_cylinder_crossflow",
        "nusselt_plate",
    )
}
"""Laws of the same module that a cited function is a fast fit of: their sources stand behind its own."""


@dataclass(frozen=True)
class Citation:
    """what: it is for; model: of the code; source: as the code states it."""

    what: str
    model: str
    source: str


def models(variant: Variant) -> tuple[Citation, ...]:
    """Models of this variant."""
    found = []
    for module, name, what, used in MODELS:
        if used(variant):
            laws, model = import_module(f"heatproof.laws.{module}"), f"{module}.{name}"
            sources = (source_of(getattr(laws, law)).rstrip(".") for law in (name, *FITTED_TO.get(model, ())))
            found.append(Citation(what, model, "; ".join(dict.fromkeys(sources)) + "."))
    return tuple(found)


def source_of(law: object) -> str:
    """What stands after `Source:` in a docstring. ValueError where nothing does."""
    text = " ".join((inspect.getdoc(getattr(law, "py_func", law)) or "").split())
    _, found, source = text.partition("Source:")
    if not found:
        raise ValueError(f"{law} states no source")
    return source.strip()


def data(variant: Variant) -> tuple[Citation, ...]:
    """Data tables of this variant: fluids, materials, finishes, limits."""
    rows = [
        Citation("Air", "media/data/air.csv", head_of("air.csv")),
        Citation("Exhaust gas", "media/data/exhaust.csv", head_of("exhaust.csv")),
        Citation("Coolant", "media/data/coolant.csv", head_of("coolant.csv")),
        Citation(f"Oil {variant.oil.grade}", "media/data/oils.csv", oil_source(variant.oil.grade)),
    ]
    rows += [
        Citation(f"Material: {name}", "media/data/materials.csv", text)
        for name, text in materials_of(variant)
    ]
    rows += [
        Citation(f"Finish: {name}", "media/data/emissivity.csv", text) for name, text in finishes_of(variant)
    ]
    return tuple(rows)


def oil_source(grade: str) -> str:
    """Source of an oil's row."""
    row = next((r for r in rows_of("oils.csv") if r["grade"] == grade), None)
    return row["source"] if row is not None else head_of("oils.csv")


def materials_of(variant: Variant) -> Iterator[tuple[str, str]]:
    """Material named anywhere, and the sources of its rows."""
    names = {part.material for part in variant.parts.values() if part.material}
    names |= {name for part in variant.parts.values() for name in layers_of(part)}
    for name in sorted(names):
        one = material(name)
        curves = (one.density, one.conductivity, one.specific_heat)
        sources = dict.fromkeys(point.source for curve in curves for point in curve.points)
        yield name, " / ".join(sources)


def layers_of(part: Part) -> list[str]:
    """Materials of what lies on a part or between its skins."""
    cover = part.cover
    layers = [*(cover.layers if cover is not None else ()), *([part.insulation] if part.insulation else [])]
    names = [cover.material if cover is not None else None, *(layer.material for layer in layers)]
    return [name for name in names if name]


def finishes_of(variant: Variant) -> Iterator[tuple[str, str]]:
    """Surface states named, and their sources."""
    for part in variant.parts.values():
        if part.finish and part.material:
            value = emissivity(part.material, part.finish, part.finish_temperature)
            yield f"{part.material}, {part.finish}", value.source


def head_of(name: str) -> str:
    """The comment lines at the head of a data file that say where it comes from."""
    text = files("heatproof.media").joinpath("data", name).read_text(encoding="utf-8")
    lines = [line[1:].strip() for line in text.splitlines() if line.startswith("#")]
    return re.sub(r"\s+", " ", " ".join(lines))
