"""How tall should the charge cooler be? A taller core cools the charge more and covers more of the radiator behind it.

Depth is the other way to make it bigger; set `PATH` to `cores.charge_cooler.geometry.depth` and see how little it buys
where the air it lets through falls as fast as its surface grows.
"""

from collections.abc import Sequence

from shared import project_named

from heatproof import Project, check, variant

PATH = "cores.charge_cooler.geometry.height"
SIZES = (0.12, 0.18, 0.24)  # m
CHARGE, COOLANT = "charge.plenum", "coolant.engine_out"


def main(
    project: Project, sizes: Sequence[float] = SIZES, path: str = PATH
) -> list[tuple[float, float, float]]:
    """(size m, highest charge temperature K, highest coolant temperature K) for each size."""
    found = []
    for size in sizes:
        built = variant(project).replace(path, size)
        rows = check(project, built, spreads=False).rows
        charge, coolant = (max(r.found.peak for r in rows if r.part == part) for part in (CHARGE, COOLANT))
        found.append((size, charge, coolant))
        print(f"{1e3 * size:.0f} mm: charge {charge - 273.15:.1f} degC, coolant {coolant - 273.15:.1f} degC")
    return found


if __name__ == "__main__":
    main(project_named())
