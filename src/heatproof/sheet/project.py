"""A project folder from a sheet, and the same folder made anew after an answer was changed."""

import tempfile
from collections.abc import Iterator
from pathlib import Path

from heatproof._files import write_together
from heatproof.kit.convert import plain
from heatproof.kit.examples import COPIES
from heatproof.kit.findings import Finding, Findings, Refused, Where
from heatproof.kit.tree import Mapping, Node, Scalar, Source, parse_tree
from heatproof.kit.write import Value, edited
from heatproof.sheet.build import project_files
from heatproof.sheet.reading import sheet_of

SHEET = "sheet.yaml"
"""The answers a project was made from, kept beside its files."""


def start_from_sheet(folder: Path, source: Source) -> Findings:
    """Makes a project, whole or not at all; what its cross-checks say. Refused where sheet or folder cannot be used.

    A folder that was made from a sheet is made anew: what its files say otherwise than that sheet made them stays.
    """
    sheet, findings = sheet_of(source)
    files = project_files(sheet)
    if (folder / SHEET).is_file():
        findings.extend(make_anew(folder, files))
        write_together(
            folder, {name: text.encode() for name, text in files.items()} | {SHEET: source.text.encode()}
        )
        return findings
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused.of(
            "there is something already",
            Where(str(folder)),
            next_step="name a folder that is new",
            code="folder.taken",
        )
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=COPIES) as room:
        made = Path(room) / folder.name
        (made / "duties").mkdir(parents=True)
        for name, text in (files | {SHEET: source.text}).items():
            (made / name).write_text(text, encoding="utf-8")
        if folder.exists():
            folder.rmdir()
        made.rename(folder)
    return findings


def make_anew(folder: Path, files: dict[str, str]) -> list[Finding]:
    """Carries over into the new `files` what was changed by hand since the last sheet. Says what it carried over."""
    before, _ = sheet_of(Source(SHEET, (folder / SHEET).read_text(encoding="utf-8")))
    said = []
    for name, old in project_files(before).items():
        path = folder / name
        if not path.is_file() or name not in files:
            continue
        now = dict(values_of(path.read_text(encoding="utf-8"), name))
        made = dict(values_of(old, name))
        own = {key: text for key, text in now.items() if made.get(key) != text}
        if own:
            files[name] = with_values(files[name], name, own)
            what = f"{len(own)} values changed by hand stay as they are: {', '.join(list(own)[:6])}"
            said.append(Finding("note", what, Where(name), code="sheet.kept"))
    return said


def values_of(text: str, name: str) -> Iterator[tuple[str, Value]]:
    """(path, text) of every value of a file."""
    findings = Findings()
    tree = parse_tree(Source(name, text), findings)
    findings.refuse_errors()
    if tree is not None:
        yield from leaves(tree, "")


def leaves(node: Node, path: str) -> Iterator[tuple[str, Value]]:
    """The same below a node; a list is one value."""
    if isinstance(node, Mapping):
        for key, below in node.entries.items():
            yield from leaves(below, f"{path}.{key}" if path else key)
    elif isinstance(node, Scalar):
        yield path, node.text
    else:
        yield path, plain(node)


def with_values(text: str, name: str, own: dict[str, Value]) -> str:
    """A file's text with some values set; those whose place is no longer there are left out."""
    for path, value in own.items():
        try:
            text = edited(Source(name, text), {path: value})
        except Refused:
            continue
    return text
