"""Sheets built and written; the tolerance study behind the installer's is kept, for it takes minutes."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from heatproof._files import write_together
from heatproof.kit.findings import Refused, unknown
from heatproof.numerics.at_once import Progress
from heatproof.report.blocks import Document
from heatproof.report.gathered import Gathered
from heatproof.report.html import html
from heatproof.report.pdf import pdf
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.sheets.calibrator import calibrator_sheet
from heatproof.report.sheets.customer import customer_sheet
from heatproof.report.sheets.installer import installer_sheet
from heatproof.report.sheets.suppliers import blanket_sheet, core_sheet
from heatproof.study.questions.tolerance import Allowed, tolerance
from heatproof.study.store import kept
from heatproof.units.quantity import Quantity
from heatproof.verdict.names import spaced

READERS = ("installer", "customer", "calibrator", "cores", "blankets")
DRAWS = 20
SILENT = ("air", "passages", "parts", "links", "cover")
"""Keys of a path that say nothing to an installer."""


@dataclass(frozen=True)
class Sheet:
    """One sheet not written yet. name: of its files, without their endings."""

    reader: str
    name: str
    document: Document
    html: bytes
    pdf: bytes


def sheets(
    found: Gathered,
    readers: Iterable[str] = READERS,
    *,
    with_tolerance: bool = True,
    jobs: int = 2,
    progress: Progress | None = None,
) -> tuple[Sheet, ...]:
    """Sheets of the named readers. Refused where a reader is unknown."""
    wanted = known(readers)
    allowances = None
    if "installer" in wanted and with_tolerance:
        allowances = allowed(found, jobs, progress)
    make: dict[str, Callable[[], Document]] = {
        "installer": lambda: installer_sheet(found, allowances),
        "customer": lambda: customer_sheet(found),
        "calibrator": lambda: calibrator_sheet(found),
        "cores": lambda: core_sheet(found),
        "blankets": lambda: blanket_sheet(found),
    }
    made = []
    for reader in wanted:
        document = make[reader]()
        made.append(Sheet(reader, name_of(found, reader), document, html(document).encode(), pdf(document)))
    return tuple(made)


def known(readers: Iterable[str]) -> tuple[str, ...]:
    """The names, each once."""
    names = tuple(dict.fromkeys(readers)) or READERS
    for name in names:
        if name not in READERS:
            raise Refused(
                [unknown(f"no sheet for {name!r}", name, READERS, next_step="name one of the allowed")]
            )
    return names


def name_of(found: Gathered, reader: str) -> str:
    """`sheet-installer-t1-kit-draft-7`."""
    head = found.variant.head
    return re.sub(r"[^a-z0-9]+", "-", f"sheet {reader} {head.name} {head.revision}".lower()).strip("-")


def write(made: Iterable[Sheet], folder: Path) -> tuple[Path, ...]:
    """PDF and HTML of each: all or none."""
    folder.mkdir(parents=True, exist_ok=True)
    files: dict[str, bytes] = {}
    for one in made:
        files |= {f"{one.name}.pdf": one.pdf, f"{one.name}.html": one.html}
    write_together(folder, files)
    return tuple(folder / name for name in files)


def allowed(found: Gathered, jobs: int, progress: Progress | None) -> list[dict[str, Any]]:
    """Installer tolerances, in the reader's units; limits lost at nominal are left out of the study."""

    def make() -> list[dict[str, Any]]:
        result = tolerance(found.project, found.variant.fitted, draws=DRAWS, jobs=jobs, progress=progress)
        return [plain(one) for one in result.items if one.does and one.end == "limit"]

    made = kept(found.project, found.variant, "tolerance", str(DRAWS), make)
    return [in_units(one, found.units) for one in made]


def plain(one: Allowed) -> dict[str, Any]:
    """SI."""
    return {
        "path": one.path,
        "unit": one.quantity.unit,
        "nominal": one.nominal,
        "together": one.together,
        "how": one.how,
    }


def in_units(one: dict[str, Any], units: ReaderUnits) -> dict[str, Any]:
    """Texts of one row."""
    word = "at most" if one["together"] > one["nominal"] else "at least"
    keys = [key for key in one["path"].split(".") if key not in SILENT]
    return {
        "title": spaced(" ".join(keys)),
        "nominal": text(one["nominal"], one["unit"], units),
        "allowed": f"{word} {text(one['together'], one['unit'], units)}",
        "how": one["how"],
    }


def text(value: float, unit: str, units: ReaderUnits) -> str:
    """A declared value in the reader's units."""
    by_unit: dict[str, Callable[[float], str]] = {
        "cm2": units.area,
        "m2": units.area,
        "mm": units.thickness,
        "m": units.height,
        "%": lambda x: f"{100.0 * x:.0f} %",
    }
    if unit in by_unit:
        return by_unit[unit](value)
    from heatproof.units.show import display

    return display(value, Quantity(unit, value, value, ""))
