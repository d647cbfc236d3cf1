"""Is a blanket enough? Protection alone and together, side by side; what warms the turbine cools its neighbours."""

from collections.abc import Sequence

from shared import project_named

from heatproof import Project, check

PROTECTION = ("turbine_blanket", "turbo_shield", "brake_line_sleeve", "loom_sleeve")


def main(
    project: Project,
    parts: Sequence[str] = ("brake_line", "loom", "turbine_housing"),
    only: Sequence[str] | None = None,
) -> dict[str, dict[str, float]]:
    """Set of measures → margins K of the parts named. only: names of sets to try, all where None."""
    others = tuple(name for name in project.fitted if name not in PROTECTION)
    sets = {
        "nothing": others,
        "blanket": (*others, "turbine_blanket"),
        "shield": (*others, "turbo_shield"),
        "both": (*others, "turbine_blanket", "turbo_shield"),
    }
    found = {}
    for name, measures in sets.items():
        if only is not None and name not in only:
            continue
        verdict = check(project, measures, spreads=False)
        found[name] = {part: verdict.of_part(part).margin for part in parts}
        print(f"{name:8}", ", ".join(f"{part} {margin:+.1f} K" for part, margin in found[name].items()))
    return found


if __name__ == "__main__":
    main(project_named())
