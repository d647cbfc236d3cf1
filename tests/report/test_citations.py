"""A paper cites only what the program's own solver calls: read from the sources, so that no list can claim more."""

import ast
from pathlib import Path

import heatproof
from heatproof.report.citations import FITTED_TO, MODELS

SOURCES = Path(heatproof.__file__).parent


def names_in(tree: ast.AST) -> set[str]:
    """Every name that a piece of source reads, bare or as an attribute."""
    bare = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    return bare | {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}


def called_laws() -> set[tuple[str, str]]:
    """(module, function or class) of the laws that a room outside `laws` reads, or that such a law reads in turn."""
    bodies: dict[tuple[str, str], set[str]] = {}
    outside: set[str] = set()
    for path in SOURCES.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if path.parent == SOURCES / "laws":
            laws = (node for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef))
            bodies |= {(path.stem, node.name): names_in(node) for node in laws}
        else:
            outside |= names_in(tree)
    called: set[tuple[str, str]] = set()
    read = outside
    while fresh := {law for law in bodies if law[1] in read} - called:
        called |= fresh
        read = set().union(*(bodies[law] for law in fresh))
    return called


def test_every_cited_model_is_called_by_the_solver() -> None:
    assert {(module, name) for module, name, _, _ in MODELS} <= called_laws()


def test_a_law_that_nothing_calls_is_told_apart() -> None:
    """Dittus-Boelter stands in `laws` and no run reaches it: the reading above must see that, or it checks nothing."""
    assert ("convection", "nusselt_dittus_boelter") not in called_laws()
    assert ("convection", "surface_coefficient") in called_laws()


def test_fits_belong_to_cited_models() -> None:
    assert set(FITTED_TO) <= {f"{module}.{name}" for module, name, _, _ in MODELS}
