"""YAML files that are edited with their comments kept: channel maps, the memory of corrections, kept variants.

They are held to the same bounds as project files (`kit.tree`) before the library that keeps comments reads them,
which by itself follows aliases and nesting without end.
"""

import io
from pathlib import Path
from typing import Any

from heatproof.kit.findings import Finding, Findings, Refused
from heatproof.kit.records.variant import Where
from heatproof.kit.tree import parse_tree, read_source


def load_commented(path: Path) -> Any | None:
    """The file as a table that remembers its comments; None where nothing stands in it. Refused with file and
    line: not plain YAML (tags, anchors, aliases, depth), no mapping, a value that cannot be read."""
    from ruamel.yaml.error import MarkedYAMLError

    source = read_source(path, path.parent)
    if all(not line.strip() or line.lstrip().startswith("#") for line in source.text.splitlines()):
        return None
    findings = Findings()
    parse_tree(source, findings)
    findings.refuse_errors()
    try:
        return commented_yaml().load(source.text)
    except Exception as error:  # values that look like dates or numbers fail in many ways
        mark = error.problem_mark if isinstance(error, MarkedYAMLError) else None
        got = str(getattr(error, "problem", None) or error).split("\n")[0][:120]
        where = Where(path.name, mark.line + 1 if mark is not None else 0)
        step = "put the value in quotes, or correct it"
        raise Refused([Finding("error", "not readable as YAML", where, got=got, next_step=step)]) from error


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
