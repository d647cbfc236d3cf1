"""Where should the turbo's water go back? To a place that is higher, cooler and has flow: tried in the full model."""

from collections.abc import Sequence

from shared import project_named

from heatproof import Project, check, variant
from heatproof.assembly.coolant import circulation_check

PLACES = ("engine_in", "radiator_in", "tank")
PART = "coolant.turbo_out.boiling"


def main(project: Project, places: Sequence[str] = PLACES) -> dict[str, tuple[float, bool]]:
    """Place → (margin to boiling K, whether the line moves water by itself after key-off)."""
    found = {}
    for place in places:
        built = variant(project).replace("coolant.lines.turbo_return.to", place)
        margin = check(project, built, spreads=False).of_part(PART).margin
        by_itself = any(way.circulates for way in circulation_check(built))
        found[place] = (margin, by_itself)
        print(
            f"{place}: {margin:+.1f} K to boiling; moves by itself after key-off: {'yes' if by_itself else 'no'}"
        )
    return found


if __name__ == "__main__":
    main(project_named())
