"""Folders of tests can be run in any mixture: modules that tests share have names of their own."""

import re
import sys
from collections import Counter
from pathlib import Path

HERE = Path(__file__).parent
SOURCES = sorted(HERE.rglob("*.py"))


def test_no_two_modules_share_a_name() -> None:
    """Outside packages a test's folder is on the path, so the first module of a name would be taken for all."""
    names = Counter(path.stem for path in SOURCES if not (path.parent / "__init__.py").exists())
    assert [name for name, count in names.items() if count > 1 and name != "conftest"] == []
    assert not names.keys() & set(sys.stdlib_module_names)


def test_nothing_is_imported_from_conftest() -> None:
    """Which of them that is hangs on the folders named on the command line."""
    asked = re.compile(r"^\s*(from|import) conftest\b", re.MULTILINE)
    assert [path.name for path in SOURCES if asked.search(path.read_text(encoding="utf-8"))] == []
