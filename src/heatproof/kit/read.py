"""Project folder → Project. Everything that is wrong is gathered before anything is refused."""

from contextlib import suppress
from pathlib import Path

from heatproof.kit.checks.duty import check_duty
from heatproof.kit.convert import Reader
from heatproof.kit.files import finish_writing, tidy_once
from heatproof.kit.findings import Finding, Refused, unknown
from heatproof.kit.project import KIT, Document, Project
from heatproof.kit.records.duty import Duty, Trace
from heatproof.kit.records.measure import KitHead
from heatproof.kit.records.variant import CarFile, KitFile, Where
from heatproof.kit.traces import read_trace
from heatproof.kit.tree import Mapping, Scalar, Source, parse_tree, read_source

MOST_DUTIES = 200


def read_project(folder: str | Path, *, kit: str | Source = KIT, strict: bool = True) -> Project:
    """Reads `car.yaml`, `kit.yaml` (may be missing) and `duties/*.yaml`.

    kit: another kit file of the folder, such as `kit-corrected-1.yaml` (must be there), or the text of one.
    Refused with all findings where there is an error; with `strict=False` the project comes back as far as it
    can be read, with its findings.
    """
    root = Path(folder)
    if not root.is_dir():
        raise Refused(
            [Finding("error", "no such project folder", Where(str(root)), next_step="check the path")]
        )
    with suppress(OSError):  # what cannot be written is read as it is
        finish_writing(root)
        for room in (root, root / "duties"):
            tidy_once(room)
    project = Project(root, {}, None, None, KitHead(name="none"), {}, {})
    project.car = _document(project, root / "car.yaml")
    project.kit = _kit(project, kit)
    _read_heads(project)
    _read_duties(project)
    _check_variants(project)
    project.findings[:] = list(dict.fromkeys(project.findings))
    if strict:
        project.findings.refuse_errors()
    return project


def _kit(project: Project, kit: str | Source) -> Document | None:
    """The kit's file or text; None where a project has none."""
    if isinstance(kit, Source):
        return _parsed(project, kit)
    path = project.folder / kit
    if path.exists():
        return _document(project, path)
    if kit != KIT:
        there = [found.name for found in sorted(project.folder.glob("kit*.yaml"))]
        project.findings.append(
            unknown(
                "no such kit file", kit, there, Where(kit), next_step="name a kit file of the project folder"
            )
        )
    return None


def _document(project: Project, path: Path) -> Document | None:
    try:
        source = read_source(path, project.folder)
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
                    )
                )


def _read_duties(project: Project) -> None:
    paths = sorted((project.folder / "duties").glob("*.yaml"))
    if not paths:
        project.findings.error(
            "no duty to check", Where("duties"), allowed="duties/*.yaml", next_step="add a duty file"
        )
    if len(paths) > MOST_DUTIES:
        project.findings.error(
            "too many duties", Where("duties"), got=f"{len(paths)}", allowed=f"{MOST_DUTIES}"
        )
    names: dict[str, Where] = {}
    for path in paths[:MOST_DUTIES]:
        duty = read_duty(project, path)
        if duty is None:
            continue
        place = Where(f"duties/{path.name}", 0, "name")
        if duty.name in names:
            project.findings.error(
                f"duty name {duty.name!r} is given twice",
                place,
                got=f"also in {names[duty.name].file}",
                next_step="give each duty its own name",
            )
        names[duty.name] = place
        project.duties[path.stem] = duty


def read_duty(project: Project, path: Path) -> Duty | None:
    """One duty, its trace file read in; findings go to the project."""
    document = _document(project, path)
    if document is None:
        return None
    before = len(project.findings.errors)
    duty = Reader(project.findings).record((Duty,), document.tree, "")
    if not isinstance(duty, Duty):
        return None
    if isinstance(duty.drive, Trace) and duty.drive.file is not None:
        duty = _with_file(project, duty, duty.drive, document)
    gears = _gears(project)
    project.findings.extend(check_duty(duty, document.tree, gears))
    return duty if len(project.findings.errors) == before else None


def _gears(project: Project) -> int:
    """Number of gears of the car, 0 where that is not known."""
    vehicle = project.car.tree.entries.get("vehicle") if project.car else None
    ratios = vehicle.entries.get("gear_ratios") if isinstance(vehicle, Mapping) else None
    return len(getattr(ratios, "items", ())) if ratios is not None and not isinstance(ratios, Mapping) else 0


def _with_file(project: Project, duty: Duty, trace: Trace, document: Document) -> Duty:
    drive = document.tree.entries["drive"]
    named = drive.entries["file"] if isinstance(drive, Mapping) else document.tree
    where = Where(document.source.name, named.line, "drive.file")
    columns, data = read_trace(project.folder, str(trace.file), where, project.findings)
    if data:
        project.files[str(trace.file)] = Source(str(trace.file), "", data)
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
