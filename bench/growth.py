"""How cost grows with the number of masses: the example and a small car, with parts added that face four others each."""

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import heatproof
from heatproof.assembly.model import lay_network, solve
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.parts import Radiation
from heatproof.kit.records.variant import Variant

Row = tuple[str, float, str]
EXAMPLE = Path(heatproof.__file__).parent / "examples" / "hatchback"
SMALL = Path(__file__).parents[1] / "tests" / "kit" / "small"
FACES = 4  # others that an added part exchanges radiation with


def grown(variant: Variant, masses: int) -> Variant:
    """The variant with parts like its loom added until its network has so many masses, each in radiation with
    `FACES` others, one with the manifold. Shapes are left off: tracing rays has a bench of its own."""
    like = variant.parts["loom"].model_copy(update={"shape": None, "patches": None, "limit": None})
    parts, links = dict(variant.parts), dict(variant.assembly.links)
    names = [f"added_{k}" for k in range(masses - len(lay_network(variant).masses))]
    for k, name in enumerate(names):
        parts[name] = like
        for other in (names[(k + step) % len(names)] for step in range(1, FACES // 2 + 1)):
            links[f"{name}_to_{other}"] = facing(name, other)
    if names:
        links["added"] = facing(next(iter(variant.exhaust.values())).part, names[0])
    return replace(variant, assembly=variant.assembly.model_copy(update={"parts": parts, "links": links}))


def facing(part: str, other: str) -> Radiation:
    """A few square centimetres of exchange."""
    return Radiation(**{"from": part}, to=other, kind="radiation", exchange_area=20e-4)


def costs(project: Project, variant: Variant) -> tuple[int, float, float, int]:
    """Masses; seconds to lay the network; to solve all duties, warm; places of the matrix."""
    lay_network(variant)
    began = time.perf_counter()
    network = lay_network(variant)
    laid = time.perf_counter() - began
    times = []
    for _ in range(3):
        began = time.perf_counter()
        for duty in project.duties.values():
            solve(variant, duty, network)
        times.append(time.perf_counter() - began)
    return len(network.masses), laid, min(times), network.model.pattern.column.size


def series(title: str, folder: Path, sizes: tuple[int, ...]) -> Iterator[Row]:
    """Rows of one car, each size over the smallest."""
    project = read_project(folder)
    first = None
    for size in sizes:
        masses, laid, solved, places = costs(project, grown(project.variant(), size))
        first = first or solved / masses
        yield (f"{title}, {masses} masses: all duties, warm", solved, "s")
        yield ("  over the smallest, per mass", solved / masses / first, "×")
        yield ("  laying the network", laid, "s")
        yield ("  places of the matrix", places, "")


def run() -> list[Row]:
    """Rows (label, value, unit)."""
    small = series("small car, one duty", SMALL, (50, 100, 200, 500, 1000))
    whole = series("example, five duties", EXAMPLE, (123, 200, 500, 1000))
    return [*small, *whole]
