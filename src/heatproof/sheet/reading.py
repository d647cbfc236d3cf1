"""A sheet read and cross-checked, and a project made of it."""

from pathlib import Path

from heatproof.kit.convert import Reader
from heatproof.kit.findings import Findings, Refused, Where, unknown
from heatproof.kit.tree import Source, parse_tree, read_source
from heatproof.sheet.catalogue import catalogue
from heatproof.sheet.cross_checks import cross_checks
from heatproof.sheet.questions import USES, Sheet


def read_sheet(path: Path) -> tuple[Sheet, Findings]:
    """A sheet from a file, and what its cross-checks say. Refused with all findings at once where it cannot be used."""
    return sheet_of(read_source(path, path.parent))


def sheet_of(source: Source) -> tuple[Sheet, Findings]:
    """The same from a text."""
    findings = Findings()
    tree = parse_tree(source, findings)
    record = Reader(findings).record((Sheet,), tree, "") if tree is not None else None
    findings.refuse_errors()
    assert isinstance(record, Sheet)
    assert tree is not None
    for kind in record.near:
        if kind not in catalogue():
            where = Where(source.name, tree.line_of("near"), f"near.{kind}")
            findings.append(unknown(f"no kind of part {kind!r}", kind, catalogue(), where, code="part.kind"))
    for use in record.uses:
        if use not in USES:
            where = Where(source.name, tree.line_of("uses"), "uses")
            findings.append(unknown(f"no use {use!r}", use, USES, where, code="sheet.use"))
    findings.extend(cross_checks(record, source.name))
    findings.refuse_errors()
    return record, findings


__all__ = ["Refused", "read_sheet", "sheet_of"]
