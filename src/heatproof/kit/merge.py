"""Car ⊕ kit changes ⊕ measures, on trees: only the way down to a change is copied.

Records merge key by key. A value, a list, a `{value, spread, source}` and a record of another `kind` or
`type` are replaced whole.
"""

from typing import Any

from heatproof.kit.convert import VALUE_KEYS
from heatproof.kit.fields import Field, default_class, discriminator, fields_of, label
from heatproof.kit.findings import Findings, Where, listed, nearest
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Assembly
from heatproof.kit.tree import Mapping, Node, Scalar, Sequence

Classes = tuple[type[Record], ...]
ROOT: Classes = (Assembly,)


def merged(old: Mapping, new: Mapping, classes: Classes = ROOT) -> Mapping:
    """`old` with what `new` says."""
    result = copied(old)
    known = _fields(classes, new, old)
    for key, item in new.entries.items():
        result.keys[key] = new.keys[key]
        result.entries[key] = _merged_entry(known.get(key), old.entries.get(key), item)
    return result


def _merged_entry(wanted: Field | None, old: Node | None, new: Node) -> Node:
    if wanted is None or not isinstance(old, Mapping) or not isinstance(new, Mapping):
        return new
    if wanted.shape == "records":
        return _merged_names(wanted, old, new)
    if wanted.shape == "record" and not _other_kind(wanted.classes, old, new):
        return merged(old, new, wanted.classes)
    return new


def _merged_names(wanted: Field, old: Mapping, new: Mapping) -> Mapping:
    result = copied(old)
    for name, item in new.entries.items():
        before = old.entries.get(name)
        result.keys[name] = new.keys[name]
        both = isinstance(before, Mapping) and isinstance(item, Mapping)
        if both and not _other_kind(wanted.classes, before, item):
            item = merged(before, item, wanted.classes)  # type: ignore[arg-type]
        result.entries[name] = item
    return result


def copied(node: Mapping) -> Mapping:
    """A mapping that can be changed without touching `node`."""
    return Mapping(dict(node.entries), dict(node.keys), node.file, node.line, node.flow)


def _kind_of(classes: Classes, node: Mapping) -> str:
    given = node.entries.get(discriminator(classes)) if len(classes) > 1 else None
    if isinstance(given, Scalar):
        return given.text
    fallback = default_class(classes)
    return label(fallback) if fallback is not None and len(classes) > 1 else ""


def _other_kind(classes: Classes, old: Any, new: Any) -> bool:
    if len(classes) == 1 or discriminator(classes) not in new.entries:
        return False
    return _kind_of(classes, old) != _kind_of(classes, new)


def class_of(classes: Classes, node: Mapping) -> type[Record]:
    """The record class a node is read as; the first where that cannot be told."""
    if len(classes) == 1:
        return classes[0]
    kind = _kind_of(classes, node)
    return next((c for c in classes if label(c) == kind), classes[0])


def _fields(classes: Classes, new: Mapping, old: Mapping) -> dict[str, Field]:
    decisive = new if len(classes) > 1 and discriminator(classes) in new.entries else old
    return fields_of(class_of(classes, decisive))


class Changer:
    """Applies one measure to a tree; says what does not fit."""

    def __init__(self, measure: str, node: Mapping, findings: Findings) -> None:
        self.measure, self.node, self.findings = measure, node, findings

    def apply(self, tree: Mapping) -> Mapping:
        """Removes, then adds, then sets."""
        removed, added, changed = (self.node.entries.get(key) for key in ("remove", "add", "set"))
        if isinstance(removed, Sequence | Scalar):
            items = removed.items if isinstance(removed, Sequence) else [removed]
            for item in items:
                tree = self._remove(tree, item)
        if isinstance(added, Mapping):
            self._no_overwriting(tree, added, "", ROOT)
            tree = merged(tree, added)
        if isinstance(changed, Mapping):
            for path, node in changed.entries.items():
                tree = self._set(tree, changed.keys[path], path.split("."), node)
        return tree

    def _remove(self, tree: Mapping, item: Node) -> Mapping:
        if not isinstance(item, Scalar):
            return tree
        *above, last = item.text.split(".")
        parent = self._walk(tree, above, item)
        if parent is None:
            return tree
        if last not in parent.entries:
            self._no_path(item, last, list(parent.entries))
            return tree
        result = _without(tree, above, last)
        return result

    def _walk(self, tree: Mapping, keys: list[str], said: Scalar) -> Mapping | None:
        node: Node = tree
        for key in keys:
            below = node.entries.get(key) if isinstance(node, Mapping) else None
            if not isinstance(below, Mapping):
                self._no_path(said, key, list(node.entries) if isinstance(node, Mapping) else [])
                return None
            node = below
        return node if isinstance(node, Mapping) else None

    def _set(
        self, tree: Mapping, said: Scalar, keys: list[str], new: Node, classes: Classes = ROOT
    ) -> Mapping:
        """A tree with the value at `keys`; records that are left out and have a default are begun."""
        key, rest = keys[0], keys[1:]
        wanted = fields_of(class_of(classes, tree)).get(key)
        old = tree.entries.get(key)
        if wanted is None:
            self._no_path(said, key, list(fields_of(class_of(classes, tree))))
            return tree
        result = copied(tree)
        result.keys[key] = said
        if not rest:
            result.entries[key] = new
            return result
        below = old if isinstance(old, Mapping) else Mapping(file=said.file, line=said.line)
        if wanted.shape == "record":
            result.entries[key] = self._set(below, said, rest, new, wanted.classes)
            return result
        if wanted.shape == "records":
            return self._set_named(result, key, below, said, rest, new, wanted)
        self._no_path(said, rest[0], [])
        return tree

    def _set_named(
        self,
        result: Mapping,
        key: str,
        below: Mapping,
        said: Scalar,
        rest: list[str],
        new: Node,
        wanted: Field,
    ) -> Mapping:
        name, deeper = rest[0], rest[1:]
        old = below.entries.get(name)
        if not isinstance(old, Mapping):
            self._no_path(said, name, list(below.entries))
            return result
        names = copied(below)
        names.entries[name] = self._set(old, said, deeper, new, wanted.classes) if deeper else new
        result.entries[key], result.keys[key] = names, below.keys.get(name, said)
        return result

    def _no_overwriting(self, tree: Node | None, new: Node, path: str, classes: Classes) -> None:
        """`add` must not change what is there: that is what `set` is for."""
        if not isinstance(new, Mapping) or not isinstance(tree, Mapping):
            return
        for key, item in new.entries.items():
            old, below = tree.entries.get(key), f"{path}.{key}" if path else key
            if old is None:
                continue
            if isinstance(old, Mapping) and isinstance(item, Mapping) and not _is_value(item):
                self._no_overwriting(old, item, below, classes)
            else:
                place = Where(new.keys[key].file, new.keys[key].line, f"measures.{self.measure}.add.{below}")
                self.findings.error(
                    f"{below!r} is there already",
                    place,
                    next_step="use set: to change it, or take another name",
                    code="measure.overwrites",
                )

    def _no_path(self, said: Scalar, key: str, known: list[str]) -> None:
        place = Where(said.file, said.line, f"measures.{self.measure}")
        self.findings.error(
            f"path {said.text!r} does not exist in this variant",
            place,
            got=f"no {key!r} there",
            allowed=listed(known),
            nearest=nearest(key, known),
            next_step="correct the path; another measure may have removed it (excludes:)",
            code="path.unknown",
        )


def _without(tree: Mapping, above: list[str], last: str) -> Mapping:
    result = copied(tree)
    if not above:
        del result.entries[last], result.keys[last]
        return result
    below = result.entries[above[0]]
    assert isinstance(below, Mapping)
    result.entries[above[0]] = _without(below, above[1:], last)
    return result


def _is_value(node: Mapping) -> bool:
    return "value" in node.entries and all(key in VALUE_KEYS for key in node.entries)
