"""Doubt of the laws themselves: how far a family of correlations may be off as it is laid, as factors on the laid network.

A correlation scatters about the measurements it was fitted to, and a car's bay, jacket or volute is not its test section. One
factor a family (bay convection: one a zone as well) multiplies what the family laid: an area, a conductance, a resistance. The
pattern of the network does not change, so a draw costs no new analysis. Values of the car with a spread of their own, such as
`engine.coolant_heat_factor`, are not here: their doubt is theirs.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from heatproof.network import arrays as A
from heatproof.network.laid import Network

LAW = "law:"
"""Begins the path of a family among uncertain values."""


@dataclass(frozen=True)
class LawDoubt:
    """One family in one network. half: relative half width (two standard deviations) of its factor, log-normal."""

    key: str
    title: str
    half: float
    source: str
    scaled: Callable[[A.Model, float], A.Model]
    """The model with this family times a factor."""

    @property
    def path(self) -> str:
        """Its name among uncertain values."""
        return LAW + self.key

    def factor(self, z: float) -> float:
        """Of a draw `z` in standard deviations: exp(z σ) with σ = ln(1 + half)/2."""
        return float(np.exp(0.5 * z * np.log1p(self.half)))


def column_scaled(table: str, column: str, rows: np.ndarray) -> Callable[[A.Model, float], A.Model]:
    """Scales one column of some rows of one table."""

    def scaled(model: A.Model, factor: float) -> A.Model:
        data = getattr(model, table).copy()
        data[column][rows] *= factor
        return model._replace(**{table: data})

    return scaled


def all_scaled(*parts: Callable[[A.Model, float], A.Model]) -> Callable[[A.Model, float], A.Model]:
    """Several columns by the same factor."""

    def scaled(model: A.Model, factor: float) -> A.Model:
        for part in parts:
            model = part(model, factor)
        return model

    return scaled


def exchanger_side_scaled(table: str, rows: np.ndarray) -> Callable[[A.Model, float], A.Model]:
    """Multiplies hA of some exchangers on one side: their tables hold its logarithm."""

    def scaled(model: A.Model, factor: float) -> A.Model:
        data = getattr(model, table).copy()
        data[rows] += np.log(factor)
        return model._replace(**{table: data})

    return scaled


def law_doubts(network: Network) -> tuple[LawDoubt, ...]:
    """The families that this network laid, in a fixed order."""
    return tuple(_families(network))


def with_factors(network: Network, z: Mapping[str, float]) -> Network:
    """The network with every family times the factor of its draw; `z`: path → standard deviations, 0 where it is not named.

    Families are looked up in this very network: a moved value may add or remove weak links.
    """
    model = network.model
    for doubt in law_doubts(network):
        if z.get(doubt.path, 0.0) != 0.0:
            model = doubt.scaled(model, doubt.factor(z[doubt.path]))
    return dataclasses.replace(network, model=model)


def _families(network: Network) -> Iterator[LawDoubt]:
    model = network.model
    yield from _convection(network)
    if model.radiation.size:
        yield LawDoubt(
            "view_factors",
            "radiation exchange: rays, placement to 5 mm, grey surfaces",
            0.15,
            "shapes stand for parts; common practice, no source",
            column_scaled("radiation", "FA", np.arange(model.radiation.size)),
        )
    facing = np.array(
        ["facing" in name or "cover" in name for name in network.link_names["conduction"]], dtype=bool
    )
    if facing.any():
        yield LawDoubt(
            "gap_conduction",
            "heat through still air and layers of covers",
            0.25,
            "gaps as fitted are no parallel planes; common practice, no source",
            column_scaled("conduction", "G", np.flatnonzero(facing)),
        )
    yield from _exchangers(network)
    yield from _streams(network)
    yield from _branches(network)


def _convection(network: Network) -> Iterator[LawDoubt]:
    """Bay convection by zone: natural and forced correlations in a space full of parts."""
    table = network.model.convection
    names = (*network.masses, *network.boundaries)
    for air in np.unique(table["j"]):
        zone = names[air].removeprefix("air.")
        yield LawDoubt(
            f"convection.{zone}",
            f"convection in {zone.replace('_', ' ')}",
            0.40,
            "plates and cylinders in a free stream stand for parts in a bay: ± 20 % scatter of the correlations (Incropera and "
            "DeWitt, chapters 7 and 9, from memory) and as much again for speed and shape, an engineering judgement",
            column_scaled("convection", "area", np.flatnonzero(table["j"] == air)),
        )


def _exchangers(network: Network) -> Iterator[LawDoubt]:
    model = network.model
    if not model.exchanger.size:
        return
    rows = np.arange(model.exchanger.size)
    yield LawDoubt(
        "core_cold_side",
        "cores, side of the air or the cooling liquid",
        0.15,
        "louvered-fin correlation: 89 % of its data within 15 % (Chang and Wang 1997)",
        exchanger_side_scaled("cold_ln_hA", rows),
    )
    yield LawDoubt(
        "core_hot_side",
        "cores, side of the hot fluid",
        0.20,
        "Gnielinski's tube correlation within 10 to 20 % (Gnielinski 1976, from memory); transition in flat tubes",
        exchanger_side_scaled("hot_ln_hA", rows),
    )


def _streams(network: Network) -> Iterator[LawDoubt]:
    """Walls in streams: gas in pipes, liquids in jackets and lines."""
    model, names = network.model, network.link_names
    exhaust = np.array([name.startswith("exhaust.") for name in names["duct"]], dtype=bool)
    if exhaust.any():
        yield LawDoubt(
            "gas_side",
            "exhaust gas to walls",
            0.20,
            "pulsation is in the pieces' own factors; common practice, no source",
            column_scaled("duct", "hA_ref", np.flatnonzero(exhaust)),
        )
    if (~exhaust).any():
        yield LawDoubt(
            "charge_air_side",
            "charge air to walls",
            0.20,
            "Gnielinski's tube correlation within 10 to 20 % (Gnielinski 1976, from memory); short pipes",
            column_scaled("duct", "hA_ref", np.flatnonzero(~exhaust)),
        )
    fluids = np.array([network.masses[j] if j < len(network.masses) else "" for j in model.wetted["j"]])
    for key, title, half in (("oil", "oil to walls", 0.40), ("liquid", "coolant to walls", 0.25)):
        is_oil = np.array([name.startswith("oil.") for name in fluids], dtype=bool)
        rows = np.flatnonzero(is_oil if key == "oil" else ~is_oil)
        if rows.size:
            yield LawDoubt(
                f"{key}_side",
                title,
                half,
                "jackets and sumps are no tubes; common practice, no source",
                all_scaled(column_scaled("wetted", "G_ref", rows), column_scaled("wetted", "G_still", rows)),
            )
    boiling = np.flatnonzero(model.wetted["boiling_area"] > 0.0)
    if boiling.size:
        yield LawDoubt(
            "boiling",
            "nucleate boiling on hot walls",
            0.60,
            "pool boiling correlations against surfaces and mixtures: ± 30 % in superheat cubed (Rohsenow's constant, from memory)",
            column_scaled("wetted", "boiling_area", boiling),
        )


def _branches(network: Network) -> Iterator[LawDoubt]:
    """Flow: leaks and gaps of the air, slow natural circulation of the liquids."""
    fluid = network.model.branches["fluid"]
    air = np.flatnonzero(fluid == A.AIR)
    if air.size:
        yield LawDoubt(
            "air_losses",
            "pressure losses of cooling and bay air",
            0.25,
            "losses of single openings stand for openings in a row; common practice, no source",
            column_scaled("branches", "b", air),
        )
    liquid = np.flatnonzero((fluid == A.COOLANT) | (fluid == A.COOLANT_2))
    if liquid.size:
        yield LawDoubt(
            "slow_flow",
            "laminar loss of water that circulates by itself",
            0.30,
            "developing flow in short hoses and bends at low Reynolds number; common practice, no source",
            column_scaled("branches", "a", liquid),
        )
