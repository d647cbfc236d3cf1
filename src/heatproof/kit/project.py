"""A project as read: files, measures, duties, findings; variants of it."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from heatproof.kit.assumed import unfelt
from heatproof.kit.checks.variant import check_variant
from heatproof.kit.convert import Reader, Remembered
from heatproof.kit.findings import Finding, Findings, Refused, Where, unknown
from heatproof.kit.merge import ROOT, Changer, merged
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.engine import ExhaustPiece
from heatproof.kit.records.measure import KitHead, Measure
from heatproof.kit.records.variant import Assembly, Variant
from heatproof.kit.tree import Mapping, Node, Source

HEAD_KEYS = ("format", "name", "note")
KIT = "kit.yaml"
"""The kit file of a project, where no other is named."""


@dataclass(frozen=True)
class Document:
    """One file: its text as it stands and its tree."""

    source: Source
    tree: Mapping


@dataclass(repr=False)
class Project:
    """Everything read from a project folder. `files`: shown name to source, unusable ones included."""

    folder: Path
    files: dict[str, Source]
    car: Document | None
    kit: Document | None
    head: KitHead
    measures: dict[str, Measure]
    duties: dict[str, Duty]
    findings: Findings = field(default_factory=Findings)
    memory: dict[tuple[Node, str], Remembered] = field(default_factory=dict, repr=False)

    @property
    def fitted(self) -> tuple[str, ...]:
        """Measures the kit has as it stands."""
        return tuple(name for name, measure in self.measures.items() if measure.fitted)

    def __repr__(self) -> str:
        fitted = ", ".join(self.fitted) or "none"
        return "\n".join(
            [
                f"<Project {self.head.name} in {self.folder}>",
                f"  measures: {', '.join(self.measures) or 'none'}",
                f"  fitted: {fitted}",
                f"  duties: {', '.join(self.duties) or 'none'}",
                f"  findings: {len(self.findings)}, errors among them: {len(self.findings.errors)}",
            ]
        )

    def hash(self) -> str:
        """SHA-256 over every file's name and bytes, meshes included."""
        total = hashlib.sha256()
        for name in sorted(self.files):
            total.update(name.encode() + b"\0" + hashlib.sha256(self.files[name].data).digest())
        for path in sorted((self.folder / "parts").rglob("*")):
            if path.is_file():
                total.update(str(path.relative_to(self.folder)).encode() + b"\0")
                total.update(hashlib.sha256(path.read_bytes()).digest())
        return total.hexdigest()

    def variant(self, *measures: str | Iterable[str] | None, **values: Any) -> Variant:
        """Car, kit and the named measures; none named: those marked `fitted`; an empty list: none of them.

        A measure with `+` or `-` before it counts from the kit as it stands. values: single values in their place, dotted
        paths with `__` for the dots, each a text as in a file (`engine__boost="0.8 bar"`) or an SI number. Refused with
        every finding.
        """
        findings = Findings()
        variant = self.try_variant(self.chosen(measures), findings)
        findings.refuse_errors()
        if variant is None:
            raise Refused(self.findings)
        for name, value in values.items():
            variant = variant.replace(name.replace("__", "."), value)
        if values:
            check_variant(variant).refuse_errors()
        return variant

    def chosen(self, measures: Iterable[str | Iterable[str] | None]) -> tuple[str, ...]:
        """Measures that `variant` would fit, not yet checked: names, lists of names, `+name` and `-name`."""
        given = [given_one for given_one in measures if given_one is not None]
        names = [
            name for given_one in given for name in ([given_one] if isinstance(given_one, str) else given_one)
        ]
        if not given:
            return self.fitted
        if names and all(name[:1] in ("+", "-") for name in names):
            added = [name[1:] for name in names if name[0] == "+"]
            gone = {name[1:] for name in names if name[0] == "-"}
            for name in gone - set(self.measures):
                raise Refused([self._no_measure(name)])
            return tuple(dict.fromkeys([*(name for name in self.fitted if name not in gone), *added]))
        return tuple(names)

    def bare_car(self) -> Variant:
        """The car as it left the factory, without the kit. Refused with every finding."""
        findings = Findings()
        variant = self._built(self._car_tree(), (), "car", KitHead(name="none"), findings)
        findings.refuse_errors()
        if variant is None:
            raise Refused(self.findings)
        return variant

    def try_variant(self, fitted: Iterable[str] | None, findings: Findings) -> Variant | None:
        """The same, but findings are added to `findings`; None where it cannot be built."""
        names = self._in_order(self.fitted if fitted is None else fitted, findings)
        tree = self._car_tree()
        if tree is not None and self.kit is not None:
            changes = self.kit.tree.entries.get("changes")
            tree = merged(tree, changes) if isinstance(changes, Mapping) else tree
            for name in self._needed_first(names):
                tree = self._changed(tree, name, findings)
        self._check_choice(names, findings)
        return self._built(tree, names, self.head.name, self.head, findings)

    def where_measure(self, name: str, inside: str = "") -> Where:
        """Where a measure, or a key inside it, stands."""
        measures = self.kit.tree.entries.get("measures") if self.kit else None
        key = measures.keys.get(name) if isinstance(measures, Mapping) else None
        path = f"measures.{name}.{inside}" if inside else f"measures.{name}"
        if key is None or not isinstance(measures, Mapping):
            return Where(path=path)
        below = measures.entries[name]
        line = below.line_of(inside) if isinstance(below, Mapping) and inside in below.keys else key.line
        return Where(key.file, line, path)

    def companions(self, name: str, fitted: Iterable[str] | None = None) -> tuple[str, ...]:
        """A set of measures (the kit as it stands) with `name`: what it needs joins, what it excludes leaves."""
        wanted = self._with_needs(name)
        present = set(self.fitted if fitted is None else fitted)
        return tuple(
            m for m in self.measures if m in wanted or (m in present and not self._clashes(m, wanted))
        )

    def _with_needs(self, name: str) -> set[str]:
        seen: set[str] = set()
        waiting = [name]
        while waiting:
            measure = waiting.pop()
            if measure in self.measures and measure not in seen:
                seen.add(measure)
                waiting += self.measures[measure].needs
        return seen

    def _clashes(self, name: str, others: set[str]) -> bool:
        return any(name in self.measures[o].excludes or o in self.measures[name].excludes for o in others)

    def _in_order(self, fitted: Iterable[str], findings: Findings) -> tuple[str, ...]:
        wanted = set(fitted)
        for name in sorted(wanted - set(self.measures)):
            findings.append(self._no_measure(name))
        return tuple(name for name in self.measures if name in wanted)

    def _no_measure(self, name: str) -> Finding:
        place = Where(self.kit.source.name if self.kit else KIT)
        return unknown(f"unknown measure {name!r}", name, self.measures, place, code="measure.unknown")

    def _needed_first(self, names: tuple[str, ...]) -> list[str]:
        """In file order, but a measure after those it needs: it may change what they add."""
        known = set(names)
        done: dict[str, None] = {}
        for name in names:
            waiting = {
                name: iter(self.measures[name].needs)
            }  # a path of needs, the newest last; no recursion: it may be long
            while waiting:
                newest, needs = next(reversed(waiting.items()))
                below = next((n for n in needs if n in known and n not in done and n not in waiting), None)
                if below is None:
                    done.setdefault(newest)
                    del waiting[newest]
                else:
                    waiting[below] = iter(self.measures[below].needs)
        return list(done)

    def _check_choice(self, names: tuple[str, ...], findings: Findings) -> None:
        for name in names:
            measure = self.measures[name]
            for other in measure.excludes:
                if other in names:
                    findings.error(
                        f"measures {name!r} and {other!r} exclude each other",
                        self.where_measure(name),
                        next_step="fit only one of them",
                        code="measure.excludes",
                    )
            for other in measure.needs:
                if other not in names:
                    findings.error(
                        f"measure {name!r} needs {other!r}, which is not fitted",
                        self.where_measure(name),
                        next_step=f"fit {other} as well, or leave {name} out",
                        code="measure.needs",
                    )

    def _car_tree(self) -> Mapping | None:
        if self.car is None:
            return None
        tree = self.car.tree
        entries = {key: node for key, node in tree.entries.items() if key not in HEAD_KEYS}
        keys = {key: tree.keys[key] for key in entries}
        return Mapping(entries, keys, tree.file, tree.line)

    def _changed(self, tree: Mapping, name: str, findings: Findings) -> Mapping:
        measures = self.kit.tree.entries.get("measures") if self.kit else None
        node = measures.entries.get(name) if isinstance(measures, Mapping) else None
        return Changer(name, node, findings).apply(tree) if isinstance(node, Mapping) else tree

    def _built(
        self, tree: Mapping | None, names: tuple[str, ...], title: str, head: KitHead, findings: Findings
    ) -> Variant | None:
        if tree is None:
            return None
        reader = Reader(findings, currency=head.currency, memory=self.memory)
        assembly = reader.record(ROOT, tree, "")
        if not isinstance(assembly, Assembly) or findings.errors:
            return None
        assembly = assembly.model_copy(update={"exhaust": in_flow_order(assembly.exhaust)})
        fitted = [self.measures[name] for name in names]
        no_effect = unfelt(assembly)
        variant = Variant(
            title,
            head,
            assembly,
            names,
            head.base.cost + sum(m.cost for m in fitted),
            head.base.mass + sum(m.mass for m in fitted),
            head.base.labour + sum(m.labour for m in fitted),
            {path: spread for path, spread in reader.spreads.items() if path not in no_effect},
            tree,
            str(self.folder),
        )
        findings.extend(check_variant(variant))
        return variant


def in_flow_order(pieces: dict[str, ExhaustPiece]) -> dict[str, ExhaustPiece]:
    """Pieces in the order written, each `after` moved behind the piece it names."""
    order = [name for name, piece in pieces.items() if piece.after not in pieces or piece.after == name]
    waiting = [name for name in pieces if name not in order]
    while waiting:
        ready = [name for name in waiting if pieces[name].after in order]
        if not ready:
            return {name: pieces[name] for name in [*order, *waiting]}
        for name in reversed(ready):
            order.insert(order.index(str(pieces[name].after)) + 1, name)
        waiting = [name for name in waiting if name not in ready]
    return {name: pieces[name] for name in order}
