"""Every public law says its units and where it comes from."""

import importlib
import inspect
import pkgutil
import re

import pytest

import heatproof.laws
import heatproof.media

PACKAGES = (heatproof.laws, heatproof.media)
# Helpers that read files or name things: no physics in them.
NOT_LAWS = {"rows_of"}


def public_functions():
    for package in PACKAGES:
        for info in pkgutil.iter_modules(package.__path__, package.__name__ + "."):
            module = importlib.import_module(info.name)
            for name, thing in vars(module).items():
                function = getattr(thing, "py_func", thing)
                function = getattr(function, "__wrapped__", function)
                if name.startswith("_") or name in NOT_LAWS or not inspect.isfunction(function):
                    continue
                if function.__module__ == info.name:
                    yield pytest.param(function, id=f"{info.name.removeprefix('heatproof.')}.{name}")


@pytest.mark.parametrize("function", list(public_functions()))
def test_docstring_has_unit_and_source(function):
    text = inspect.getdoc(function) or ""
    assert re.search(r"\[[^\]]+\]", text), f"{function.__name__}: no unit in brackets"
    assert "Source:" in text or "no source" in text, f"{function.__name__}: no source"


@pytest.mark.parametrize("function", list(public_functions()))
def test_function_is_short(function):
    lines = inspect.getsource(function).splitlines()
    doc = (inspect.getdoc(function) or "").count("\n") + 3
    assert len(lines) - doc <= 45
