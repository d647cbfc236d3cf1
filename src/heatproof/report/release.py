"""The release: record, PDF and HTML of one variant, and whether an earlier record still holds."""

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from heatproof._files import write_together
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.left_over import left_over
from heatproof.kit.project import Project
from heatproof.numerics.at_once import Progress
from heatproof.report.changes import Changes, changes
from heatproof.report.gathered import Gathered, gather
from heatproof.report.html import html
from heatproof.report.pdf import pdf
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.record import record, text
from heatproof.report.record_shape import parsed_record
from heatproof.report.release_doc import document
from heatproof.report.verify import read_record

FOLDER = "releases"


@dataclass(frozen=True)
class Built:
    """A release not written yet. name: of its files, without their endings."""

    gathered: Gathered
    record: dict[str, Any]
    changes: Changes | None
    fingerprint: str
    name: str
    json: bytes
    html: bytes
    pdf: bytes

    @property
    def released(self) -> bool:
        """False where a limit is over without a signed deviation."""
        return self.gathered.released


def build(
    project: Project,
    measures: Iterable[str] | None = None,
    *,
    units: ReaderUnits | None = None,
    day: str = "",
    against: Path | None = None,
    fresh: bool = False,
    with_rating: bool = True,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Built:
    """measures: fitted ones (None: as the kit stands). against: earlier record; the newest in the project's
    `releases/` where left out. Raises Refused and DutyNotSolved; a limit that is over does not raise: see `released`.
    """
    check_day(day)
    refuse_left_overs(project)
    found = gather(
        project,
        measures,
        units=units,
        day=day,
        fresh=fresh,
        with_rating=with_rating,
        jobs=jobs,
        progress=progress,
    )
    plain = record(found)
    as_text = text(plain).encode()
    fingerprint = hashlib.sha256(as_text).hexdigest()
    earlier = read_record(against) if against is not None else previous(project.folder / FOLDER, plain)
    changed = changes(plain, earlier, found.units) if earlier is not None else None
    paper = document(found, changed, fingerprint)
    return Built(
        gathered=found,
        record=plain,
        changes=changed,
        fingerprint=fingerprint,
        name=file_name(found),
        json=as_text,
        html=html(paper).encode(),
        pdf=pdf(paper),
    )


def refuse_left_overs(project: Project) -> None:
    """Refused where values of a shipped example stand in a car of another name: nothing of them may be released."""
    left = left_over(project)
    if left is not None:
        said = left.finding
        raise Refused.of(said.what, said.where, got=said.got, next_step=said.next_step, code=said.code)


def write(built: Built, folder: Path) -> tuple[Path, ...]:
    """PDF, HTML and record in a folder: all three or none."""
    folder.mkdir(parents=True, exist_ok=True)
    kinds = ((".pdf", built.pdf), (".html", built.html), (".json", built.json))
    files = {f"{built.name}{ending}": data for ending, data in kinds}
    write_together(folder, files)
    return tuple(folder / name for name in files)


def file_name(found: Gathered) -> str:
    """`release-t1-kit-draft-7`; a paper that is none says `review`."""
    head = found.variant.head
    words = f"{'release' if found.released else 'review'} {head.name} {head.revision}"
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def previous(folder: Path, now: dict[str, Any]) -> dict[str, Any] | None:
    """The newest other record in a folder, releases before reviews; None where there is none. A damaged one is none."""
    found = []
    for path in sorted(folder.glob("*.json")) if folder.is_dir() else []:
        try:
            one = parsed_record(path)
        except Refused:
            continue
        if one["inputs"] != now["inputs"]:
            found.append((one["released"], one["day"], path.stat().st_mtime, path.name, one))
    return max(found, key=lambda entry: entry[:4])[-1] if found else None


def check_day(day: str) -> None:
    """Refused where the date is none."""
    try:
        date.fromisoformat(day or "2000-01-01")
    except ValueError:
        raise Refused(
            [Finding("error", "no date", got=day, allowed="YYYY-MM-DD", next_step="write --date 2026-01-31")]
        ) from None
