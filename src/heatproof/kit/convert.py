"""Tree → records: every value against its declaration (unit, range, spread, source), every slip a finding with its line."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Unpack

from heatproof._visible import harmless, visible
from heatproof.kit.fields import Field, default_class, discriminator, fields_of, label
from heatproof.kit.findings import NOWHERE, Findings, More, Where, listed, nearest
from heatproof.kit.records.base import NAME_PATTERN, Record
from heatproof.kit.records.engine import SpeedCurve
from heatproof.kit.tree import Mapping, Node, Scalar, Sequence
from heatproof.units.parse import read, read_half_width
from heatproof.units.quantity import Quantity, UnitError

# --- single values --------------------------------------------------------------------------------------------
VALUE_KEYS = ("value", "spread", "source")
# Two standard deviations hold about 95 % of a normal distribution: a spread is that half width.
DEVIATIONS = 2.0


@dataclass(frozen=True)
class Spread:
    """How far a value may be off: SI value, one standard deviation (half the spread in the file)."""

    value: float
    sd: float
    source: str = ""
    where: Where = NOWHERE


@dataclass
class ValueReader:
    """Reads single values; gathers findings and spreads by dotted path."""

    findings: Findings = field(default_factory=Findings)
    spreads: dict[str, Spread] = field(default_factory=dict)
    currency: str = ""

    # one method a shape -------------------------------------------------------------------------------------

    def number(self, wanted: Field, node: Node, path: str) -> float | None:
        quantity = wanted.quantity
        if isinstance(node, Mapping):
            return self._spread_value(quantity, node, path)
        if not isinstance(node, Scalar):
            self._wrong_shape(node, path, "one value", f"write one value in {quantity.unit}")
            return None
        return self._read(node, quantity, path)

    def numbers(self, wanted: Field, node: Node, path: str) -> tuple[float, ...] | None:
        if not isinstance(node, Sequence):
            self._wrong_shape(node, path, "a list", f"write [a, b, …] in {wanted.quantity.unit}")
            return None
        read_all = [self._item(item, wanted.quantity, f"{path}.{i}") for i, item in enumerate(node.items)]
        return None if None in read_all else tuple(v for v in read_all if v is not None)

    def points(self, wanted: Field, node: Node, path: str) -> tuple[tuple[float, ...], ...] | None:
        if not isinstance(node, Sequence):
            self._wrong_shape(node, path, "a list of points", "write [[x, y, z], …] in m")
            return None
        rows = [self.numbers(wanted, item, f"{path}.{i}") for i, item in enumerate(node.items)]
        for row, item in zip(rows, node.items, strict=True):
            if row is not None and len(row) != 3:
                self._error(
                    "a point has three numbers",
                    item,
                    path,
                    got=f"{len(row)}",
                    next_step="write [x, y, z]",
                    code="shape.numbers",
                )
        return tuple(row for row in rows if row is not None)

    def text(self, wanted: Field, node: Node, path: str) -> str | None:
        if isinstance(node, Scalar):
            return self._shown_text(wanted, node, path)
        self._wrong_shape(node, path, "a text", "write a text; put it in quotes where it holds , : or #")
        return None

    def _shown_text(self, wanted: Field, node: Scalar, path: str) -> str | None:
        """A text that people are shown: a name says something and stands on one line; nothing in it steers a screen."""
        one_line = wanted.name in ("name", "title", "revision")
        if wanted.name in ("name", "revision") and not node.text.strip():
            self._error(
                f"{wanted.name} is empty",
                node,
                path,
                next_step="write one, or leave the line out",
                code="text.empty",
            )
            return None
        odd = [c for c in node.text if not harmless(c) and (one_line or c not in "\n\t")]
        if odd:
            self._error(
                f"{wanted.name} holds characters that do not show",
                node,
                path,
                got=visible(node.text)[:100],
                next_step="write it without line breaks, control characters and marks of direction",
                code="text.control",
            )
            return None
        return node.text

    def names(self, wanted: Field, node: Node, path: str) -> tuple[str, ...] | None:
        if isinstance(node, Scalar):
            return (node.text,)
        if isinstance(node, Sequence) and all(isinstance(item, Scalar) for item in node.items):
            return tuple(item.text for item in node.items if isinstance(item, Scalar))
        self._wrong_shape(node, path, "one name or a list of names", "write [first, second]")
        return None

    def whole(self, wanted: Field, node: Node, path: str) -> int | None:
        if isinstance(node, Scalar) and re.fullmatch(r"\d{1,6}", node.text) and int(node.text) > 0:
            return int(node.text)
        got = node.text if isinstance(node, Scalar) else ""
        self._error(
            "not a whole number above zero", node, path, got=got, next_step="write e.g. 4", code="value.whole"
        )
        return None

    def switch(self, wanted: Field, node: Node, path: str) -> bool | None:
        if isinstance(node, Scalar) and node.text in ("true", "false"):
            return node.text == "true"
        got = node.text if isinstance(node, Scalar) else ""
        self._error(
            "not true or false",
            node,
            path,
            got=got,
            allowed="true, false",
            next_step="write true or false",
            code="value.switch",
        )
        return None

    def choice(self, wanted: Field, node: Node, path: str) -> str | None:
        if isinstance(node, Scalar) and node.text in wanted.choices:
            return node.text
        got = node.text if isinstance(node, Scalar) else ""
        self._error(
            f"{wanted.key} is none of the allowed words",
            node,
            path,
            got=got,
            allowed=listed(wanted.choices),
            nearest=nearest(got, wanted.choices),
            next_step="use one of the allowed words",
            code="value.choice",
        )
        return None

    # helpers ------------------------------------------------------------------------------------------------

    def _item(self, node: Node, quantity: Quantity, path: str) -> float | None:
        if isinstance(node, Scalar):
            return self._read(node, quantity, path)
        self._wrong_shape(node, path, "one value", f"write one value in {quantity.unit}")
        return None

    def _read(self, node: Scalar, quantity: Quantity, path: str) -> float | None:
        try:
            return read(node.text, quantity, self.currency)
        except UnitError as error:
            self._unit_error(error, node, path, quantity)
            return None

    def _spread_value(self, quantity: Quantity, node: Mapping, path: str) -> float | None:
        for key in node.entries:
            if key not in VALUE_KEYS:
                self._error(
                    f"unknown key {key!r}",
                    node.keys[key],
                    path,
                    allowed=listed(VALUE_KEYS),
                    nearest=nearest(key, VALUE_KEYS),
                    next_step="write {value: …, spread: …, source: …}",
                    code="key.unknown",
                )
        given = node.entries.get("value")
        if given is None:
            self._error(
                "value is missing",
                node,
                path,
                allowed=listed(VALUE_KEYS),
                next_step="add value: …",
                code="value.missing",
            )
            return None
        value = self._item(given, quantity, path)
        if value is not None:
            self._spread(quantity, node, path, value)
        return value

    def _spread(self, quantity: Quantity, node: Mapping, path: str, value: float) -> None:
        spread, source = node.entries.get("spread"), node.entries.get("source")
        said = source.text if isinstance(source, Scalar) else ""
        if spread is None:
            return
        if not isinstance(spread, Scalar):
            self._wrong_shape(spread, path, "one value", "write spread: 15 %")
            return
        try:
            width = read_half_width(spread.text, quantity, value)
        except UnitError as error:
            self._unit_error(error, spread, f"{path}.spread", quantity)
            return
        if width == 0:
            self._warn_empty_spread(spread, path, value)
        self.spreads[path] = Spread(value, width / DEVIATIONS, said, Where(spread.file, spread.line, path))

    def _warn_empty_spread(self, spread: Scalar, path: str, value: float) -> None:
        hint = "write the spread in the value's unit" if value == 0 else "remove it, or give a width"
        self.findings.warning(
            "spread comes to zero",
            Where(spread.file, spread.line, path),
            got=spread.text,
            next_step=hint,
            code="spread.zero",
        )

    def _unit_error(self, error: UnitError, node: Scalar, path: str, quantity: Quantity) -> None:
        self._error(
            error.what,
            node,
            path,
            got=error.got or node.text,
            allowed=error.allowed or quantity.unit,
            nearest=error.nearest,
            next_step=error.next_step,
            amounts=error.amounts,
            code="value.unreadable",
        )

    def _wrong_shape(self, node: Node, path: str, allowed: str, next_step: str) -> None:
        got = (
            node.text
            if isinstance(node, Scalar)
            else "a list"
            if isinstance(node, Sequence)
            else "keys and values"
        )
        self._error(
            "not what belongs here",
            node,
            path,
            got=got[:80],
            allowed=allowed,
            next_step=next_step,
            code="value.shape",
        )

    def _error(self, what: str, node: Node, path: str, **more: Unpack[More]) -> None:
        self.findings.error(what, Where(node.file, node.line, path), **more)


# --- records --------------------------------------------------------------------------------------------------
NAME = re.compile(NAME_PATTERN)


@dataclass(frozen=True)
class Remembered:
    """What reading one named record gave."""

    record: Record | None
    spreads: dict[str, Spread]
    findings: Findings


@dataclass
class Reader(ValueReader):
    """Reads trees into records; gathers findings and spreads by dotted path."""

    memory: dict[tuple[Node, str], "Remembered"] = field(default_factory=dict)

    def record(self, classes: tuple[type[Record], ...], node: Node, path: str) -> Record | None:
        """The record of one of `classes`, or None with findings."""
        if not isinstance(node, Mapping):
            self._wrong_shape(node, path, "keys and values", "write {key: value, …}")
            return None
        chosen = self._choose(classes, node, path)
        if chosen is None:
            return None
        values, sound = self._values(chosen, node, path, classes)
        return chosen(**values) if sound else None

    def _values(
        self, record: type[Record], node: Mapping, path: str, classes: tuple[type[Record], ...]
    ) -> tuple[dict[str, Any], bool]:
        known, values, before = fields_of(record), {}, len(self.findings.errors)
        for key, item in node.entries.items():
            if key not in known:
                if not (record is SpeedCurve and key in ("spread", "source")):
                    self._unknown(key, known, node, path, classes)
                continue
            below = f"{path}.{key}" if path else key
            values[known[key].name] = self.value(known[key], item, below)
        for key, wanted in known.items():
            if key not in node.entries:
                self._left_out(wanted, node, f"{path}.{key}" if path else key)
        if record is SpeedCurve:
            self._curve_spread(node, path)
        return values, len(self.findings.errors) == before

    def value(self, wanted: Field, node: Node, path: str) -> Any:
        """The value of one field: SI float, text, record … None with a finding where it cannot be read."""
        if isinstance(node, Scalar) and not node.text and not node.quoted:
            self._error(
                "value is missing",
                node,
                path,
                next_step="write a value after the colon, or remove the key",
                code="value.missing",
            )
            return None
        return _SHAPES[wanted.shape](self, wanted, node, path)

    def _choose(self, classes: tuple[type[Record], ...], node: Mapping, path: str) -> type[Record] | None:
        fallback = default_class(classes)
        if len(classes) == 1:
            return fallback
        key = discriminator(classes)
        given = node.entries.get(key)
        if given is None and fallback is not None:
            return fallback
        labels = {label(c): c for c in classes}
        if isinstance(given, Scalar) and given.text in labels:
            return labels[given.text]
        got = given.text if isinstance(given, Scalar) else ""
        what = f"unknown {key} {got!r}" if got else f"{key} is missing"
        self._error(
            what,
            given or node,
            f"{path}.{key}" if given else path,
            got=got,
            allowed=listed(labels),
            nearest=nearest(got, labels),
            next_step=f"write {key}: and one of the allowed words",
            code="value.choice",
        )
        return None

    # one method a shape, beside those of single values -----------------------------------------------------

    def one_record(self, wanted: Field, node: Node, path: str) -> Record | None:
        return self.record(wanted.classes, node, path)

    def records(self, wanted: Field, node: Node, path: str) -> dict[str, Record] | None:
        if not isinstance(node, Mapping):
            self._wrong_shape(node, path, "names and what they stand for", "write name: {key: value, …}")
            return None
        records = {}
        for name, item in node.entries.items():
            if not NAME.match(name):
                self._error(
                    f"name {name!r} is not allowed",
                    node.keys[name],
                    f"{path}.{name}",
                    allowed="small letters, digits and _, a letter first",
                    next_step="rename it",
                    code="name.form",
                )
            record = self._remembered(wanted, item, f"{path}.{name}")
            if record is not None:
                records[name] = record
        return records

    def _remembered(self, wanted: Field, node: Node, path: str) -> Record | None:
        """A named record, read once: variants share the nodes that no measure touches."""
        known = self.memory.get((node, path))
        if known is None:
            apart = Reader(currency=self.currency, memory=self.memory)
            known = Remembered(apart.record(wanted.classes, node, path), apart.spreads, apart.findings)
            self.memory[node, path] = known
        self.spreads.update(known.spreads)
        self.findings.extend(known.findings)
        return known.record

    def record_list(self, wanted: Field, node: Node, path: str) -> tuple[Record, ...] | None:
        if not isinstance(node, Sequence):
            self._wrong_shape(node, path, "a list", "write one entry a line, each after `- `")
            return None
        rows = [self.record(wanted.classes, item, f"{path}.{i}") for i, item in enumerate(node.items)]
        return tuple(row for row in rows if row is not None)

    def free(self, wanted: Field, node: Node, path: str) -> Any:
        if not isinstance(node, Mapping):
            self._wrong_shape(node, path, "keys and values", "write {key: value, …}")
            return None
        return plain(node)

    # helpers ------------------------------------------------------------------------------------------------

    def _curve_spread(self, node: Mapping, path: str) -> None:
        factor = fields_of(SpeedCurve)["factor"]
        if "spread" in node.entries:
            self._spread(factor.quantity, node, f"{path}.factor", factor.default)

    def _left_out(self, wanted: Field, node: Mapping, path: str) -> None:
        if wanted.required:
            unit = f" in {wanted.quantity.unit}" if wanted.shape in ("number", "numbers") else ""
            self._error(
                f"required {wanted.key!r} is missing",
                node,
                path,
                allowed=f"{wanted.declaration.meaning}{unit}",
                next_step=f"add {wanted.key}: …",
                code="value.missing",
            )
        elif wanted.shape == "number" and wanted.quantity.spread and wanted.default is not None:
            width = read_half_width(wanted.quantity.spread, wanted.quantity, wanted.default)
            source = wanted.quantity.source or "default"
            self.spreads[path] = Spread(wanted.default, width / DEVIATIONS, source, Where(path=path))

    def _unknown(
        self, key: str, known: dict[str, Field], node: Mapping, path: str, classes: tuple[type[Record], ...]
    ) -> None:
        owners = [f"{discriminator(classes)}: {label(c)}" for c in classes if key in fields_of(c)]
        self._error(
            f"unknown key {key!r}",
            node.keys[key],
            f"{path}.{key}" if path else key,
            allowed=listed(known, 40),
            nearest="" if owners else nearest(key, known),
            next_step=f"it belongs to {' or '.join(owners)}; correct the kind, or remove the key"
            if owners
            else "correct the spelling or remove the key",
            code="key.unknown",
        )


_SHAPES: dict[str, Callable[[Reader, Field, Node, str], Any]] = {
    "number": Reader.number,
    "numbers": Reader.numbers,
    "points": Reader.points,
    "text": Reader.text,
    "names": Reader.names,
    "whole": Reader.whole,
    "switch": Reader.switch,
    "choice": Reader.choice,
    "record": Reader.one_record,
    "records": Reader.records,
    "list": Reader.record_list,
    "free": Reader.free,
}


def plain(node: Node) -> Any:
    """Nested dicts, lists and texts of a node, for free-form entries."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key: plain(item) for key, item in node.entries.items()}
