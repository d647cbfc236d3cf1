"""The papers of a release: made from the saved files as long work, listed, and given out from `releases/`."""

import re
from contextlib import suppress
from pathlib import Path
from typing import Any

from heatproof._files import finish_writing
from heatproof.kit.findings import Finding, Refused, Where, listed
from heatproof.kit.project import Project
from heatproof.numerics.at_once import Progress
from heatproof.report.gathered import input_files
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.record_shape import parsed_record
from heatproof.report.release import FOLDER, build, write
from heatproof.report.release_doc import headline
from heatproof.report.sheets.build import READERS, sheets
from heatproof.report.sheets.build import write as write_sheets
from heatproof.report.signed_files import read_tested

KINDS = {".pdf": "application/pdf", ".html": "text/html", ".json": "application/json"}
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,120}")
MOST_KEPT = 60


def make_release(
    project: Project, fitted: tuple[str, ...], options: dict[str, Any], tell: Progress
) -> dict[str, Any]:
    """PDF, HTML and record in `releases/`; what the paper says and what blocks it. A job of the page."""
    units = ReaderUnits("us" if options.get("units") == "us" else "metric")
    built = build(
        project, fitted, units=units, with_rating=bool(options.get("rating", True)), jobs=1, progress=tell
    )
    paths = write(built, project.folder / FOLDER)
    if options.get("sheets"):
        tell(0, 0, "sheets")
        tolerance = bool(options.get("tolerance"))
        made = sheets(built.gathered, with_tolerance=tolerance, jobs=1, progress=tell)
        paths += write_sheets(made, project.folder / FOLDER)
    title, text, mark = headline(built.gathered)
    return {
        "released": built.released,
        "title": title,
        "text": text,
        "mark": mark,
        "files": [path.name for path in paths],
        "fingerprint": built.fingerprint,
        "blocks": [
            f"{one.title}, {one.duty_title}: {units.margin(one.margin, None)}; {one.unsigned}"
            for one in built.gathered.blocks
        ],
        "changes": list(built.changes.items)[:40] if built.changes is not None else [],
        "against": built.changes.earlier if built.changes is not None else "",
    }


def papers_view(project: Project) -> list[dict[str, Any]]:
    """Papers made so far, newest first: files, and whether they are of the files as they stand."""
    room = project.folder / FOLDER
    if not room.is_dir() or room.is_symlink():
        return []
    with suppress(OSError):
        finish_writing(room)  # papers that a killed program had begun to put in place
    now = present_inputs(project)
    found = [paper_view(path, now) for path in room.glob("*.json") if path.is_file()]
    kept = [one for one in found if one is not None]
    return sorted(kept, key=lambda one: -one["made"])[:MOST_KEPT]


def sheets_view(project: Project) -> list[dict[str, Any]]:
    """Sheets made so far: reader, files, and whether a file of the project is newer."""
    room = project.folder / FOLDER
    if not room.is_dir() or room.is_symlink():
        return []
    newest = max(
        (path.stat().st_mtime for name in project.files if (path := project.folder / name).is_file()),
        default=0.0,
    )
    found = []
    for path in sorted(room.glob("sheet-*.pdf"), key=lambda p: (-p.stat().st_mtime, p.name))[:MOST_KEPT]:
        reader = next((one for one in READERS if path.name.startswith(f"sheet-{one}-")), "")
        beside = [p for p in (path, path.with_suffix(".html")) if p.is_file()]
        files = [{"name": p.name, "kind": p.suffix[1:], "bytes": p.stat().st_size} for p in beside]
        found.append(
            {"reader": reader, "name": path.stem, "stale": path.stat().st_mtime < newest, "files": files}
        )
    return sorted(found, key=lambda one: READERS.index(one["reader"]) if one["reader"] in READERS else 99)


def present_inputs(project: Project) -> dict[str, str]:
    """File to fingerprint of everything a release depends on; without measured peaks where they cannot be read."""
    try:
        tested = read_tested(project, known_parts(project))
    except Refused:
        tested = ()
    return {one.name: one.sha256 for one in input_files(project, tested)}


def known_parts(project: Project) -> tuple[str, ...]:
    """Keys of everything judged in the variant as saved."""
    from heatproof.verdict.judged import judged

    return tuple(part.part for part in judged(project.variant()))


def paper_view(path: Path, now: dict[str, str]) -> dict[str, Any] | None:
    """One record and the papers beside it; None where it is no record."""
    try:
        record = parsed_record(path)
        inputs = {one["file"]: one["sha256"] for one in record["inputs"]}
        beside = [path.with_suffix(ending) for ending in KINDS]
        return {
            "name": path.stem,
            "revision": record["kit"]["revision"],
            "day": record["day"],
            "released": record["released"],
            "changed": sorted(n for n in inputs.keys() | now.keys() if inputs.get(n) != now.get(n)),
            "made": path.stat().st_mtime,
            "files": [
                {"name": p.name, "kind": p.suffix[1:], "bytes": p.stat().st_size}
                for p in beside
                if p.is_file()
            ],
        }
    except (OSError, Refused):
        return None


def paper_path(folder: Path, name: str) -> tuple[Path, str]:
    """A file in `releases/` by its bare name, and its media type. Refused for anything else."""
    path = folder / FOLDER / name
    known = NAME.fullmatch(name) and path.suffix in KINDS
    if not known or path.is_symlink() or path.parent.is_symlink() or not path.is_file():
        there = sorted(p.name for p in (folder / FOLDER).glob("*") if p.suffix in KINDS)
        raise Refused(
            [
                Finding(
                    "error",
                    "no such paper",
                    Where(FOLDER),
                    got=name[:80],
                    allowed=listed(there),
                    next_step="make the papers first",
                )
            ]
        )
    return path, KINDS[path.suffix]
