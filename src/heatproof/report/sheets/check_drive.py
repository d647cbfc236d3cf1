"""The drive after fitting: what to read, and at what figure to stop."""

from collections.abc import Iterator

from heatproof.kit.records.duty import Duty
from heatproof.report.blocks import Block, Bullets, Heading, Para, table
from heatproof.report.evidence import Limit, left
from heatproof.report.gathered import Gathered
from heatproof.verdict.judged import judged
from heatproof.verdict.words import clock, minutes, within

MOST = 8
GENTLE = ("street", "commute", "road", "town")


def check_drive(found: Gathered) -> Iterator[Block]:
    """Duty, then points to read with expected, pass and stop."""
    units = found.units
    key = gentlest(found)
    duty = found.project.duties[key]
    facts = next(d for d in found.verdict.duties if d.key == key)
    rows = [row_of(one, found) for one in readable(found, key)]
    if not rows:
        return
    yield Heading("Check drive")
    stop = (
        f", key-off at {clock(facts.key_off)}, then {minutes(facts.duration - facts.key_off)} parked"
        if facts.stops
        else ""
    )
    yield Para(
        f"{duty.name}, on a day of up to {units.temperature(facts.ambient)}: {within(duty.note) or 'as in its file'} "
        f"In all {minutes(facts.duration)}{stop}. On a closed or lawful road, by two people: one drives, one reads."
    )
    yield table(
        (
            ("Point", "left", 2.4),
            ("Expected at most", "right", 1.2),
            ("Pass up to", "right", 1.1),
            ("Stop at", "right", 1.0),
            ("Read", "right", 0.9),
            ("Pass?", "left", 0.7),
        ),
        rows,
        note=f"Expected and pass figures are for {units.temperature(facts.ambient)}: take away {units.difference(1.0).lstrip('+')} for each "
        f"{units.difference(1.0).lstrip('+')} the day is cooler (common practice, no source). Stop figures never change.",
    )
    yield Bullets(
        (
            "Before: leak check cold, nothing touching, hand clear of the fan with the key out of reach of others.",
            "Stop at once: any stop figure, smell of oil or coolant, smoke, soft brake pedal.",
            "After: look at every hose, sleeve and wire near the turbo before the bonnet is shut; look again the next day, cold.",
        )
    )


def gentlest(found: Gathered) -> str:
    """A road duty with full load in it that is over soon; else the shortest of all."""
    facts = {one.key: one for one in found.verdict.duties}
    duties: dict[str, Duty] = found.project.duties
    road = [key for key, duty in duties.items() if duty.use in GENTLE] or list(duties)
    most = max(facts[key].power for key in road)
    loaded = [key for key in road if facts[key].power >= 0.5 * most]
    return min(loaded, key=lambda key: facts[key].duration)


def readable(found: Gathered, key: str) -> list[Limit]:
    """Limits of that duty with least left."""
    own = [
        one
        for one in found.limits
        if one.duty == key and one.row is not None and one.row.found.rule != "boiling"
    ]
    return sorted(own, key=left)[:MOST]


def row_of(one: Limit, found: Gathered) -> tuple[str, ...]:
    """Expected peak, expected plus spread (never above the limit), limit."""
    assert one.row is not None
    units, peak = found.units, one.row.found.peak
    stop = stop_at(one, found)
    passed = min(peak + max(one.row.half or 0.0, 3.0), stop)
    return (one.title, units.temperature(peak), units.temperature(passed), units.temperature(stop), "", "")


def stop_at(one: Limit, found: Gathered) -> float:
    """K: the limit that must not be passed even briefly."""
    limits = {part.part: part.limit for part in judged(found.variant)}
    limit = limits[one.part]
    return limit.short or limit.continuous or one.limit
