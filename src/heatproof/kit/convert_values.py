"""One value of a tree against its declaration: a number, a list, a text, a choice; with unit, spread and source."""

import re
from dataclasses import dataclass, field
from typing import Unpack

from heatproof.kit.fields import Field
from heatproof.kit.findings import Findings, More, listed, nearest
from heatproof.kit.records.variant import Spread, Where
from heatproof.kit.tree import Mapping, Node, Scalar, Sequence
from heatproof.units.errors import UnitError
from heatproof.units.parse import read, read_half_width
from heatproof.units.quantity import Quantity

VALUE_KEYS = ("value", "spread", "source")
# Two standard deviations hold about 95 % of a normal distribution: a spread is that half width.
DEVIATIONS = 2.0


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
                    "a point has three numbers", item, path, got=f"{len(row)}", next_step="write [x, y, z]"
                )
        return tuple(row for row in rows if row is not None)

    def text(self, wanted: Field, node: Node, path: str) -> str | None:
        if isinstance(node, Scalar):
            return node.text
        self._wrong_shape(node, path, "a text", "write a text; put it in quotes where it holds , : or #")
        return None

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
        self._error("not a whole number above zero", node, path, got=got, next_step="write e.g. 4")
        return None

    def switch(self, wanted: Field, node: Node, path: str) -> bool | None:
        if isinstance(node, Scalar) and node.text in ("true", "false"):
            return node.text == "true"
        got = node.text if isinstance(node, Scalar) else ""
        self._error(
            "not true or false", node, path, got=got, allowed="true, false", next_step="write true or false"
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
                )
        given = node.entries.get("value")
        if given is None:
            self._error("value is missing", node, path, allowed=listed(VALUE_KEYS), next_step="add value: …")
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
            "spread comes to zero", Where(spread.file, spread.line, path), got=spread.text, next_step=hint
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
        )

    def _wrong_shape(self, node: Node, path: str, allowed: str, next_step: str) -> None:
        got = (
            node.text
            if isinstance(node, Scalar)
            else "a list"
            if isinstance(node, Sequence)
            else "keys and values"
        )
        self._error("not what belongs here", node, path, got=got[:80], allowed=allowed, next_step=next_step)

    def _error(self, what: str, node: Node, path: str, **more: Unpack[More]) -> None:
        self.findings.error(what, Where(node.file, node.line, path), **more)
