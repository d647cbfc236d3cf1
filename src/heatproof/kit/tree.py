"""YAML text → a small tree that knows where everything stands. Only plain YAML: no tags, anchors or aliases.

The parser's events are judged one by one before anything is built, so a hostile file costs no more than its
own length. Scalars stay text; what a text means is decided by the declaration that reads it.
"""

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn, Unpack

import yaml

from heatproof.kit.findings import Finding, Findings, More, Refused, Where

LARGEST = 2_000_000  # bytes
DEEPEST = 20
MOST_NODES = 200_000
LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class Source:
    """A file's text as read: shown name, text, and the bytes it was."""

    name: str
    text: str
    data: bytes = b""


@dataclass(eq=False, slots=True)
class Scalar:
    """A text. `quoted`: written in quotes. `start`, `end`: where it stands in the file's text."""

    text: str
    file: str = ""
    line: int = 0
    quoted: bool = False
    start: int = -1
    end: int = -1


@dataclass(eq=False, slots=True)
class Sequence:
    """A list of nodes, and the span of text it was read from."""

    items: list["Node"]
    file: str = ""
    line: int = 0
    start: int = -1
    end: int = -1


@dataclass(eq=False, slots=True)
class Mapping:
    """A mapping: key to node, and the key's own scalar. `flow`: written in braces."""

    entries: dict[str, "Node"] = field(default_factory=dict)
    keys: dict[str, Scalar] = field(default_factory=dict)
    file: str = ""
    line: int = 0
    flow: bool = False
    start: int = -1
    end: int = -1

    def line_of(self, key: str) -> int:
        """Line of a key, or of the mapping."""
        return self.keys[key].line if key in self.keys else self.line


Node = Scalar | Sequence | Mapping


def read_source(path: Path, root: Path) -> Source:
    """A file's text. Refused where it is missing, too big, not UTF-8 text."""
    name = os.path.relpath(path, root)

    def refuse(what: str, **more: Unpack[More]) -> NoReturn:
        raise Refused([Finding("error", what, Where(name), **more)])

    try:
        if path.exists() and not path.is_file():
            refuse(
                "not a file",
                got="a folder, a pipe or a device",
                next_step=f"put the text of {name} into a file",
                code="file.unreadable",
            )
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except FileNotFoundError:
        refuse(
            "file is missing", next_step=f"create {name}, or start with `heatproof new`", code="value.missing"
        )
    except OSError as error:
        refuse(
            "file cannot be read",
            got=error.strerror or "",
            next_step="check the file and its permissions",
            code="file.unreadable",
        )
    if len(data) > LARGEST:
        refuse(
            "file is too big",
            got="over 2 MB",
            allowed="2 MB",
            next_step="move data to a CSV file",
            code="file.size",
        )
    return Source(name, _decoded(data, refuse), data)


def _decoded(data: bytes, refuse: Any) -> str:
    if b"\0" in data:
        refuse(
            "file is binary, not text",
            allowed="UTF-8 text",
            next_step="is this the right file?",
            code="file.encoding",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        refuse(
            "file is not UTF-8 text",
            got=f"byte {data[error.start]:#04x} in line {line}",
            next_step="save it as UTF-8",
            code="file.encoding",
        )
        raise


def parse_tree(source: Source, findings: Findings) -> Mapping | None:
    """The tree of a file, or None with findings where it is not plain YAML holding one mapping."""
    try:
        root = _Builder(source, findings).build()
    except yaml.YAMLError as error:
        findings.append(_syntax(error, source))
        return None
    except Refused as refused:
        findings.extend(refused.findings)
        return None
    if isinstance(root, Mapping):
        return root
    findings.error(
        "file holds no mapping",
        Where(source.name, 1),
        next_step="write keys and values, e.g. name: …",
        code="yaml.mapping",
    )
    return None


def _syntax(error: yaml.YAMLError, source: Source) -> Finding:
    mark = getattr(error, "problem_mark", None)
    line = mark.line + 1 if mark is not None else 0
    lines = source.text.splitlines()
    got = lines[line - 1].strip()[:100] if 0 < line <= len(lines) else ""
    problem = getattr(error, "problem", None) or getattr(error, "reason", None) or "cannot be read"
    return Finding(
        "error",
        f"not valid YAML: {problem}",
        Where(source.name, line),
        got=got,
        next_step="check indentation, colons and quotes near this line",
        code="yaml.syntax",
    )


class _Builder:
    """Builds the tree from the parser's events and refuses what is not plain YAML."""

    def __init__(self, source: Source, findings: Findings) -> None:
        self.source, self.findings = source, findings
        self.count = 0

    def build(self) -> Node | None:
        stack: list[tuple[Mapping | Sequence, list[str]]] = []
        pending: list[Scalar | None] = []
        root: Node | None = None
        documents = 0
        for event in yaml.parse(self.source.text, Loader=LOADER):
            kind = type(event)
            if kind is yaml.DocumentStartEvent:
                documents += 1
                if documents > 1:
                    self._refuse(
                        "file holds more than one document", event, next_step="remove the line `---`"
                    )
                continue
            if kind in (yaml.StreamStartEvent, yaml.StreamEndEvent, yaml.DocumentEndEvent):
                continue
            if kind in (yaml.MappingEndEvent, yaml.SequenceEndEvent):
                closed, _ = stack.pop()
                pending.pop()
                closed.end = event.end_mark.index
                continue
            node = self._node(event)
            if stack:
                self._place(node, stack[-1][0], pending, event)
            else:
                root = node
            if not isinstance(node, Scalar):
                if len(stack) >= DEEPEST:
                    self._refuse(
                        f"nested more than {DEEPEST} levels deep", event, next_step="flatten the file"
                    )
                stack.append((node, []))
                pending.append(None)
        return root

    def _node(self, event: Any) -> Node:
        self.count += 1
        line, start = event.start_mark.line + 1, event.start_mark.index
        if isinstance(event, yaml.AliasEvent):
            self._refuse(
                "YAML aliases (*) are not read",
                event,
                got=f"*{event.anchor}",
                next_step="write the value out",
            )
        if event.anchor is not None:
            self._refuse(
                "YAML anchors (&) are not read", event, got=f"&{event.anchor}", next_step="remove the anchor"
            )
        if event.tag is not None:
            self._refuse(
                "YAML tags (!) are not read", event, got=str(event.tag)[:60], next_step="remove the tag"
            )
        if self.count > MOST_NODES:
            self._refuse(
                "file holds too many values", event, allowed=f"{MOST_NODES}", next_step="split the project"
            )
        if isinstance(event, yaml.ScalarEvent):
            return Scalar(
                event.value, self.source.name, line, event.style in ("'", '"'), start, event.end_mark.index
            )
        if isinstance(event, yaml.SequenceStartEvent):
            return Sequence([], self.source.name, line, start)
        return Mapping(file=self.source.name, line=line, flow=bool(event.flow_style), start=start)

    def _place(
        self, node: Node, holder: Mapping | Sequence, pending: list[Scalar | None], event: Any
    ) -> None:
        if isinstance(holder, Sequence):
            holder.items.append(node)
            return
        key = pending[-1]
        if key is not None:
            pending[-1] = None
            if key.text in holder.entries:
                first = holder.keys[key.text].line
                self.findings.error(
                    f"key {key.text!r} is given twice",
                    Where(key.file, key.line),
                    got=f"first in line {first}",
                    next_step="keep one of the two, or give one another name",
                    code="yaml.key_twice",
                )
                return
            holder.entries[key.text], holder.keys[key.text] = node, key
        elif isinstance(node, Scalar):
            pending[-1] = node
        else:
            self._refuse("a key must be a plain text", event, next_step="write key: value")

    def _refuse(self, what: str, event: Any, **more: Unpack[More]) -> NoReturn:
        where = Where(self.source.name, event.start_mark.line + 1)
        more.setdefault("code", "yaml.plain")
        raise Refused([Finding("error", what, where, **more)])
