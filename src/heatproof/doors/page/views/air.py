"""Air: where it goes, how warm it is, and the pressure that drives it, at one instant."""

from typing import Any

from heatproof.doors.page import units
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.units import air_pressure, flow_number, flow_text, reader, scale_of
from heatproof.doors.page.views.head import ten_power
from heatproof.doors.page.views.instants import (
    duty_run,
    duty_view,
    hardest,
    instant_view,
    ram_text,
    row_at,
    slowest,
)
from heatproof.kit.records.variant import Variant
from heatproof.network.paths import paths_at
from heatproof.network.solve import Run
from heatproof.verdict.names import passage_title, spaced
from heatproof.verdict.words import kilowatts, number

OUTSIDE, ENGINE, CP_AIR = "outside", "engine", 1006.0
BACK = 5e-4  # kg/s, from which on a flow against its arrow is shown as running back
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def air_view(answer: Answer, duty: str | None, time: float | None) -> dict[str, Any]:
    """The whole screen."""
    key, run = duty_run(answer, duty)
    row, other = row_at(run, time, hardest(run)), slowest(run)
    exits = core_exits(run, row)
    tried = [link_view(answer.variant, run, row, name, exits) for name in air_branches(run)]
    links = [link for link in tried if link is not None]
    letters = {link["name"]: LETTERS[k % 26] for k, link in enumerate(x for x in links if x["kind"] == "gap")}
    for link in links:
        link["letter"] = letters.get(link["name"], "")
    return {
        "duty": duty_view(answer, key, run),
        "instant": instant_view(run, row),
        "moments": [
            {"label": "Fastest", "time": float(run.time[hardest(run)])},
            {"label": "Slowest, engine on", "time": float(run.time[other])},
            {
                "label": "Hottest part",
                "time": answer.verdict.worst.found.time
                if answer.verdict.worst.duty == key
                else float(run.time[-1]),
            },
        ],
        "nodes": nodes_view(answer.variant, run, row, links),
        "links": links,
        "balance": balance_view(links),
        "facts": [facts_view(answer.variant, run, r) for r in (row, other)],
        "gaps": gaps_view(answer.variant, run, row, other, letters),
        "scale": scale_of(35.0, 105.0),
        "ram": ram_text(run, row),
    }


def air_branches(run: Run) -> list[str]:
    """Branches of the air network, without their prefix."""
    return [name.removeprefix("air.") for name in run.network.branches if name.startswith("air.")]


def ends_of(variant: Variant, name: str) -> tuple[str, str] | None:
    """Zones a passage joins; the engine's own draw ends at the engine."""
    passage = variant.air.passages.get(name)
    if passage is not None:
        return passage.from_, passage.to
    return (variant.charge.draws_from, ENGINE) if name == "engine_draw" else None


def zone_temperature(run: Run, row: int, zone: str) -> float:
    """K; ambient outside."""
    name = f"air.{zone}"
    if name in run.network.masses:
        return float(run.state[row, run.network.mass(name)])
    return run.around.temperature


def core_exits(run: Run, row: int) -> dict[str, float]:
    """Air branch to the heat (W) a core gives the air in it."""
    found = {}
    paths = paths_at(run, row)
    heats = [path for path in paths if path.kind == "exchanger"]
    for k, ex in enumerate(run.network.model.exchanger):
        # Two paths an exchanger, hot side first; each runs into the metal.
        name = run.network.branches[int(ex["cold"])]
        if name.startswith("air."):
            found[name.removeprefix("air.")] = -heats[2 * k + 1].heat
    # A condenser has no second stream: its metal warms the air along the passage.
    ducts = (path for path in paths if path.kind == "duct")
    for duct, path in zip(run.network.model.duct, ducts, strict=True):
        name = run.network.branches[int(duct["branch"])]
        if name.startswith("air."):
            found[name.removeprefix("air.")] = -path.heat
    return found


def link_view(
    variant: Variant, run: Run, row: int, name: str, exits: dict[str, float]
) -> dict[str, Any] | None:
    """One passage: flow, ends, temperature before and after a core."""
    ends = ends_of(variant, name)
    if ends is None:
        return None
    flow = float(run.flow[row, run.network.branches.index(f"air.{name}")])
    passage = variant.air.passages.get(name)
    up = ends[0] if flow >= 0 else ends[1]
    T = zone_temperature(run, row, up) if up != ENGINE else zone_temperature(run, row, ends[0])
    heat = exits.get(name, 0.0)
    after = T + heat / (abs(flow) * CP_AIR) if abs(flow) > 1e-4 else T
    return {
        "name": name,
        "title": "To the filter" if name == "engine_draw" else passage_title(variant, name),
        "from": ends[0],
        "to": ends[1],
        "kind": passage.kind if passage is not None else "draw",
        "core": passage.core if passage is not None else None,
        "core_title": spaced(passage.core) if passage is not None and passage.core else "",
        "flow": flow_number(flow),
        "flow_text": flow_text(flow),
        "back": flow < -BACK,
        "kg_s": flow,
        "temperature": units.T(T),
        "after": units.T(after),
        "heat_text": kilowatts(heat) if heat else "",
    }


def nodes_view(variant: Variant, run: Run, row: int, links: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Zones, mouths, outlets and the engine, with column, temperature and pressure."""
    columns = layers(variant, links)
    found = []
    for zone, record in variant.air.zones.items():
        p = float(run.pressure[row, run.network.junctions.index(f"air.{zone}")])
        found.append(
            {
                "id": zone,
                "title": record.title or spaced(zone),
                "kind": "zone",
                "column": columns[zone],
                "height": record.height,
                "temperature": units.T(zone_temperature(run, row, zone)),
                "pressure": air_pressure(p),
            }
        )
    for link in links:
        for side, other in (("from", "to"), ("to", "from")):
            if link[side] == OUTSIDE:
                passage = variant.air.passages[link["name"]]
                p = float(run.pressure[row, run.network.junctions.index(f"air.{link['name']}.outside")])
                column = columns[link[other]] + (1 if side == "to" else -1)
                found.append(
                    {
                        "id": f"{link['name']}.outside",
                        "title": link["title"],
                        "kind": "mouth" if side == "from" else "outlet",
                        "column": column,
                        "height": passage.height,
                        "temperature": units.T(run.around.temperature),
                        "pressure": air_pressure(p),
                    }
                )
                link[side] = f"{link['name']}.outside"
        if link["to"] == ENGINE:
            found.append(
                {
                    "id": ENGINE,
                    "title": "Engine",
                    "kind": "engine",
                    "column": columns[link["from"]] + 1,
                    "height": 0.7,
                    "temperature": link["temperature"],
                    "pressure": None,
                }
            )
    return found


def layers(variant: Variant, links: list[dict[str, Any]]) -> dict[str, int]:
    """Zone to column: longest way from a mouth along passages as written, ways back left out."""
    zones = list(variant.air.zones)
    ways = [
        (x["from"], x["to"]) for x in links if x["from"] in variant.air.zones and x["to"] in variant.air.zones
    ]
    column = dict.fromkeys(zones, 1)
    done: set[tuple[str, str]] = set()

    def reaches(a: str, b: str, seen: set[str]) -> bool:
        return a == b or any(y not in seen and reaches(y, b, seen | {y}) for x, y in done if x == a)

    for a, b in ways:
        if not reaches(b, a, {b}):
            done.add((a, b))
    for _ in zones:
        for a, b in done:
            column[b] = max(column[b], column[a] + 1)
    return column


def balance_view(links: list[dict[str, Any]]) -> dict[str, str]:
    """Air in and out of the car, and to the engine."""
    into = out = draw = 0.0
    for link in links:
        flow = link["kg_s"]
        if link["kind"] == "draw":
            draw += flow
        elif str(link["from"]).endswith(".outside"):
            into, out = into + max(flow, 0.0), out + max(-flow, 0.0)
        elif str(link["to"]).endswith(".outside"):
            out, into = out + max(flow, 0.0), into + max(-flow, 0.0)
    gap = into - out - draw
    return {
        "in": reader().mass_flow(into),
        "out": reader().mass_flow(out),
        "engine": reader().mass_flow(draw),
        "closes": f"{ten_power(flow_number(gap))} {units.words()['mass_flow']}",
    }


def parallel_gaps(variant: Variant) -> list[str]:
    """Gaps that begin in front of a core: air through them passes none."""
    before = {p.from_ for p in variant.air.passages.values() if p.core is not None}
    return [
        name
        for name, p in variant.air.passages.items()
        if p.kind == "gap" and p.core is None and p.from_ in before
    ]


def facts_view(variant: Variant, run: Run, row: int) -> dict[str, str]:
    """What the air does, in six figures."""

    def flow(name: str) -> float:
        return float(run.flow[row, run.network.branches.index(f"air.{name}")])

    mouths = sum(max(flow(n), 0.0) for n, p in variant.air.passages.items() if p.from_ == OUTSIDE)
    bypass = sum(max(flow(n), 0.0) for n in parallel_gaps(variant))
    back = sum(max(-flow(n), 0.0) for n in parallel_gaps(variant))
    front = mouths + back
    exits = core_exits(run, row)
    coolers = {p.core for p in variant.air.passages.values() if p.core is not None}
    heat = {
        core: sum(q for n, q in exits.items() if variant.air.passages[n].core == core) for core in coolers
    }
    fan = variant.air.fan
    share = run.speed_of("fan")[row]
    facts = {
        "Into the mouths": reader().mass_flow(mouths),
        "Bypass, of it": f"{number(100 * bypass / front)} %" if front > 1e-6 else "–",
        "Back to the front": f"{number(100 * back / front)} %" if front > 1e-6 else "–",
        "Air in front of the cores": reader().temperature(zone_temperature(run, row, front_zone(variant))),
    }
    facts |= {
        f"{spaced(core)} gives off": kilowatts(q)
        for core, q in sorted(heat.items(), key=lambda c: -c[1])
        if core
    }
    if fan is not None:
        facts["Fan speed"] = f"{number(100 * float(share))} %"
    return facts


def front_zone(variant: Variant) -> str:
    """The zone the cores draw from."""
    return next(
        (p.from_ for p in variant.air.passages.values() if p.core is not None), next(iter(variant.air.zones))
    )


def gaps_view(
    variant: Variant, run: Run, row: int, other: int, letters: dict[str, str]
) -> list[dict[str, Any]]:
    """Every gap: area, flow now and at standstill; minus is back to front."""
    found = []
    for name, letter in letters.items():
        passage = variant.air.passages[name]
        k = run.network.branches.index(f"air.{name}")
        now, still = float(run.flow[row, k]), float(run.flow[other, k])
        found.append(
            {
                "letter": letter,
                "name": name,
                "title": passage_title(variant, name),
                "area": reader().area(passage.area or 0.0),
                "now": gap_text(now),
                "still": gap_text(still),
                "back": [now < -BACK, still < -BACK],
                "path": f"air.passages.{name}.area",
            }
        )
    return found


def gap_text(kg_s: float) -> str:
    """Three decimals, as small flows need."""
    return number(flow_number(kg_s), 2 if reader().us else 3)
