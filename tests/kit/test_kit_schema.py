"""Schemas and reference pages say what the declarations say, and the committed files are up to date."""

from pathlib import Path

import pytest
import yaml

from heatproof.kit import schema
from heatproof.kit.fields import fields_of
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import CarFile, KitFile
from heatproof.units.quantity import Quantity, Reference

jsonschema_rs = pytest.importorskip("jsonschema_rs")
DOCS = Path(__file__).parents[2] / "docs"


def validator(name):
    return jsonschema_rs.Draft202012Validator(schema.schemas()[name])


def load(path: Path):
    return yaml.safe_load(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", ["car", "kit", "duty"])
def test_committed_files_are_up_to_date(name):
    hint = "run python -m heatproof.kit.schema docs/schema docs/reference"
    assert (DOCS / "schema" / f"{name}.json").read_text(encoding="utf-8") == schema.text_of(
        schema.schemas()[name]
    ), hint
    assert (DOCS / "reference" / f"{name}.md").read_text(encoding="utf-8") == schema.pages()[name], hint


@pytest.mark.parametrize("name", ["car", "kit", "duty"])
def test_schemas_are_valid_schemas(name):
    assert jsonschema_rs.meta.is_valid(schema.schemas()[name])


def test_examples_validate(example: Path):
    for folder in (example, Path(__file__).parent / "small"):
        for name in ("car", "kit"):
            assert list(validator(name).iter_errors(load(folder / f"{name}.yaml"))) == []
        for duty in (folder / "duties").glob("*.yaml"):
            assert list(validator("duty").iter_errors(load(duty))) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("vehicle.mass", 900),
        ("vehicle.mass", "900"),
        ("vehicle.masss", "900 kg"),
        ("coolant.cap_pressure", "1 bar"),
        ("engine.gas_temperature", "700 K"),
        ("links.manifold_to_loom.kind", "facin"),
        ("parts.Loom", {"mass": "1 kg"}),
        ("parts.loom.limit.continuous", "125"),
        ("engine.cylinders", 0),
        ("cores.radiator.rated.heat_per_kelvin", {"spread": "3 %"}),
    ],
)
def test_schema_catches_what_an_editor_should(path, value):
    car = load(Path(__file__).parent / "small" / "car.yaml")
    holder = car
    *above, last = path.split(".")
    for key in above:
        holder = holder[key]
    holder[last] = value
    assert not validator("car").is_valid(car)


@pytest.mark.parametrize("root", [CarFile, KitFile, Duty])
def test_every_field_is_declared_with_a_meaning(root):
    seen, todo = set(), [root]
    while todo:
        record = todo.pop()
        if record in seen:
            continue
        seen.add(record)
        assert record.__doc__
        for key, field in fields_of(record).items():
            assert field.declaration.meaning, f"{record.__name__}.{key}"
            if field.shape in ("number", "numbers", "points"):
                assert isinstance(field.declaration, Quantity), f"{record.__name__}.{key}"
                assert field.quantity.low < field.quantity.high
            if field.shape == "number" and field.default is not None:
                assert field.quantity.low <= field.default <= field.quantity.high, f"{record.__name__}.{key}"
            if isinstance(field.declaration, Reference):
                assert field.shape in ("text", "names")
            todo += field.classes
