"""Results typed once: what a field of an answer means, said where it is declared, and all ways out of the program from that.

A field of a result (a dataclass, SI inside) says its unit, and where needed how it is called outside::

    @dataclass(frozen=True)
    class Row:
        title: str
        peak: Annotated[float, degC]
        half: Annotated[float | None, K, Shown("spread", "Spread")]
        margin: Annotated[float, K, Shown(label="Margin")]
        drawn_by: Annotated[str, HIDDEN] = ""

From the declaration follow

- `plain(row)`: the JSON object, `{"title": …, "peak_degC": …, "spread_K": …, "margin_K": …}`;
- `columns(Row)`: key, unit, label and type of each, for a table of any kind: `plain(row)[column.key]` is its cell;
- `schema(Row)`: the JSON Schema of `plain`;
- `stored(row)` and `restored(Row, data)`: everything, hidden fields as well, SI, exact to the last bit.

A property with an annotated return type is shown like a field and not stored. `INLINE` spreads a nested result into the
one that holds it. Rows of a table in a paper or on a screen are texts made from the same fields: they round and join
(`−6 ± 8 K`), so each document spells them itself.
"""

import types
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

Result = TypeVar("Result")


# --- what a field says of itself ------------------------------------------------------------------------------
@dataclass(frozen=True)
class Unit:
    """The unit a field is shown in: number shown = SI value · scale + offset. The symbol ends its key."""

    symbol: str
    scale: float = 1.0
    offset: float = 0.0

    def of(self, value: float) -> float:
        """The number shown. An exact scale of 1 is left out, so that what is SI already stays as it is to the last bit."""
        return (value if self.scale == 1.0 else value * self.scale) + self.offset


K, degC = Unit("K"), Unit("degC", offset=-273.15)
s, W, Pa, kg, m, m2 = Unit("s"), Unit("W"), Unit("Pa"), Unit("kg"), Unit("m"), Unit("m2")


@dataclass(frozen=True)
class Shown:
    """key: name outside, the unit's symbol apart; the field's own where empty. label: heading of its column."""

    key: str = ""
    label: str = ""
    hidden: bool = False
    inline: bool = False


HIDDEN, INLINE = Shown(hidden=True), Shown(inline=True)


@dataclass(frozen=True)
class Column:
    """One value of a result as it is shown. kind: its Python type, without the annotations."""

    name: str
    key: str
    unit: Unit | None
    label: str
    kind: Any
    inline: bool = False


def _column(name: str, hint: Any) -> Column | None:
    """None where the field is hidden."""
    marks = getattr(hint, "__metadata__", ())
    shown = next((mark for mark in marks if isinstance(mark, Shown)), Shown())
    unit = next((mark for mark in marks if isinstance(mark, Unit)), None)
    if shown.hidden:
        return None
    key = (shown.key or name) + (f"_{unit.symbol}" if unit else "")
    label = shown.label or (shown.key or name).replace("_", " ").capitalize()
    kind = get_args(hint)[0] if get_origin(hint) is Annotated else hint
    return Column(name, key, unit, label, kind, shown.inline)


@cache
def _own_columns(kind: type) -> tuple[Column, ...]:
    """Fields in their order, then annotated properties; hidden ones left out."""
    hints = get_type_hints(kind, include_extras=True)
    known = [_column(field.name, hints[field.name]) for field in fields(kind)]  # type: ignore[arg-type]
    for holder in reversed(kind.__mro__):
        for name, member in vars(holder).items():
            if isinstance(member, property):
                hint = get_type_hints(member.fget, include_extras=True).get("return")
                known += [_column(name, hint)] if get_origin(hint) is Annotated else []
    return tuple(column for column in known if column is not None)


def columns(kind: type) -> tuple[Column, ...]:
    """Every value of a result of this kind as it is shown, nested ones marked `INLINE` in their place.

    `name` of a nested one is a dotted path. ValueError where two would have the same key.
    """
    found: list[Column] = []
    for column in _own_columns(kind):
        if column.inline:
            found += [
                Column(f"{column.name}.{c.name}", c.key, c.unit, c.label, c.kind)
                for c in columns(column.kind)
            ]
        else:
            found.append(column)
    keys = [column.key for column in found]
    if len(set(keys)) != len(keys):
        raise ValueError(f"{kind.__name__}: two values share a key among {keys}")
    return tuple(found)


# --- shown ----------------------------------------------------------------------------------------------------
def plain(result: Any) -> dict[str, Any]:
    """The JSON object of a result, in the units its fields declare."""
    found: dict[str, Any] = {}
    kind: Any = type(result)
    for column in _own_columns(kind):
        value = getattr(result, column.name)
        found |= plain(value) if column.inline else {column.key: _shown(value, column.unit)}
    return found


def _shown(value: Any, unit: Unit | None) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return plain(value)
    if isinstance(value, Mapping):
        return {str(key): _shown(below, unit) for key, below in value.items()}
    if isinstance(value, tuple | list):
        return [_shown(below, unit) for below in value]
    if isinstance(value, np.ndarray):
        return _shown(value.tolist(), unit)
    return unit.of(value) if unit is not None and value is not None else value


# --- JSON Schema ----------------------------------------------------------------------------------------------
NAMES: dict[Any, str] = {str: "string", bool: "boolean", int: "integer", float: "number"}


def schema(kind: type) -> dict[str, Any]:
    """JSON Schema of `plain(result)`: every key is there, always; nothing else is."""
    found = {column.key: _schema_of(column.kind, column.unit) for column in columns(kind)}
    return {
        "type": "object",
        "properties": found,
        "required": sorted(found),
        "additionalProperties": False,
    }


def _schema_of(kind: Any, unit: Unit | None) -> dict[str, Any]:
    kind, unit = _bare(kind, unit)
    origin, inner = get_origin(kind), get_args(kind)
    if kind in NAMES:
        return {"type": NAMES[kind]} | ({"description": unit.symbol} if unit and kind is float else {})
    if is_dataclass(kind):
        return schema(kind)  # type: ignore[arg-type]
    if origin is Literal:
        return {"enum": list(inner)}
    if origin in (Union, types.UnionType):
        return {"anyOf": [{"type": "null"} if k is type(None) else _schema_of(k, unit) for k in inner]}
    if origin is not None and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _schema_of(inner[1], unit)}
    if origin is tuple and inner[-1:] != (...,):
        items = [_schema_of(k, unit) for k in inner]
        return {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}
    if origin in (tuple, list):
        return {"type": "array", "items": _schema_of(inner[0], unit)}
    return {"type": "array"} if kind is np.ndarray else {}


def _bare(kind: Any, unit: Unit | None) -> tuple[Any, Unit | None]:
    """Annotations inside a type (`tuple[Annotated[float, K], …]`) taken off."""
    if get_origin(kind) is not Annotated:
        return kind, unit
    own = next((mark for mark in kind.__metadata__ if isinstance(mark, Unit)), unit)
    return get_args(kind)[0], own


# --- kept -----------------------------------------------------------------------------------------------------
def stored(value: Any) -> Any:
    """Plain data of a result with everything in it, SI; `restored` makes it again."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: stored(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, np.ndarray):
        return {"dtype": value.dtype.str, "shape": list(value.shape), "values": value.ravel().tolist()}
    if isinstance(value, Mapping):
        return {key: stored(below) for key, below in value.items()}
    if isinstance(value, tuple | list):
        return [stored(below) for below in value]
    return value


def restored(kind: type[Result], data: Any) -> Result:
    """The result again. TypeError, KeyError or ValueError where the data is not one of this kind."""
    made: Result = _restored(kind, data)
    return made


def _restored(kind: Any, data: Any) -> Any:
    kind = _bare(kind, None)[0]
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        others = [k for k in inner if k is not type(None)]
        if data is None and len(others) < len(inner):
            return None
        if len(others) > 1:
            raise TypeError(f"{kind}: a stored value has one type, or that and None")
        return _restored(others[0], data)
    if is_dataclass(kind):
        hints = get_type_hints(kind, include_extras=True)
        known = {field.name: _restored(hints[field.name], data[field.name]) for field in fields(kind)}
        if len(data) != len(known):
            raise ValueError(f"{kind}: fields too many")
        return kind(**known)  # type: ignore[operator]
    if kind is np.ndarray:
        return np.array(data["values"], dtype=data["dtype"]).reshape(data["shape"])
    if origin is Literal:
        if data not in inner:
            raise ValueError(f"{data!r} is none of {inner}")
        return data
    if origin is not None and issubclass(origin, Mapping):
        return {key: _restored(inner[1], below) for key, below in data.items()}
    if origin is tuple:
        _expect(data, list)
        if inner[-1:] == (...,):
            return tuple(_restored(inner[0], below) for below in data)
        return tuple(_restored(k, below) for k, below in zip(inner, data, strict=True))
    return float(_expect(data, float, int)) if kind is float else _expect(data, kind)


def _expect(data: Any, *kinds: type) -> Any:
    """The value itself. TypeError where it is of another type: `True` is no number."""
    if type(data) not in kinds:
        raise TypeError(f"{data!r} is not {kinds[0].__name__}")
    return data
