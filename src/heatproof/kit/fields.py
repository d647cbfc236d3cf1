"""What a record class asks for, key by key, and the same in words: the one view that reader, merge, schema and reference
share."""

from dataclasses import dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from heatproof.kit.records.base import Record
from heatproof.units.quantity import Declaration, Quantity, Reference, Text, declaration_in
from heatproof.units.show import display, show

# number: float with a Quantity; numbers: tuple of them; points: tuple of triples; names: tuple of references.
Shape = Literal[
    "number",
    "numbers",
    "points",
    "text",
    "names",
    "whole",
    "switch",
    "choice",
    "record",
    "records",
    "list",
    "free",
]


@dataclass(frozen=True)
class Field:
    """One key of a record. `classes`: record classes it may hold (`record`, named `records`, `list`)."""

    key: str
    name: str
    shape: Shape
    declaration: Declaration
    required: bool
    default: Any = None
    choices: tuple[str, ...] = ()
    classes: tuple[type[Record], ...] = ()

    @property
    def quantity(self) -> Quantity:
        """The declaration of a number."""
        assert isinstance(self.declaration, Quantity)
        return self.declaration


@cache
def fields_of(record: type[Record]) -> dict[str, Field]:
    """Key in the file → field."""
    fields = {}
    for name, info in record.model_fields.items():
        key = info.alias or name
        shape, choices, classes = _shape(info.annotation)
        declaration = declaration_in(info.metadata) or Text("")
        if shape == "text" and choices == ("list",):
            shape, choices = "names", ()
        default = None if info.is_required() else info.get_default(call_default_factory=True)
        fields[key] = Field(key, name, shape, declaration, info.is_required(), default, choices, classes)
    return fields


def _shape(annotation: Any) -> tuple[Shape, tuple[str, ...], tuple[type[Record], ...]]:
    annotation = _bare(annotation)
    simple: dict[Any, Shape] = {float: "number", str: "text", int: "whole", bool: "switch"}
    if annotation in simple:
        return simple[annotation], (), ()
    origin = get_origin(annotation)
    if origin is Literal:
        return "choice", tuple(get_args(annotation)), ()
    if origin is tuple:
        return _listed(_bare(get_args(annotation)[0]))
    if origin is dict:
        classes = _classes(get_args(annotation)[1])
        return ("records", (), classes) if classes else ("free", (), ())
    classes = _classes(annotation)
    if classes:
        return "record", (), classes
    raise TypeError(f"no rule for {annotation}")


def _listed(inner: Any) -> tuple[Shape, tuple[str, ...], tuple[type[Record], ...]]:
    if inner is float:
        return "numbers", (), ()
    if inner is str:
        return "names", (), ()
    if get_origin(inner) is tuple:
        return "points", (), ()
    return "list", (), _classes(inner)


def _bare(annotation: Any) -> Any:
    """Without Annotated and without `| None`."""
    if get_origin(annotation) is Annotated:
        return _bare(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        rest = [a for a in get_args(annotation) if a is not NoneType]
        return _bare(rest[0]) if len(rest) == 1 else annotation
    return annotation


def _classes(annotation: Any) -> tuple[type[Record], ...]:
    annotation = _bare(annotation)
    options = get_args(annotation) if get_origin(annotation) in (Union, UnionType) else (annotation,)
    return tuple(o for o in options if isinstance(o, type) and issubclass(o, Record))


def discriminator(classes: tuple[type[Record], ...]) -> str:
    """The key (`kind` or `type`) that tells record classes apart."""
    return "kind" if "kind" in classes[0].model_fields else "type"


def label(record: type[Record]) -> str:
    """The discriminator's value of a class."""
    return str(record.model_fields[discriminator((record,))].default)


def default_class(classes: tuple[type[Record], ...]) -> type[Record] | None:
    """The class meant where no kind is written: the only one, or `hose`."""
    return classes[0] if len(classes) == 1 or label(classes[0]) == "hose" else None


def reference_of(field: Field) -> Reference | None:
    """The reference a field declares, or None."""
    return field.declaration if isinstance(field.declaration, Reference) else None


# --- in words -------------------------------------------------------------------------------------------------
def unit_words(quantity: Quantity) -> str:
    """Unit as people are told: `number` where there is none."""
    return {"1": "number", "EUR": "money"}.get(quantity.unit, quantity.unit)


def range_words(quantity: Quantity) -> str:
    """`0.1 mm to 200 mm`, with rounded ends."""
    return f"{display(quantity.low, quantity, 4)} to {display(quantity.high, quantity, 4)}"


def default_words(field: Field) -> str:
    """Default as it would be written, `required`, or nothing."""
    if field.required:
        return "required"
    if field.default is None or field.default in ("", (), {}):
        return ""
    if field.shape == "number":
        return show(field.default, field.quantity)
    if field.shape == "switch":
        return "true" if field.default else "false"
    return str(field.default) if field.shape in ("text", "choice", "whole") else "as below"


def type_words(field: Field) -> str:
    """Unit of a number, or what else belongs there."""
    if isinstance(field.declaration, Quantity):
        many = {"numbers": "list of ", "points": "list of points in "}.get(field.shape, "")
        return many + unit_words(field.declaration)
    if isinstance(field.declaration, Reference):
        names = "names in " if field.shape == "names" else "name in "
        also = "".join(f", or {word}" for word in field.declaration.also)
        return names + field.declaration.to + also
    words = {
        "text": "text",
        "names": "list of texts",
        "whole": "whole number",
        "switch": "true or false",
        "choice": " / ".join(field.choices),
        "record": "see " + ", ".join(c.__name__ for c in field.classes),
        "records": "named: " + ", ".join(c.__name__ for c in field.classes),
        "list": "list of " + ", ".join(c.__name__ for c in field.classes),
        "free": "free form",
    }
    return words[field.shape]


def example(quantity: Quantity, default: float | None) -> str:
    """A way to write a value."""
    low, high = quantity.low, quantity.high
    if default is None:
        linear = low < 0 < high or quantity.kind == "temperature"
        default = (low + high) / 2 if linear else (max(low, high * 1e-6) * high) ** 0.5
    return display(default, quantity, 2).replace("−", "-")
