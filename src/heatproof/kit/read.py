"""Project folder → Project. Everything that is wrong is gathered before anything is refused.

A duty's speed trace may stand in a CSV file: a header `time [s],speed [km/h]`, then rows.
"""

import csv
import os
import re
from collections.abc import Mapping as Mapped
from contextlib import suppress
from pathlib import Path

from heatproof._files import finish_writing, tidy_once
from heatproof._visible import visible
from heatproof.kit.checks.duty import check_duty
from heatproof.kit.convert import Reader
from heatproof.kit.fields import fields_of
from heatproof.kit.findings import Finding, Findings, Refused, Where, listed, nearest, unknown
from heatproof.kit.left_over import left_over
from heatproof.kit.project import KIT, Document, Project
from heatproof.kit.records.duty import Duty, Trace
from heatproof.kit.records.measure import KitHead
from heatproof.kit.records.variant import CarFile, KitFile
from heatproof.kit.tree import Mapping, Scalar, Source, parse_tree, read_source
from heatproof.units.parse import read
from heatproof.units.quantity import Quantity, UnitError

# --- speed traces ---------------------------------------------------------------------------------------------
LARGEST = 20_000_000  # bytes
COLUMNS = {key: f.quantity for key, f in fields_of(Trace).items() if f.shape == "numbers"}
HEADER = re.compile(r"\s*([a-z_]+)\s*\[([^\]]+)\]\s*")

Columns = dict[str, tuple[float, ...]]


def trace_data(folder: Path, name: str, where: Where, findings: Findings) -> bytes | None:
    """Bytes of the file; None with a finding where it cannot be had."""
    try:
        path = (folder / name).resolve()
        if not path.is_relative_to(folder.resolve()):
            findings.error(
                "file lies outside the project folder",
                where,
                got=name,
                next_step="copy it into the project",
                code="file.outside",
            )
            return None
        if path.exists() and not path.is_file():
            findings.error(
                "not a file",
                where,
                got=name[:100],
                next_step="name the data file itself",
                code="file.unreadable",
            )
            return None
        data = path.read_bytes() if path.stat().st_size <= LARGEST else None
    except (OSError, ValueError, RuntimeError):  # no such file, no such name, links in a circle
        findings.error(
            "file is missing",
            where,
            got=name[:100],
            next_step="check the name; it is relative to the project",
            code="value.missing",
        )
        return None
    if data is None:
        findings.error(
            "file is too big",
            where,
            got=name,
            allowed=f"{LARGEST // 1_000_000} MB",
            next_step="thin it out",
            code="file.size",
        )
    return data


def trace_columns(data: bytes, name: str, where: Where, findings: Findings) -> Columns:
    """Field name to SI values; empty with findings where they cannot be used."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        findings.error(
            "file is not UTF-8 text", where, got=name, next_step="save it as UTF-8", code="file.encoding"
        )
        return {}
    own = Findings()
    columns = _columns(_cells(text, name, own), name, own)
    findings.extend(own)
    return columns


def _cells(text: str, name: str, findings: Findings) -> list[list[str]]:
    """Rows of cells, up to what no table of numbers holds."""
    reader = csv.reader(text.splitlines())
    rows: list[list[str]] = []
    try:
        rows.extend(reader)
    except csv.Error as error:  # an endless cell
        where = Where(name, reader.line_num)
        findings.error(
            "row is not a row of cells",
            where,
            got=str(error),
            next_step="look for a stray quote",
            code="trace.row",
        )
    return rows


def _columns(rows: list[list[str]], name: str, findings: Findings) -> Columns:
    header = rows[0] if rows else []
    wanted = [_column(title, name, findings) for title in header]
    keys = [column[0] for column in wanted if column]
    for key in ("time", "speed"):
        if key not in keys:
            findings.error(
                f"column {key!r} is missing",
                Where(name, 1),
                next_step="e.g. time [s],speed [km/h]",
                code="value.missing",
            )
    if len(set(keys)) != len(keys):
        got = ",".join(header)[:80]
        findings.error(
            "a column is given twice",
            Where(name, 1),
            got=got,
            next_step="keep one of the two",
            code="trace.column",
        )
    if findings.errors:
        return {}
    values: dict[str, list[float]] = {key: [] for key in keys}
    for line, row in enumerate(rows[1:], start=2):
        if row and not _read_row(row, wanted, values, Where(name, line), findings):
            return {}
    return {key: tuple(column) for key, column in values.items()}


def _column(title: str, name: str, findings: Findings) -> tuple[str, str] | None:
    match = HEADER.fullmatch(title)
    if match is None or match[1] not in COLUMNS:
        known = listed(f"{key} [{quantity.unit}]" for key, quantity in COLUMNS.items())
        near = nearest(title.split("[")[0].strip(), COLUMNS)
        findings.error(
            "column is not known",
            Where(name, 1),
            got=title[:60],
            allowed=known,
            nearest=f"{near} [{COLUMNS[near].unit}]" if near else "",
            next_step="write name [unit]",
            code="trace.column",
        )
        return None
    return match[1], match[2]


def _read_row(
    row: list[str],
    wanted: list[tuple[str, str] | None],
    values: dict[str, list[float]],
    where: Where,
    findings: Findings,
) -> bool:
    if len(row) != len(wanted):
        findings.error(
            "row has another number of columns than the header",
            where,
            got=",".join(row)[:80],
            allowed=f"{len(wanted)} columns",
            next_step="mend or remove the row",
            code="trace.row",
        )
        return False
    for text, column in zip(row, wanted, strict=True):
        if column is None:
            continue
        key, unit = column
        try:
            values[key].append(_read_cell(text, unit, COLUMNS[key]))
        except UnitError as error:
            findings.error(
                error.what,
                Where(where.file, where.line, key),
                got=text[:60],
                allowed=error.allowed,
                next_step=error.next_step or f"write a number of {unit}",
                amounts=error.amounts,
                code="value.unreadable",
            )
            return False
    time = values["time"]
    if len(time) > 1 and time[-1] <= time[-2]:
        findings.error(
            "time runs back",
            Where(where.file, where.line, "time"),
            got=f"{time[-1]:g} s after {time[-2]:g} s",
            allowed="time that rises from row to row",
            next_step="sort the rows or remove the repeated ones",
            code="trace.time",
        )
        return False
    return True


def _read_cell(text: str, unit: str, quantity: Quantity) -> float:
    return read(f"{text.strip()} {unit}", quantity)


# --- a project ------------------------------------------------------------------------------------------------
MOST_DUTIES = 200
Files = Mapped[str, Source]


def read_project(
    folder: str | Path, *, kit: str | Source = KIT, files: Files | None = None, strict: bool = True
) -> Project:
    """Reads `car.yaml`, `kit.yaml` (may be missing) and `duties/*.yaml`.

    kit: another kit file of the folder, such as `kit-corrected-1.yaml` (must be there), or the text of one.
    files: `Project.files` of an earlier reading, edited or not: read in place of those on disk.
    Refused with all findings where there is an error; with `strict=False` the project comes back as far as it
    can be read, with its findings.
    """
    root = Path(folder)
    if not root.is_dir():
        raise Refused(
            [
                Finding(
                    "error",
                    "no such project folder",
                    Where(str(root)),
                    next_step="check the path",
                    code="folder.missing",
                )
            ]
        )
    if files is None:
        _finish_writing(root)
    project = Project(root, {}, None, None, KitHead(name="none"), {}, {})
    project.car = _document(project, root / "car.yaml", files)
    project.kit = _kit(project, kit, files)
    _read_heads(project)
    _read_duties(project, files)
    _check_variants(project)
    if (left := left_over(project)) is not None:
        project.findings.append(left.finding)
    project.findings[:] = list(dict.fromkeys(project.findings))
    if strict:
        project.findings.refuse_errors()
    return project


def _finish_writing(root: Path) -> None:
    with suppress(OSError):  # what cannot be written is read as it is
        finish_writing(root)
        for room in (root, root / "duties"):
            tidy_once(room)


def _kit(project: Project, kit: str | Source, files: Files | None) -> Document | None:
    """The kit's file or text; None where a project has none."""
    if isinstance(kit, Source):
        return _parsed(project, kit)
    path = project.folder / kit
    if path.exists() if files is None else kit in files:
        return _document(project, path, files)
    if kit != KIT:
        there = [path_there.name for path_there in sorted(project.folder.glob("kit*.yaml"))]
        project.findings.append(
            unknown(
                "no such kit file",
                kit,
                there,
                Where(kit),
                next_step="name a kit file of the project folder",
                code="file.kit",
            )
        )
    return None


def _document(project: Project, path: Path, files: Files | None) -> Document | None:
    given = None if files is None else files.get(os.path.relpath(path, project.folder))
    try:
        source = given or read_source(path, project.folder)
    except Refused as refused:
        project.findings.extend(refused.findings)
        return None
    return _parsed(project, source)


def _parsed(project: Project, source: Source) -> Document | None:
    project.files[source.name] = source
    tree = parse_tree(source, project.findings)
    return Document(source, tree) if tree is not None else None


def _read_heads(project: Project) -> None:
    """Heads of both files, the car by itself, and the measures."""
    if project.car is not None:
        Reader(project.findings, memory=project.memory).record((CarFile,), project.car.tree, "")
    if project.kit is None:
        return
    money = project.kit.tree.entries.get("currency")
    currency = money.text if isinstance(money, Scalar) else "EUR"
    reader = Reader(project.findings, currency=currency)
    kit = reader.record((KitFile,), project.kit.tree, "")
    if not isinstance(kit, KitFile):
        return
    project.head = KitHead(**{name: getattr(kit, name) for name in KitHead.model_fields})
    project.measures = kit.measures
    _check_measures(project)


def _check_measures(project: Project) -> None:
    for name, measure in project.measures.items():
        named = [("needs", other) for other in measure.needs] + [
            ("excludes", other) for other in measure.excludes
        ]
        for key, other in named:
            if other not in project.measures:
                project.findings.append(
                    unknown(
                        f"unknown measure {other!r}",
                        other,
                        project.measures,
                        project.where_measure(name, key),
                        code="measure.unknown",
                    )
                )


def _duty_paths(root: Path, files: Files | None) -> list[Path]:
    room = root / "duties"
    if files is None:
        return sorted(room.glob("*.yaml"))
    return sorted(root / name for name in files if (root / name).parent == room and name.endswith(".yaml"))


def _read_duties(project: Project, files: Files | None) -> None:
    paths = _duty_paths(project.folder, files)
    if not paths:
        project.findings.error(
            "no duty to check",
            Where("duties"),
            allowed="duties/*.yaml",
            next_step="add a duty file",
            code="duty.none",
        )
    if len(paths) > MOST_DUTIES:
        project.findings.error(
            "too many duties",
            Where("duties"),
            got=f"{len(paths)}",
            allowed=f"{MOST_DUTIES}",
            code="duty.too_many",
        )
    names: dict[str, Where] = {}
    for path in paths[:MOST_DUTIES]:
        if visible(path.name) != path.name:
            project.findings.error(
                "a duty's file name holds characters that do not show",
                Where("duties"),
                got=visible(path.name),
                next_step="rename the file in plain letters",
                code="file.name",
            )
            continue
        duty = read_duty(project, path, files)
        if duty is None:
            continue
        place = Where(f"duties/{path.name}", 0, "name")
        if duty.name in names:
            project.findings.error(
                f"duty name {duty.name!r} is given twice",
                place,
                got=f"also in {names[duty.name].file}",
                next_step="give each duty its own name",
                code="duty.name_twice",
            )
        names[duty.name] = place
        project.duties[path.stem] = duty


def read_duty(project: Project, path: Path, files: Files | None = None) -> Duty | None:
    """One duty, its trace file read in; findings go to the project. files: as in `read_project`."""
    document = _document(project, path, files)
    if document is None:
        return None
    before = len(project.findings.errors)
    duty = Reader(project.findings).record((Duty,), document.tree, "")
    if not isinstance(duty, Duty):
        return None
    if isinstance(duty.drive, Trace) and duty.drive.file is not None:
        duty = _with_file(project, duty, duty.drive, document, files or {})
    gears = _gears(project)
    project.findings.extend(check_duty(duty, document.tree, gears))
    return duty if len(project.findings.errors) == before else None


def _gears(project: Project) -> int:
    """Number of gears of the car, 0 where that is not known."""
    vehicle = project.car.tree.entries.get("vehicle") if project.car else None
    ratios = vehicle.entries.get("gear_ratios") if isinstance(vehicle, Mapping) else None
    return len(getattr(ratios, "items", ())) if ratios is not None and not isinstance(ratios, Mapping) else 0


def _with_file(project: Project, duty: Duty, trace: Trace, document: Document, files: Files) -> Duty:
    drive = document.tree.entries["drive"]
    named = drive.entries["file"] if isinstance(drive, Mapping) else document.tree
    where = Where(document.source.name, named.line, "drive.file")
    name = str(trace.file)
    data = files[name].data if name in files else trace_data(project.folder, name, where, project.findings)
    columns = trace_columns(data, name, where, project.findings) if data is not None else {}
    if data:
        project.files[name] = Source(name, "", data)
    return duty.model_copy(update={"drive": trace.model_copy(update=columns)})


def _check_variants(project: Project) -> None:
    """The car alone, the kit as it stands, and each measure in a set it can stand in."""
    if project.car is None or project.findings.errors:
        return
    project._built(project._car_tree(), (), "car", KitHead(name="none"), project.findings)
    if project.kit is None or project.findings.errors:
        return
    project.try_variant(None, project.findings)
    if project.findings.errors:
        return
    for name in project.measures:
        if name not in project.fitted:
            project.try_variant(project.companions(name), project.findings)
