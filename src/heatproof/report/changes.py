"""What has changed against an earlier release: inputs, measures, values, states, margins."""

from dataclasses import dataclass
from typing import Any

from heatproof.report.reader_units import ReaderUnits
from heatproof.verdict.words import count

LEAST = 0.5  # K
MOST_VALUES = 40


@dataclass(frozen=True)
class Changes:
    """Texts, in the order they are told. earlier: revision and day of the release compared with."""

    earlier: str
    items: tuple[str, ...]


def changes(now: dict[str, Any], then: dict[str, Any], units: ReaderUnits) -> Changes:
    """now, then: records."""
    items = [
        *head(now, then),
        *measures(now, then),
        *values(now, then),
        *limits(now, then, units),
        *files(now, then),
        *versions(now, then),
    ]
    earlier = f"{then['kit']['revision'] or 'without revision'} of {then['day']}"
    return Changes(earlier, tuple(items))


def head(now: dict[str, Any], then: dict[str, Any]) -> list[str]:
    """Revision, verdict, cost and mass."""
    found = []
    if now["kit"]["revision"] != then["kit"]["revision"]:
        found.append(f"Revision: {then['kit']['revision']} → {now['kit']['revision']}.")
    if now["verdict"] != then["verdict"] or now["released"] != then["released"]:
        found.append(f"Verdict: {state(then)} → {state(now)}.")
    if abs(now["cost"] - then["cost"]) >= 0.5:
        found.append(f"Cost: {then['cost']:.0f} → {now['cost']:.0f} {now['currency']}.")
    if abs(now["mass_kg"] - then["mass_kg"]) >= 0.05:
        found.append(f"Mass: {then['mass_kg']:.1f} → {now['mass_kg']:.1f} kg.")
    return found


def state(one: dict[str, Any]) -> str:
    """`over, not released`."""
    return f"{one['verdict']}, {'released' if one['released'] else 'not released'}"


def measures(now: dict[str, Any], then: dict[str, Any]) -> list[str]:
    """Measures that came or went."""
    new, old = set(now["kit"]["fitted"]), set(then["kit"]["fitted"])
    titles = {one["name"]: one["title"] for one in (*then["measures"], *now["measures"])}
    fitted = [f"Fitted now: {titles.get(name, name)}." for name in sorted(new - old)]
    return fitted + [f"Left out now: {titles.get(name, name)}." for name in sorted(old - new)]


def values(now: dict[str, Any], then: dict[str, Any]) -> list[str]:
    """Values that differ; where many do, how many more."""
    new, old = now["values"], then["values"]
    found = [f"{path}: {old[path]} → {new[path]}." for path in new if path in old and new[path] != old[path]]
    came, went = [p for p in new if p not in old], [p for p in old if p not in new]
    found += [f"New below {where}: {count(n)} values." for where, n in grouped(came).items()]
    found += [f"Gone below {where}: {count(n)} values." for where, n in grouped(went).items()]
    rest = len(found) - MOST_VALUES
    return found if rest <= 0 else [*found[:MOST_VALUES], f"… and {rest} further values."]


def grouped(paths: list[str]) -> dict[str, int]:
    """First two keys of a path → how many paths."""
    found: dict[str, int] = {}
    for path in paths:
        where = ".".join(path.split(".")[:2])
        found[where] = found.get(where, 0) + 1
    return found


def limits(now: dict[str, Any], then: dict[str, Any], units: ReaderUnits) -> list[str]:
    """Limits that came, went, changed state, or whose margin moved; each part in the duty that moved most."""
    new = {(one["part"], one["duty"]): one for one in now["limits"]}
    old = {(one["part"], one["duty"]): one for one in then["limits"]}
    found = [
        f"Judged now: {one['title']}, {one['duty_title']}." for key, one in new.items() if key not in old
    ]
    found += [
        f"No longer judged: {one['title']}, {one['duty_title']}."
        for key, one in old.items()
        if key not in new
    ]
    moved: dict[str, tuple[float, str]] = {}
    for key, one in new.items():
        if key not in old:
            continue
        change = one["margin_K"] - old[key]["margin_K"]
        turned = one["state"] != old[key]["state"]
        if abs(change) < LEAST and not turned:
            continue
        before = units.difference(old[key]["margin_K"])
        states = f", {old[key]['state']} → {one['state']}" if turned else ""
        text = f"{one['title']}, {one['duty_title']}: margin {before} → {units.difference(one['margin_K'])}{states}."
        weight = abs(change) + (1000.0 if turned else 0.0)
        if weight > moved.get(one["part"], (0.0, ""))[0]:
            moved[one["part"]] = (weight, text)
    return found + [text for _, text in sorted(moved.values(), reverse=True)]


def files(now: dict[str, Any], then: dict[str, Any]) -> list[str]:
    """Input files that differ."""
    return [f"Input {what}." for what in file_changes(now["inputs"], then["inputs"])]


def file_changes(now: list[dict[str, Any]], then: list[dict[str, Any]]) -> list[str]:
    """`car.yaml changed`, `logs/run.csv is gone`, `deviations.yaml is new`."""
    new = {one["file"]: one["sha256"] for one in now}
    old = {one["file"]: one["sha256"] for one in then}
    found = [f"{name} changed" for name in new if name in old and new[name] != old[name]]
    found += [f"{name} is new" for name in new if name not in old]
    return found + [f"{name} is gone" for name in old if name not in new]


def versions(now: dict[str, Any], then: dict[str, Any]) -> list[str]:
    """Programs that differ."""
    return [
        f"Computed with {name} {now['versions'].get(name)}, before {old}."
        for name, old in then["versions"].items()
        if now["versions"].get(name) != old
    ]
