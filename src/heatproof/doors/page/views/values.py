"""Any value of the project with its unit, range, meaning, source and spread: what forms are made from."""

from collections.abc import Iterator
from typing import Any

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.units import form_range, form_text, reader
from heatproof.kit.fields import Field, fields_of, type_words
from heatproof.kit.findings import Finding, Refused, nearest
from heatproof.kit.records.base import Record
from heatproof.kit.records.variant import Variant
from heatproof.kit.tree import Mapping, Node
from heatproof.kit.values import child
from heatproof.units.quantity import Quantity
from heatproof.units.show import display

MOST_FOUND = 60


def all_values(variant: Variant) -> Iterator[tuple[str, Field, Any]]:
    """(dotted path, field, SI value) of every plain value of a variant."""
    yield from _below("", variant.assembly)


def _below(path: str, holder: Any) -> Iterator[tuple[str, Field, Any]]:
    if isinstance(holder, dict):
        for key, one in holder.items():
            yield from _below(f"{path}.{key}" if path else key, one)
    elif isinstance(holder, Record):
        for key, field in fields_of(type(holder)).items():
            value = child(holder, key)
            here = f"{path}.{key}" if path else key
            if field.shape in ("record", "records"):
                yield from _below(here, value)
            elif field.shape in ("number", "text", "whole", "switch", "choice") and value is not None:
                yield here, field, value


def value_view(variant: Variant, desk: Desk, path: str, field: Field, value: Any) -> dict[str, Any]:
    """One value as a form shows it."""
    number = isinstance(field.declaration, Quantity)
    spread = variant.spreads.get(path)
    where = variant.where(path)
    file, file_path = place_of(desk, path)
    return {
        "path": path,
        "key": field.key,
        "shape": field.shape,
        "text": form_text(value, field.quantity, variant.head.currency)
        if number
        else ("true" if value is True else "false" if value is False else str(value)),
        "unit": type_words(field),
        "range": form_range(field.quantity) if number else "",
        "choices": list(field.choices),
        "meaning": field.declaration.meaning,
        "spread": "" if spread is None or not number else spread_text(field, spread.sd),
        "source": "" if spread is None else spread.source,
        "where": str(where) if where.line else "not written: the default",
        "file": file,
        "file_path": file_path,
        "edited": any(f == file and p == file_path for f, p, _ in desk.state.edits),
    }


def spread_text(field: Field, sd: float) -> str:
    """Half width (two standard deviations) in the declared unit."""
    quantity = field.quantity
    if quantity.kind == "temperature":
        return f"± {reader().difference_value(2 * sd):.3g} {reader().step}"
    bare = Quantity(
        quantity.unit, -1e30, 1e30, "", "plain" if quantity.kind in ("gauge", "absolute") else quantity.kind
    )
    unit = quantity.unit.removesuffix(" gauge").removesuffix(" absolute")
    return f"± {display(2.0 * sd, bare, 2, unit)}"


def place_of(desk: Desk, path: str) -> tuple[str, str]:
    """File and path in it where a value of the present variant is written, or would be."""
    project, keys = desk.project_of(desk.state), path.split(".")
    best = ("car.yaml", path, 0)
    places: list[tuple[str, list[str], Node | None]] = [
        ("car.yaml", [], project.car.tree if project.car else None)
    ]
    if project.kit is not None:
        places.append(("kit.yaml", ["changes"], project.kit.tree.entries.get("changes")))
        measures = project.kit.tree.entries.get("measures")
        for name in desk.state.fitted:
            measure = measures.entries.get(name) if isinstance(measures, Mapping) else None
            for heading in ("add", "set"):
                if isinstance(measure, Mapping) and heading in measure.entries:
                    places.append(("kit.yaml", ["measures", name, heading], measure.entries[heading]))
    for file, head, node in places:
        depth = reach(node, keys)
        if depth and depth >= best[2]:
            best = (file, ".".join([*head, *keys]), depth)
    return best[0], best[1]


def reach(node: Node | None, keys: list[str]) -> int:
    """How many keys of a path stand in a tree; keys of a file may hold dots. A sub-tree that only sets less than
    a record counts only where it holds the whole path or the record it belongs to."""
    if not isinstance(node, Mapping) or not keys:
        return 0
    for used in range(len(keys), 0, -1):
        below = node.entries.get(".".join(keys[:used]))
        if below is not None:
            return used + reach(below, keys[used:])
    return 0


def one_value(desk: Desk, path: str) -> dict[str, Any]:
    """The value at a path. Refused with the nearest path."""
    variant = desk.variant_of(desk.state)
    paths = []
    for here, field, value in all_values(variant):
        if here == path:
            return value_view(variant, desk, path, field, value)
        paths.append(here)
    raise Refused(
        [
            Finding(
                "error",
                f"nothing stands at {path!r}",
                nearest=nearest(path, paths),
                next_step="look it up with Find",
            )
        ]
    )


def find_view(desk: Desk, text: str) -> dict[str, Any]:
    """Parts, measures and values whose name holds every word of a text."""
    variant, project = desk.variant_of(desk.state), desk.project_of(desk.state)
    words = text.lower().replace("_", " ").split()

    def fits(*texts: str) -> bool:
        whole = " ".join(texts).lower().replace("_", " ").replace(".", " ")
        return all(word in whole for word in words)

    base = desk.base()
    parts = [
        {"part": r.part, "title": r.title, "state": r.state}
        for r in (base.verdict.worst_rows if base else ())
        if fits(r.part, r.title)
    ]
    measures = [
        {"name": n, "title": m.title or n, "fitted": n in desk.state.fitted}
        for n, m in project.measures.items()
        if fits(n, m.title)
    ]
    values = []
    for path, field, value in all_values(variant):
        if fits(path, field.declaration.meaning):
            values.append(value_view(variant, desk, path, field, value))
            if len(values) >= MOST_FOUND:
                break
    return {"parts": parts[:20], "measures": measures[:20], "values": values}
