"""Names and units of the columns of a text log, from its header."""

from collections import Counter

from heatproof.logs.reading.cells import split_cells
from heatproof.logs.reading.records import LogFinding


def column_names(
    lines: list[str], header: int | None, delimiter: str, width: int, where: str
) -> tuple[tuple[str, ...], list[LogFinding]]:
    """A name for each of `width` fields, each once, and what was guessed."""
    if header is None:
        note = LogFinding(
            "warning",
            "no header row: columns are numbered",
            f"{where}:1",
            next_step="name them in the channel map",
        )
        return tuple(f"column {n + 1}" for n in range(width)), [note]
    names = split_cells(lines[header], delimiter)
    findings = []
    if len(names) > width:
        extra = [n for n in names[width:] if n]
        names = names[:width]
        if extra:
            findings.append(
                LogFinding(
                    "warning",
                    "text behind the last header cell kept as a note",
                    f"{where}:{header + 1}",
                    extra[0][:80],
                )
            )
    if len(names) < width:
        findings.append(
            LogFinding(
                "warning",
                f"header names {len(names)} of {width} columns, the rest are numbered",
                f"{where}:{header + 1}",
            )
        )
    names += [f"column {n + 1}" for n in range(len(names), width)]
    names = [name or f"column {n + 1}" for n, name in enumerate(names)]
    return unique(names, findings, f"{where}:{header + 1}"), findings


def unique(names: list[str], findings: list[LogFinding], where: str) -> tuple[str, ...]:
    seen: Counter[str] = Counter()
    taken = set(names)
    out = []
    for name in names:
        seen[name] += 1
        if seen[name] > 1:
            number = seen[name]
            while f"{name} #{number}" in taken:
                number += 1
            findings.append(
                LogFinding("warning", "column name given twice", where, f"{name!r} again, called #{number}")
            )
            name = f"{name} #{number}"
            taken.add(name)
        out.append(name)
    return tuple(out)


def column_units(lines: list[str], units_line: int | None, delimiter: str, width: int) -> tuple[str, ...]:
    """A unit for each field; empty where there is no line of units."""
    if units_line is None:
        return ("",) * width
    cells = split_cells(lines[units_line], delimiter)
    return tuple((cells + [""] * width)[:width])
