"""Single values of a car by dotted path: where they stand, what they are declared as, and new ones for them.

A value that is set from Python passes the very check that one in a file passes: same declaration, same words.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple, TypeGuard

from heatproof.kit.convert import Reader
from heatproof.kit.fields import Field, fields_of
from heatproof.kit.findings import Findings, Refused, Where, listed, nearest
from heatproof.kit.records.base import Record
from heatproof.kit.tree import Scalar
from heatproof.units.parse import check_range, read
from heatproof.units.quantity import Quantity, UnitError
from heatproof.units.show import display

NAME_ONE = "name a value that this variant has, e.g. air.passages.gap.area"


# --- walking ----------------------------------------------------------------------------------------------
def attribute(key: str) -> str:
    """Python name of a key of a file."""
    return "from_" if key == "from" else key


def child(holder: Any, key: str) -> Any:
    """The value under a key of a record, a mapping or a list. KeyError where there is none."""
    if isinstance(holder, dict):
        return holder[key]
    if isinstance(holder, Record) and attribute(key) in type(holder).model_fields:
        return getattr(holder, attribute(key))
    if isinstance(holder, tuple) and key.isdigit() and int(key) < len(holder):
        return holder[int(key)]
    raise KeyError(key)


def with_values(root: Any, values: Mapping[str, Any]) -> Any:
    """A copy of a record tree with the values at some dotted paths changed, unchecked, in one pass; untouched branches are shared.

    KeyError where there is no such place.
    """
    changes: dict[str, Any] = {}
    for path, value in values.items():
        *above, last = path.split(".")
        node = changes
        for key in above:
            node = node.setdefault(key, {})
        node[last] = Leaf(value)
    return _changed(root, changes)


class Leaf(NamedTuple):
    """A new value at the end of a path, which may itself be a mapping."""

    value: Any


def _changed(holder: Any, changes: Mapping[str, Any]) -> Any:
    new = {}
    for key, change in changes.items():
        old = child(holder, key)
        new[key] = change.value if isinstance(change, Leaf) else _changed(old, change)
    if isinstance(holder, dict):
        return {**holder, **new}
    if isinstance(holder, tuple):
        return tuple(new.get(str(k), item) for k, item in enumerate(holder))
    return holder.model_copy(update={attribute(key): value for key, value in new.items()})


# --- what is declared -------------------------------------------------------------------------------------
def field_at(root: Record, path: str) -> tuple[Field | None, Any]:
    """(field, value) at a path; the field of the list where the path counts into one, None for a named record.

    Refused where nothing stands there, with the nearest key.
    """
    holder: Any = root
    field: Field | None = None
    for key in path.split("."):
        try:
            value = child(holder, key)
        except KeyError:
            raise no_such(path, holder, key) from None
        if isinstance(holder, Record):
            field = fields_of(type(holder))[key]
        elif isinstance(holder, dict):
            field = None
        holder = value
    return field, holder


def quantity_at(root: Record, path: str) -> Quantity:
    """Declaration of the number at a path. Refused where there is no such number, with the nearest key."""
    field, value = field_at(root, path)
    if field is not None and isinstance(field.declaration, Quantity) and is_number(value):
        return field.declaration
    raise no_such(path, root, path.split(".")[-1], "no number stands there")


def is_number(value: Any) -> TypeGuard[float]:
    """A number, and neither true nor false."""
    return isinstance(value, float | int) and not isinstance(value, bool)


def no_such(path: str, holder: Any, key: str, what: str = "no such value") -> Refused:
    """A refusal that names what is there."""
    known = list(holder) if isinstance(holder, dict) else []
    if isinstance(holder, Record):
        known = list(fields_of(type(holder)))
    return Refused.of(
        f"{what}: {path}",
        got=key,
        allowed=listed(known) or "a path as in car.yaml",
        nearest=nearest(key, known),
        next_step=NAME_ONE,
        code="path.unknown",
    )


# --- new values -------------------------------------------------------------------------------------------
def value_of(text: str, quantity: Quantity, path: str, currency: str = "EUR") -> float:
    """SI value of a text for a path. Refused where it cannot be read."""
    try:
        return read(text.strip(), quantity, currency)
    except UnitError as error:
        raise Refused.of(
            f"{path}: {error}",
            got=text,
            next_step="write a number with its unit",
            amounts=error.amounts,
            code="value.unreadable",
        ) from error


def checked(root: Record, path: str, value: Any, currency: str = "") -> Any:
    """What a new value at a path stands for, as SI or a name.

    value: a text as in a file (`0.5 bar`), an SI number, a list of either, true, false or None (only where the file
    may leave it out). Refused, with what is allowed, where the file would be.
    """
    field, old = field_at(root, path)
    if field is None or field.shape in ("record", "records", "list", "free", "points"):
        raise Refused.of(
            f"{path} is no single value",
            Where(path=path),
            got=type(old).__name__,
            allowed=listed(below(old)),
            next_step="name one value below it",
            code="value.shape",
        )
    inside = field.shape == "numbers" and not isinstance(old, tuple)
    if value is None and not inside and not field.required and field.default is None:
        return None
    if field.shape == "numbers" and not inside:
        return tuple(_number(field, item, path, currency) for item in _items(field, value, path))
    if field.shape in ("number", "numbers"):
        return _number(field, value, path, currency)
    return _word(field, value, path)


def below(value: Any) -> list[str]:
    """Keys of a record or a mapping."""
    return list(fields_of(type(value))) if isinstance(value, Record) else list(value) if value else []


def _items(field: Field, value: Any, path: str) -> list[Any]:
    if isinstance(value, str | Mapping) or not hasattr(value, "__iter__"):
        raise Refused.of(
            f"{path} is a list",
            Where(path=path),
            got=str(value)[:80],
            allowed=f"a list of numbers in {field.quantity.unit}",
            next_step=f"write [a, b, …], or {path}.0 for the first of them",
            code="value.shape",
        )
    return list(value)


def _number(field: Field, value: Any, path: str, currency: str) -> float:
    quantity = field.quantity
    try:
        if isinstance(value, str):
            return read(value, quantity, currency)
        if not is_number(value):
            raise UnitError(
                "not a number", got=repr(value)[:80], allowed=f"a number in {quantity.unit}, or SI"
            )
        check_range(float(value), quantity, display(float(value), quantity, 6))
    except UnitError as error:
        raise Refused.of(
            f"{path}: {error.what}",
            Where(path=path),
            got=error.got or str(value),
            allowed=error.allowed or quantity.unit,
            nearest=error.nearest,
            next_step=error.next_step or "write it as in a file, e.g. '15 mm', or as an SI number",
            amounts=error.amounts,
            code="value.unreadable",
        ) from error
    return float(value)


def _word(field: Field, value: Any, path: str) -> Any:
    """A text, choice, switch, whole number or list of names, read as from a file."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str | int | float):
        text = str(value)
    elif field.shape == "names" and all(isinstance(item, str) for item in value):
        return tuple(value)
    else:
        raise Refused.of(
            f"{path}: not what belongs here", Where(path=path), got=repr(value)[:80], code="value.shape"
        )
    findings = Findings()
    result = Reader(findings).value(field, Scalar(text, quoted=field.shape == "text"), path)
    findings.refuse_errors()
    return result
