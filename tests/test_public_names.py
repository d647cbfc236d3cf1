"""What `from heatproof import …` gives: listed in three places, which have to agree, and described in the docs."""

import ast
import inspect
import typing
from importlib import import_module
from pathlib import Path

import pytest

import heatproof
from heatproof.doors.reference import python

TOP = Path(heatproof.__file__)
ROOT = Path(__file__).parents[1]


def told_to_type_checkers() -> dict[str, str]:
    """Name to module, from the imports that only a type checker sees."""
    found = {}
    for node in ast.parse(TOP.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            for one in node.body:
                assert isinstance(one, ast.ImportFrom)
                found |= {alias.name: str(one.module) for alias in one.names}
    return found


def test_the_lists_agree() -> None:
    assert told_to_type_checkers() == heatproof._SHORT_WAYS
    assert set(heatproof.__all__) == {"__version__", *heatproof._SHORT_WAYS}


@pytest.mark.parametrize("name", sorted(heatproof._SHORT_WAYS))
def test_each_name_is_there_typed_and_told(name: str) -> None:
    found = getattr(heatproof, name)
    assert found is getattr(import_module(heatproof._SHORT_WAYS[name]), name)
    assert inspect.getdoc(found)
    if inspect.isfunction(found):
        hints = found.__annotations__
        assert {*inspect.signature(found).parameters, "return"} <= set(hints)
    assert f"`{name}`" in (ROOT / "docs" / "how-to" / "python-session.md").read_text(encoding="utf-8")
    assert f"`{name}`" in python()


def test_nothing_else_is_there() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'no_such_name'"):
        _ = heatproof.no_such_name  # type: ignore[attr-defined]
    assert set(heatproof.__all__) <= set(dir(heatproof))


def test_the_package_says_that_it_is_typed() -> None:
    """PEP 561: a marker file beside the code, else type checkers ignore its annotations."""
    assert (TOP.parent / "py.typed").is_file()
    assert typing.get_type_hints(heatproof.check)["return"] is heatproof.CheckAnswer
    assert issubclass(heatproof.CheckAnswer, heatproof.Verdict)
