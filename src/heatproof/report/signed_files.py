"""Two small files beside a project: `deviations.yaml`, what somebody signed for, and `tested.yaml`, what was measured.

Neither changes a prediction, so neither belongs to what a stored result depends on; a release counts both among
its inputs.
"""

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal

from heatproof.kit.convert import Reader
from heatproof.kit.findings import Findings, Where, unknown
from heatproof.kit.project import Project
from heatproof.kit.records.base import Record
from heatproof.kit.tree import Mapping, Sequence, parse_tree, read_source
from heatproof.units.quantity import Quantity, Text
from heatproof.units.si import degC

DEVIATIONS, TESTED = "deviations.yaml", "tested.yaml"


class Deviation(Record):
    """One limit that is passed, or may be, and that somebody answers for."""

    part: Annotated[str, Text("Part, by its key as `check --json` prints it")]
    duty: Annotated[str, Text("Duty, by its file's name; every duty where left out")] = ""
    margin: Annotated[
        float,
        Quantity(
            "K", -2000.0, 0.0, "Worst margin accepted; the deviation ends where it is worse", "difference"
        ),
    ]
    revision: Annotated[str, Text("Revision of the kit it was signed for")]
    who: Annotated[str, Text("Name and office of the one who signed")]
    when: Annotated[str, Text("Day it was signed, YYYY-MM-DD")]
    why: Annotated[str, Text("Reason, and what keeps it safe")]


class Deviations(Record):
    """`deviations.yaml`."""

    format: Annotated[Literal["heatproof deviations 1"], Text("What the file is")]
    deviations: Annotated[tuple[Deviation, ...], Text("What was signed for")] = ()


class Tested(Record):
    """One measured peak."""

    part: Annotated[str, Text("Part, by its key as `check --json` prints it, or a name of its own")]
    duty: Annotated[str, Text("Duty, by its file's name")]
    log: Annotated[str, Text("File below logs/")]
    peak: Annotated[
        float, Quantity("degC", degC(-60), degC(1400), "Highest temperature measured", "temperature")
    ]
    limit: Annotated[
        float | None,
        Quantity(
            "degC", degC(-40), degC(1400), "Limit of a part that the model does not have", "temperature"
        ),
    ] = None
    when: Annotated[str, Text("Day of the run, YYYY-MM-DD")]
    note: Annotated[str, Text("Where the sensor sat, what was odd")] = ""


class TestedFile(Record):
    """`tested.yaml`."""

    format: Annotated[Literal["heatproof tested 1"], Text("What the file is")]
    tests: Annotated[tuple[Tested, ...], Text("What was measured")] = ()


def read_deviations(project: Project, parts: Iterable[str]) -> tuple[Deviation, ...]:
    """What is signed for; empty where there is no file. Refused where an entry cannot be used."""
    findings = Findings()
    found = _read(project.folder, DEVIATIONS, Deviations, "deviations", findings)
    known = list(parts)
    for one, place in found:
        _check_day(one.when, place, findings)
        _check_name("part", one.part, known, place, findings)
        if one.duty:
            _check_name("duty", one.duty, project.duties, place, findings)
        for name in ("who", "why", "revision"):
            if not getattr(one, name).strip():
                findings.error(
                    f"{name} is empty", place, next_step="a deviation needs who, when, why and revision"
                )
    findings.refuse_errors()
    return tuple(one for one, _ in found)


def read_tested(project: Project, parts: Iterable[str]) -> tuple[Tested, ...]:
    """What was measured; empty where there is no file. Refused where an entry cannot be used."""
    findings = Findings()
    found = _read(project.folder, TESTED, TestedFile, "tests", findings)
    known = list(parts)
    for one, place in found:
        _check_day(one.when, place, findings)
        _check_name("duty", one.duty, project.duties, place, findings)
        if one.limit is None:
            _check_name("part", one.part, known, place, findings)
        _check_log(project.folder, one.log, place, findings)
    findings.refuse_errors()
    return tuple(one for one, _ in found)


def _read(
    folder: Path, name: str, kind: type[Record], key: str, findings: Findings
) -> list[tuple[Any, Where]]:
    """Entries, each with its place in the file."""
    if not (folder / name).exists():
        return []
    tree = parse_tree(read_source(folder / name, folder), findings)
    record = Reader(findings).record((kind,), tree, "") if tree is not None else None
    findings.refuse_errors()
    listed_ = tree.entries.get(key) if isinstance(tree, Mapping) else None
    lines = [item.line for item in listed_.items] if isinstance(listed_, Sequence) else []
    return [(one, Where(name, lines[k], f"{key}.{k}")) for k, one in enumerate(getattr(record, key))]


def _check_day(text: str, place: Where, findings: Findings) -> None:
    try:
        date.fromisoformat(text)
    except ValueError:
        findings.error("no date", place, got=text, allowed="YYYY-MM-DD", next_step="write when: 2026-01-31")


def _check_name(what: str, name: str, known: Iterable[str], place: Where, findings: Findings) -> None:
    names = list(known)
    if name not in names:
        findings.append(
            unknown(
                f"unknown {what} {name!r}",
                name,
                names,
                place,
                next_step="correct the name; `check --json` prints them",
            )
        )


def _check_log(folder: Path, name: str, place: Where, findings: Findings) -> None:
    logs = folder / "logs"
    if not _is_log(logs, name):
        there = [p.name for p in sorted(logs.glob("*")) if p.is_file()] if logs.is_dir() else []
        findings.append(
            unknown(
                f"no log {name[:100]!r} below logs/",
                name,
                there,
                place,
                next_step="put the log there: evidence that cannot be read again is none",
            )
        )


def _is_log(logs: Path, name: str) -> bool:
    try:
        path = (logs / name).resolve()
        return path.is_relative_to(logs.resolve()) and path.is_file()
    except (OSError, ValueError, RuntimeError):  # no name a file can have, links in a circle
        return False
