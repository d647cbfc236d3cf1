"""YAML files that are edited with their comments kept: channel maps and the memory of corrections.

They are held to the same bounds as project files (`kit.tree`) and read by the same quick parser. Only to edit one
is it read by the library that keeps comments, which is a hundred times slower and by itself follows aliases and
nesting without end.
"""

import io
import re
from pathlib import Path
from typing import Any

from heatproof.kit.findings import Finding, Findings, Refused, Where
from heatproof.kit.tree import Mapping, Node, Scalar, Sequence, Source, parse_tree, read_source

MOST_EDITED = 30_000  # values: some seconds of the slow reader
NUMBER = re.compile(
    r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)"
)
WORDS: dict[str, Any] = {"": None, "~": None, "null": None, "Null": None, "NULL": None} | {
    text: value
    for value, name in ((True, "true"), (False, "false"))
    for text in (name, name.title(), name.upper())
}


class Table(dict[str, Any]):
    """A mapping that knows its lines."""

    def __init__(self, node: Mapping) -> None:
        super().__init__({key: plain(value) for key, value in node.entries.items()})
        self.start = node.line
        self.lines = {key: node.line_of(key) for key in node.entries}

    def line(self, key: str = "") -> int:
        """Line of a key, or of the table."""
        return self.lines.get(key, self.start)


def plain(node: Node) -> Any:
    """Tables, lists, numbers, true, false, None and texts, by the core schema of YAML 1.2; dates stay texts."""
    if isinstance(node, Mapping):
        return Table(node)
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    if node.quoted:
        return node.text
    if node.text in WORDS:
        return WORDS[node.text]
    if len(node.text) <= 40 and NUMBER.fullmatch(node.text):
        return number(node.text)
    return node.text


def number(text: str) -> int | float:
    """Of a text that NUMBER takes."""
    try:
        return int(text)
    except ValueError:
        return float(re.sub(r"\.(?=[inIN])", "", text))


def read_commented(file: Path | Source) -> Table | None:
    """The file, or the text of one, as plain data; None where nothing stands in it. Refused with file and line where it is not plain
    YAML (tags, anchors, aliases, depth) or holds no mapping."""
    tree = tree_of(file if isinstance(file, Source) else read_source(file, file.parent))
    return Table(tree) if tree is not None else None


def tree_of(source: Source) -> Mapping | None:
    """Its tree; None for comments alone."""
    if all(not line.strip() or line.lstrip().startswith("#") for line in source.text.splitlines()):
        return None
    findings = Findings()
    tree = parse_tree(source, findings)
    findings.refuse_errors()
    return tree


def load_commented(path: Path) -> Any | None:
    """The file as a table that remembers its comments, to be edited; None where nothing stands in it. Refused as
    `read_commented`, and where it is too long or a value cannot be read."""
    from ruamel.yaml.error import MarkedYAMLError

    source = read_source(path, path.parent)
    tree = tree_of(source)
    if tree is None:
        return None
    if (size := count(tree)) > MOST_EDITED:
        allowed, step = f"{MOST_EDITED} values", "split the file, or edit it by hand"
        what = "file is too long to be edited with its comments kept"
        raise Refused(
            [
                Finding(
                    "error",
                    what,
                    Where(path.name),
                    got=f"{size}",
                    allowed=allowed,
                    next_step=step,
                    code="file.size",
                )
            ]
        )
    try:
        return commented_yaml().load(source.text)
    except Exception as error:  # values that look like dates or numbers fail in many ways
        mark = error.problem_mark if isinstance(error, MarkedYAMLError) else None
        got = str(getattr(error, "problem", None) or error).split("\n")[0][:120]
        where = Where(path.name, mark.line + 1 if mark is not None else 0)
        step = "put the value in quotes, or correct it"
        raise Refused(
            [Finding("error", "not readable as YAML", where, got=got, next_step=step, code="yaml.syntax")]
        ) from error


def count(node: Node) -> int:
    """Values in a tree, keys included."""
    if isinstance(node, Scalar):
        return 1
    if isinstance(node, Sequence):
        return 1 + sum(count(item) for item in node.items)
    return 1 + len(node.entries) + sum(count(item) for item in node.entries.values())


def commented_text(data: Any) -> str:
    """The table as text, comments in their places."""
    out = io.StringIO()
    commented_yaml().dump(data, out)
    return out.getvalue()


def commented_yaml() -> Any:
    """Reader and writer that keep comments, quotes and long lines."""
    from ruamel.yaml import YAML

    yaml = YAML()
    yaml.width = 4096
    yaml.preserve_quotes = True
    return yaml
