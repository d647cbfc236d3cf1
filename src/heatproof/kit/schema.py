"""What people and editors are told of the files, made from the declarations.

`python -m heatproof.kit.schema docs/schema docs/reference` writes JSON Schemas of car, kit and duty files into the first
folder and every parameter as markdown (`car.md`, `kit.md`, `duty.md`) into the second. Schemas check form; names, ranges
and what belongs together are the reader's.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from heatproof._files import write_whole
from heatproof.kit.fields import (
    Field,
    default_class,
    default_words,
    discriminator,
    example,
    fields_of,
    range_words,
    type_words,
    unit_words,
)
from heatproof.kit.records.base import NAME_PATTERN, Record
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.engine import SpeedCurve
from heatproof.kit.records.variant import Assembly, CarFile, KitFile
from heatproof.units.grammar import unit
from heatproof.units.quantity import Quantity, Reference
from heatproof.units.table import NONE

# --- schemas --------------------------------------------------------------------------------------------------
Json = dict[str, Any]
FILES: dict[str, type[Record]] = {"car": CarFile, "kit": KitFile, "duty": Duty}
NUMBER = r"^\s*[+\-−]?(\d+\.?\d*|\.\d+)([eE][+\-−]?\d+)?\s*"
PATH_PATTERN = r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+$"


def schemas() -> dict[str, Json]:
    """`car`, `kit`, `duty` → JSON Schema (draft 2020-12)."""
    return {name: _Schema(record).document(name) for name, record in FILES.items()}


def write_schemas(folder: Path) -> list[Path]:
    """Writes `car.json`, `kit.json`, `duty.json`; returns their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, schema in schemas().items():
        path = folder / f"{name}.json"
        write_whole(path, text_of(schema).encode())
        paths.append(path)
    return paths


def text_of(schema: Json) -> str:
    """A schema as it is written."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


class _Schema:
    """Gathers `$defs` while walking the records."""

    def __init__(self, root: type[Record]) -> None:
        self.root, self.defs = root, dict[str, Json]()

    def document(self, name: str) -> Json:
        body = self._record(self.root, partial=False)
        head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"heatproof {name} file"}
        return {**head, **body, "$defs": {**VALUES, **self.defs}}

    def _ref(self, record: type[Record], partial: bool) -> Json:
        key = record.__name__ + ("Change" if partial else "")
        if key not in self.defs:
            self.defs[key] = {}
            self.defs[key] = self._record(record, partial)
        return {"$ref": f"#/$defs/{key}"}

    def _record(self, record: type[Record], partial: bool) -> Json:
        fields = fields_of(record)
        properties = {key: self._field(field, partial) for key, field in fields.items()}
        if record is SpeedCurve:
            properties |= {"spread": {"type": ["string", "number"]}, "source": {"type": "string"}}
        required = [] if partial else [key for key, field in fields.items() if field.required]
        about = (record.__doc__ or "").strip().split("\n\n")[0]
        result: Json = {"type": "object", "description": about, "properties": properties}
        if required:
            result["required"] = required
        return {**result, "additionalProperties": False}

    def _field(self, field: Field, partial: bool) -> Json:
        body = self._body(field, partial)
        return {"description": description(field), **body, **_default(field)}

    def _body(self, field: Field, partial: bool) -> Json:
        if field.key in ("changes", "add"):
            return self._ref(Assembly, partial=True)
        if field.key == "set":
            return {"type": "object", "propertyNames": {"pattern": PATH_PATTERN}}
        match field.shape:
            case "number":
                return number(field.quantity)
            case "numbers":
                return {"type": "array", "items": plain_number(field.quantity)}
            case "points":
                point = {"type": "array", "items": plain_number(field.quantity), "minItems": 3, "maxItems": 3}
                return {"type": "array", "items": point}
            case "record":
                return self._union(field, partial)
            case "records":
                return {
                    "type": "object",
                    "propertyNames": {"pattern": NAME_PATTERN},
                    "additionalProperties": self._union(field, partial),
                }
            case "list":
                return {"type": "array", "items": self._union(field, partial)}
            case "names":
                return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
        return _simple(field)

    def _union(self, field: Field, partial: bool) -> Json:
        if len(field.classes) == 1:
            return self._ref(field.classes[0], partial)
        fallback = default_class(field.classes)
        key = discriminator(field.classes)
        options = []
        for record in field.classes:
            option = self._ref(record, partial)
            options.append(option if partial or record is fallback else {**option, "required": [key]})
        return {"anyOf": options}


def _simple(field: Field) -> Json:
    match field.shape:
        case "choice" if len(field.choices) == 1:
            return {"const": field.choices[0]}
        case "choice":
            return {"enum": list(field.choices)}
        case "switch":
            return {"type": "boolean"}
        case "whole":
            return {"type": "integer", "minimum": 1}
        case "free":
            return {"type": "object"}
    return {"type": ["string", "number"]}


def description(field: Field) -> str:
    """Meaning, unit and range in one sentence each."""
    declared = field.declaration
    if isinstance(declared, Quantity):
        source = f" Default from: {declared.source}." if declared.source else ""
        return f"{declared.meaning} [{unit_words(declared)}]. Range {range_words(declared)}.{source}"
    if isinstance(declared, Reference):
        return f"{declared.meaning} (a name in {declared.to})"
    return declared.meaning


def _default(field: Field) -> Json:
    if field.required or field.shape not in ("number", "switch", "choice", "whole", "text"):
        return {}
    if field.shape in ("switch", "whole"):
        return {"default": field.default} if field.default is not None else {}
    words = default_words(field)
    more = {"examples": [example(field.quantity, field.default)]} if field.shape == "number" else {}
    return {**({"default": words} if words else {}), **more}


def plain_number(quantity: Quantity) -> Json:
    """A value without spread."""
    return {"$ref": f"#/$defs/{_value_kind(quantity)}"}


def number(quantity: Quantity) -> Json:
    """A value, plain or with spread and source."""
    return {"$ref": f"#/$defs/{_value_kind(quantity)}_or_spread"}


def _value_kind(quantity: Quantity) -> str:
    if quantity.kind != "plain":
        return quantity.kind
    return "number" if unit(quantity.unit)[1] == NONE else "with_unit"


SPREAD = (
    "Half width that holds about 95 % of cases: 15 % of the value, or in its unit; points for a value in %"
)


UNIT_PATTERNS = {
    "with_unit": r"[^\s\d.,].*$",
    "number": r"(%|percent)?$",
    "temperature": r"(degC|°C|degF|°F)$",
    "difference": r"(K|mK|deg[CF] difference)$",
    "gauge": r"[^\s\d.,].*?(gauge|g|\(g\))$",
    "absolute": r"[^\s\d.,].*?(absolute|abs|a|\(a\))$",
    "money": r"[A-Z]{3}$",
}


def _value_definitions() -> dict[str, Json]:
    """The ways to write a value, by kind: each plain, and with spread and source."""
    definitions: dict[str, Json] = {}
    for kind, pattern in UNIT_PATTERNS.items():
        text: Json = {"type": "string", "pattern": NUMBER + pattern}
        definitions[kind] = {"anyOf": [{"type": "number"}, text]} if kind == "number" else text
        parts = {
            "value": {"$ref": f"#/$defs/{kind}"},
            "spread": {"type": ["string", "number"], "description": SPREAD},
            "source": {"type": "string", "description": "Where value and spread come from"},
        }
        spread = {"type": "object", "properties": parts, "required": ["value"], "additionalProperties": False}
        definitions[f"{kind}_or_spread"] = {"anyOf": [{"$ref": f"#/$defs/{kind}"}, spread]}
    return definitions


VALUES = _value_definitions()


# --- reference ------------------------------------------------------------------------------------------------
INTRO = f"""Made from the declarations in the code; do not edit.

Any number is plain (`350 W/K`) or `{{value: 350 W/K, spread: 15 %, source: "bench test"}}`. {SPREAD}.
Pressures over ambient or vacuum need the word `gauge` or `absolute`; temperature differences are in `K`.
"""


def pages() -> dict[str, str]:
    """`car`, `kit`, `duty` → markdown."""
    return {name: _page(name, record) for name, record in FILES.items()}


def write_pages(folder: Path) -> list[Path]:
    """Writes the pages; returns their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in pages().items():
        path = folder / f"{name}.md"
        write_whole(path, text.encode())
        paths.append(path)
    return paths


def _page(name: str, root: type[Record]) -> str:
    skip = set(_records(Assembly)) if name != "car" else set()
    sections = [_section(record) for record in _records(root) if record not in skip]
    return f"# {name}.yaml\n\n{INTRO}\n" + "\n".join(sections)


def _records(root: type[Record]) -> Iterator[type[Record]]:
    """A record class and those below it, each once, depth first."""
    seen: dict[type[Record], None] = {}

    def walk(record: type[Record]) -> None:
        if record in seen:
            return
        seen[record] = None
        for field in fields_of(record).values():
            for below in field.classes:
                walk(below)

    walk(root)
    yield from seen


def _section(record: type[Record]) -> str:
    about = " ".join((record.__doc__ or "").split())
    rows = "\n".join(_row(key, field) for key, field in fields_of(record).items())
    more = "\nA curve may also hold `spread` and `source`.\n" if record is SpeedCurve else ""
    head = "| key | unit or kind | default | range | meaning |\n|---|---|---|---|---|"
    return f"## {record.__name__}\n\n{about}\n\n{head}\n{rows}\n{more}"


def _row(key: str, field: Field) -> str:
    declared = field.declaration
    bounds = range_words(declared) if isinstance(declared, Quantity) else ""
    default = default_words(field)
    if isinstance(declared, Quantity) and declared.spread:
        default += f" ± {declared.spread} ({declared.source})" if default else ""
    cells = (f"`{key}`", type_words(field), default, bounds, declared.meaning)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    schema_folder, page_folder = map(Path, sys.argv[1:3])
    write_schemas(schema_folder)
    write_pages(page_folder)
