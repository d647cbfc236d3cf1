"""Edits written back into a project's YAML: only the value's own characters change.

Comments, order, alignment and quoting of everything else stay byte for byte, because an edit is spliced into
the text at the place the parser reported.
"""

import json
import re
from collections.abc import Iterable
from collections.abc import Mapping as Mapped
from pathlib import Path
from typing import Unpack

from heatproof._files import write_together
from heatproof.kit.findings import Details, Finding, Findings, Refused, Where, listed, nearest
from heatproof.kit.tree import Mapping, Node, Scalar, Sequence, Source, parse_tree, read_source

# A path's new value: text, nested texts, or None to take the entry away.
Value = str | Mapped[str, "Value"] | list["Value"] | None
SAFE = re.compile(r"[A-Za-z0-9.+−°µ][^\n\t:#,\[\]{}&*!|>'\"%@`]*(%[A-Za-z0-9 ]*)?")
WORDS = {"null", "yes", "no", "on", "off", "~"}


def write_edits(folder: Path, source: Source, edits: Mapped[str, Value]) -> Source:
    """Writes dotted path → new value into one file of a project and returns it as it now stands.

    Refused where the file changed on disk since `source` was read, where a path does not exist, and where the
    result would not read back as meant; the file is then left as it was.
    """
    (written,) = write_all_edits(folder, [(source, edits)])
    return written


def write_all_edits(folder: Path, changes: Iterable[tuple[Source, Mapped[str, Value]]]) -> list[Source]:
    """The same for several files: all of them are written or none. Refused as `write_edits`."""
    written = []
    for source, edits in changes:
        if read_source(folder / source.name, folder).data != source.data:
            what, step = "file changed on disk since it was read", "read it again"
            raise Refused([Finding("error", what, Where(source.name), next_step=step, code="file.changed")])
        mark = b"\xef\xbb\xbf" if source.data.startswith(b"\xef\xbb\xbf") else b""
        text = edited(source, edits)
        written.append(Source(source.name, text, mark + text.encode()))
    write_together(folder, {source_now.name: source_now.data for source_now in written})
    return written


def edited(source: Source, edits: Mapped[str, Value]) -> str:
    """The text of a file with edits made one after another. Refused where one cannot be made."""
    for path, value in edits.items():
        source = Source(source.name, _edited_once(source, path, value))
    return source.text


def _edited_once(source: Source, path: str, value: Value) -> str:
    tree = _tree(source)
    text = source.text
    parent, keys = _walk(tree, path.split("."))
    if not keys:
        raise _refuse("path is empty", source, path)
    if len(keys) == 1 and keys[0] in parent.entries:
        result = (
            _removed(text, parent, keys[0])
            if value is None
            else _changed(text, parent.entries[keys[0]], value)
        )
    elif value is None:
        raise _no_path(source, path, keys[0], parent)
    else:
        result = _inserted(text, parent, keys, value)
    _verify(Source(source.name, result), path, value)
    return result


def _tree(source: Source) -> Mapping:
    findings = Findings()
    tree = parse_tree(source, findings)
    findings.refuse_errors()
    if tree is None:
        raise Refused(findings)
    return tree


def _walk(tree: Mapping, keys: list[str]) -> tuple[Mapping, list[str]]:
    """The deepest mapping on the way and the keys left; a key of a file may itself hold dots (`set:`)."""
    while len(keys) > 1:
        for used in range(1, len(keys)):
            below = tree.entries.get(".".join(keys[:used]))
            if isinstance(below, Mapping):
                tree, keys = below, keys[used:]
                break
        else:
            whole = ".".join(keys)
            return tree, [whole] if whole in tree.entries else keys
    return tree, keys


def _changed(text: str, node: Node, value: Value) -> str:
    """A text put on a `{value, spread, source}` changes its value and leaves the rest."""
    if isinstance(node, Mapping) and isinstance(value, str) and isinstance(node.entries.get("value"), Scalar):
        node = node.entries["value"]
    start, end = node.start, _end(text, node)
    if isinstance(node, Scalar) and not node.text and start == end:
        return text[:start] + " " + flow(value) + text[end:]
    return text[:start] + flow(value) + text[end:]


def _end(text: str, node: Node) -> int:
    """Where a node's own text ends: a block collection's end mark lies past trailing blanks and comments."""
    if isinstance(node, Scalar) or text[node.end - 1 : node.end] in ("}", "]"):
        return node.end
    return _last_end(text, node)


def _last_end(text: str, node: Node) -> int:
    children = list(node.entries.values()) if isinstance(node, Mapping) else getattr(node, "items", [])
    if isinstance(node, Scalar) or not children:
        return node.end
    return _end(text, children[-1])


def _removed(text: str, parent: Mapping, key: str) -> str:
    start, end = parent.keys[key].start, _end(text, parent.entries[key])
    if parent.flow:
        after = re.compile(r"\s*,\s*").match(text, end)
        if after is not None:
            return text[:start] + text[after.end() :]
        before = re.compile(r",\s*$").search(text, 0, start)
        return text[: before.start() if before else start] + text[end:]
    line_start = text.rfind("\n", 0, start) + 1
    line_end = text.find("\n", end)
    return text[:line_start] + (text[line_end + 1 :] if line_end >= 0 else "")


def _inserted(text: str, parent: Mapping, keys: list[str], value: Value) -> str:
    for key in reversed(keys[1:]):
        value = {key: value}
    entry = f"{flow(keys[0])}: {flow(value)}"
    if parent.flow:
        close = parent.end - 1
        head = text[:close].rstrip()
        comma = "" if head.endswith(("{", ",")) else ","
        blank = "" if head.endswith("{") else " "
        return head + comma + blank + entry + text[close:]
    last = list(parent.entries)[-1]
    start = parent.keys[last].start
    indent = start - (text.rfind("\n", 0, start) + 1)
    line_end = text.find("\n", _end(text, parent.entries[last]))
    if line_end < 0:
        return f"{text}\n{' ' * indent}{entry}\n"
    return f"{text[: line_end + 1]}{' ' * indent}{entry}\n{text[line_end + 1 :]}"


def flow(value: Value) -> str:
    """A value as one line of YAML; text is quoted where it must be."""
    if isinstance(value, str):
        plain = (
            SAFE.fullmatch(value)
            and value == value.strip()
            and value.lower() not in WORDS - {"true", "false"}
        )
        return value if plain else json.dumps(value, ensure_ascii=False)
    if isinstance(value, list):
        return "[" + ", ".join(flow(item) for item in value) + "]"
    if value is None:
        return '""'
    return "{" + ", ".join(f"{flow(key)}: {flow(item)}" for key, item in value.items()) + "}"


def _verify(source: Source, path: str, value: Value) -> None:
    """The new text must read back as meant."""
    parent, keys = _walk(_tree(source), path.split("."))
    node = parent.entries.get(keys[0]) if len(keys) == 1 else None
    if isinstance(node, Mapping) and isinstance(value, str):
        node = node.entries.get("value")
    if value is None and node is None:
        return
    if node is None or _plain(node) != _texts(value):
        raise _refuse("edit would not read back as meant; nothing was written", source, path)


def _plain(node: Node) -> object:
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [_plain(item) for item in node.items]
    return {key: _plain(item) for key, item in node.entries.items()}


def _texts(value: Value) -> object:
    if isinstance(value, Mapped):
        return {key: _texts(item) for key, item in value.items()}
    return [_texts(item) for item in value] if isinstance(value, list) else value


def _no_path(source: Source, path: str, key: str, parent: Mapping) -> Refused:
    return _refuse(
        f"nothing stands at {path!r}",
        source,
        path,
        allowed=listed(parent.entries),
        nearest=nearest(key, parent.entries),
    )


def _refuse(what: str, source: Source, path: str, **more: Unpack[Details]) -> Refused:
    more.setdefault("code", "edit.refused")
    place = Where(source.name, 0, path)
    return Refused([Finding("error", what, place, next_step="correct the path or value", **more)])
