"""The tables of `docs/theory/practice.md`, made from whole runs: `python tests/assembly/practice_page.py`.

What stands between the marks is written anew; the text around it stays.
"""

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from whole_car import (
    STANDING,
    at,
    at_altitude,
    cooler_in_a_duct,
    cooler_in_front,
    core_flow,
    fed_after_the_head,
    flow,
    highest,
    idled,
    intake_rise,
    peak,
    short_of_boost,
    solved,
    without_water,
)

from heatproof.assembly.model import Solved
from heatproof.network import signals as S

PAGE = Path(__file__).parents[2] / "docs" / "theory" / "practice.md"
MARK = "<!-- {} {} -->"
OPEN_BOX = ("airbox_lid",)


def expectations() -> str:
    """What the trade expects, and the model's figures before and after the change."""
    rows = [
        "| expectation | duty, instant | model |",
        "|---|---|---|",
        *air(),
        *water(),
        *driving(),
    ]
    return "\n".join(rows)


def row(expectation: str, duty: str, model: str) -> str:
    return f"| {expectation} | {duty} | {model} |"


def air() -> list[str]:
    """Gaps, filter, box."""
    flat, crawl = solved("flat_out"), solved("town_crawl")
    loose, loose_crawl = (solved(d, leave=("seal_strips",)) for d in ("flat_out", "town_crawl"))
    back = [-1000.0 * flow(s, "air.gap_round_radiator", STANDING) for s in (loose_crawl, crawl)]
    open_flat, open_crawl = (solved(d, fit=("open_filter",)) for d in ("flat_out", "town_crawl"))
    cut = intake_rise(solved("town_crawl", leave=OPEN_BOX))
    baffle = intake_rise(solved("town_crawl", leave=OPEN_BOX, fit=("airbox_baffle",)))
    return [
        row(
            "closing the gaps round the exchangers raises flow through the cores at speed",
            "flat out, 500 s",
            f"{core_flow(loose, 500.0):.2f} → {core_flow(flat, 500.0):.2f} kg/s",
        ),
        row(
            "… and stops recirculation at standstill",
            "town crawl, standing, fan on",
            f"{back[0]:.0f} → {back[1]:.0f} g/s back through the gap",
        ),
        row(
            "an open filter in the bay breathes tens of kelvin above ambient",
            "flat out, 500 s",
            f"+ {warmed(open_flat):.1f} K; sealed box + {warmed(flat):.1f} K",
        ),
        row(
            "… in the crawl",
            "worst instant",
            f"open filter + {intake_rise(open_crawl):.0f} K, cut-down box + {cut:.0f} K",
        ),
        row(
            "a baffle helps little while gaps remain",
            "town crawl, worst instant",
            f"+ {cut:.1f} → + {baffle:.1f} K",
        ),
        row(
            "a lid brings it to within a few kelvin",
            "town crawl, worst instant",
            f"+ {intake_rise(crawl):.1f} K",
        ),
    ]


def warmed(s: Solved) -> float:
    """K of the air in the filter over ambient, 500 s into the drive."""
    return at(s, "charge.filter", 500.0) + 273.15 - s.run.around.temperature


def water() -> list[str]:
    """Where the turbo's water comes from and goes to."""
    hill, to_engine, late = (
        solved("long_hill"),
        solved("long_hill", leave=("rising_water_line",)),
        fed_after_the_head(),
    )
    inlet = [at(s, "coolant.engine_in", 650.0) for s in (to_engine, hill)]
    bearing = [at(s, "bearing_housing", 650.0) for s in (to_engine, hill)]
    return [
        row(
            "the turbo's water returned ahead of the radiator, not to the engine inlet",
            "long hill, 650 s",
            f"engine inlet {inlet[0]:.1f} → {inlet[1]:.1f} °C",
        ),
        row(
            "… and costs the turbo some flow",
            "long hill, 650 s",
            f"bearing housing {bearing[0]:.0f} → {bearing[1]:.0f} °C",
        ),
        row(
            "fed from the block before the head, not after it",
            "long hill, 650 s",
            f"bearing housing {at(late, 'bearing_housing', 650.0):.0f} → {bearing[1]:.0f} °C",
        ),
    ]


def driving() -> list[str]:
    """Idling down, a cooler in front, thin air."""
    loom, boot = (
        [peak(idled(s), mass, after_key_off=True) for s in (0.0, 180.0)] for mass in ("loom", "steering_boot")
    )
    cost = at(cooler_in_front(), "coolant.engine_out", 650.0) - at(
        cooler_in_a_duct(), "coolant.engine_out", 650.0
    )
    low, high = (at_altitude("flat_out", h) for h in (0.0, 2500.0))
    rho = [s.run.around.density for s in (low, high)]
    pulls = [at_altitude("ten_pulls", h) for h in (0.0, 2500.0)]
    ratio, short = [highest(s, S.PRESSURE_RATIO) for s in pulls], [short_of_boost(s) for s in pulls]
    return [
        row(
            "idling down before key-off lowers the soak peak",
            "flat out, idle 0 → 3 min",
            f"loom {loom[0]:.1f} → {loom[1]:.1f} °C, steering boot {boot[0]:.1f} → {boot[1]:.1f} °C",
        ),
        row(
            "a charge cooler in front costs the radiator some kelvin",
            "long hill, 650 s, fan held low",
            f"engine outlet + {cost:.1f} K against a duct of its own",
        ),
        row(
            "2,500 m: cooling air shrinks with density",
            "flat out, 500 s",
            f"{core_flow(low, 500.0):.2f} → {core_flow(high, 500.0):.2f} kg/s (density {rho[0]:.3f} → {rho[1]:.3f} kg/m³)",
        ),
        row(
            "2,500 m: the same boost asks for a higher pressure ratio",
            "ten pulls",
            f"{ratio[0]:.2f} → {ratio[1]:.2f}, boost short for {short[1] / short[0]:.1f} times as many pascal-seconds",
        ),
    ]


def bearing_housing() -> str:
    """Dry → with water, 70 s before key-off and highest after it."""
    rows = ["| duty | driving, 70 s before key-off | highest after key-off |", "|---|---|---|"]
    for duty in ("flat_out", "long_hill", "track_session"):
        both = without_water(duty), solved(duty)
        before = [at(s, "bearing_housing", s.run.duty.key_off - 70.0) for s in both]
        after = [peak(s, "bearing_housing", after_key_off=True) for s in both]
        name = duty.replace("_", " ")
        rows.append(f"| {name} | {before[0]:.0f} → {before[1]:.0f} °C | {after[0]:.0f} → {after[1]:.0f} °C |")
    return "\n".join(rows)


TABLES = {"expectations": expectations, "bearing housing": bearing_housing}


def between(page: str, name: str) -> str:
    """What stands between the marks of a table. ValueError where they are missing."""
    found = re.search(
        re.escape(MARK.format(name, "begins")) + r"\n+(.*?)\n+" + MARK.format(name, "ends"), page, re.S
    )
    if found is None:
        raise ValueError(f"no marks of {name}")
    return found.group(1)


def make_page(page: str) -> str:
    """The page with its tables made anew."""
    for name, table in TABLES.items():
        page = page.replace(between(page, name), table())
    return page


if __name__ == "__main__":
    PAGE.write_text(make_page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
