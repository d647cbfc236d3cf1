"""Duties."""

from itertools import pairwise

from heatproof.kit.findings import Findings, Where
from heatproof.kit.records.duty import Cruise, Duty, Grade, Lap, Pulls, Stretch, Trace
from heatproof.kit.tree import Mapping, Node, Sequence


def check_duty(duty: Duty, tree: Mapping, gears: int = 0) -> Findings:
    """What does not fit in one duty; `gears` is the number of gears of the car, 0 where unknown."""
    findings = Findings()
    drive = duty.drive
    if isinstance(drive, Pulls) and drive.to_speed <= drive.from_speed:
        findings.error(
            "pulls must end at a higher engine speed than they start",
            place(tree, "drive.to_speed"),
            next_step="correct from_speed or to_speed",
            code="duty.pulls",
        )
    if isinstance(drive, Pulls | Cruise | Grade) and drive.gear is not None and 0 < gears < drive.gear:
        findings.error(
            "the car has no such gear",
            place(tree, "drive.gear"),
            got=str(drive.gear),
            allowed=f"1 to {gears}",
            next_step="correct the gear",
            code="duty.gear",
        )
    if isinstance(drive, Lap):
        _lap(drive, tree, findings)
    if isinstance(drive, Trace):
        _trace(drive, tree, findings)
    return findings


def place(tree: Mapping, path: str) -> Where:
    """Where a dotted path stands in a duty file."""
    node: Node = tree
    line = tree.line
    for key in path.split("."):
        if isinstance(node, Mapping) and key in node.entries:
            line, node = node.keys[key].line, node.entries[key]
        elif isinstance(node, Sequence) and key.isdigit() and int(key) < len(node.items):
            node = node.items[int(key)]
            line = node.line
    return Where(tree.file, line, path)


def _lap(drive: Lap, tree: Mapping, findings: Findings) -> None:
    for i, stretch in enumerate(drive.lap):
        if not _is_one(stretch):
            findings.error(
                "a stretch is either straight, or a corner with radius and length",
                place(tree, f"drive.lap.{i}"),
                next_step="write {straight: 200 m} or {radius: 40 m, length: 60 m}",
                code="duty.stretch",
            )
    if not drive.lap:
        findings.error(
            "the lap is empty", place(tree, "drive.lap"), next_step="add stretches", code="duty.lap"
        )


def _is_one(stretch: Stretch) -> bool:
    corner = stretch.radius is not None and stretch.length is not None
    any_corner = stretch.radius is not None or stretch.length is not None
    return corner if stretch.straight is None else not any_corner


def _trace(drive: Trace, tree: Mapping, findings: Findings) -> None:
    if len(drive.time) < 2:
        if drive.file is None:
            findings.error(
                "trace holds no time",
                place(tree, "drive"),
                next_step="add time: […] and speed: […], or file: …",
                code="trace.empty",
            )
        return
    for key in ("speed", "grade", "engine_speed", "power"):
        column = getattr(drive, key)
        if len(column) != len(drive.time) and (column or key == "speed"):
            findings.error(
                f"{key} and time differ in length",
                place(tree, f"drive.{key}"),
                got=f"{len(column)} against {len(drive.time)}",
                next_step="give one value for each time",
                code="trace.length",
            )
    for i, (a, b) in enumerate(pairwise(drive.time), start=1):
        if b <= a:
            findings.error(
                "time runs back",
                place(tree, f"drive.time.{i}"),
                got=f"{b:g} s after {a:g} s",
                allowed="times that rise",
                next_step="sort the points or remove the repeated ones",
                code="trace.time",
            )
            break
