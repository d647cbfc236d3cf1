"""The docs: links lead somewhere, commands are understood as written, examples of files can be read, the tutorial runs."""

import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer
import yaml

from heatproof.doors.cli import make_app
from heatproof.doors.reference import command_line, page_names, signed_files, write_pages
from heatproof.doors.verbs import VERBS
from heatproof.kit.read import read_project
from heatproof.report.signed_files import Deviation, read_deviations, read_tested
from heatproof.report.signed_files import Tested as Measured

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
SMALL = ROOT / "tests" / "kit" / "small"
LINK = re.compile(r"(?<!\\)\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"^( *)(`{3,})([^\n`]*)\n(.*?)^\1\2 *$", re.MULTILINE | re.DOTALL)
MADE = (DOCS / "reference" / "made").resolve()
SHIPPED = ("README.md", "examples/README.md")


def written() -> list[Path]:
    """Pages that people write."""
    skip = {DOCS / "reference" / "made", DOCS / "site"}
    pages = [p for p in sorted(DOCS.rglob("*.md")) if not any(s in p.parents for s in skip)]
    return [*pages, *(ROOT / name for name in SHIPPED)]


def prose(page: Path) -> str:
    """A page without its fenced blocks."""
    return FENCE.sub("", page.read_text(encoding="utf-8"))


def anchors(page: Path) -> set[str]:
    """Anchors of the headings, as GitHub and the site make them."""
    heads = re.findall(r"^#+ (.+)$", prose(page), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


# --- links ------------------------------------------------------------------------------------------------
def test_links_lead_somewhere() -> None:
    """Within the docs; pages made from the code count by their names (their own links: the site's build)."""
    broken = []
    for page in written():
        for target in LINK.findall(prose(page)):
            if re.match(r"[a-z]+:", target):
                continue
            name, _, anchor = target.partition("#")
            path = (page.parent / name).resolve() if name else page
            if path.parent == MADE and path.name in page_names():
                continue
            if not path.exists() or (anchor and anchor not in anchors(path)):
                broken.append(f"{page.name}: {target}")
    assert not broken


def test_every_page_stands_in_the_contents() -> None:
    index = (DOCS / "index.md").read_text()
    for page in written():
        if DOCS in page.parents and page.name != "index.md":
            name = page.relative_to(DOCS).with_suffix("").as_posix()
            assert name in index or f"{name.rpartition('/')[0]}/*" in index, name


def test_gallery_has_every_screen() -> None:
    gallery = (DOCS / "gallery.md").read_text()
    screens = {p.name for p in (DOCS / "shots").glob("*.png") if not re.search(r"-(dark|1024)\.png$", p.name)}
    assert screens
    for name in screens:
        assert f"shots/{name}" in gallery


# --- commands ---------------------------------------------------------------------------------------------
def commands(page: Path) -> Iterator[str]:
    """Every `heatproof …` line in a fenced or indented block of a page."""
    text = page.read_text(encoding="utf-8")
    for line in text.splitlines():
        found = re.match(r"^ {4,}(?:\.venv/bin/)?(heatproof .+)$", line)
        if found:
            yield found[1]
    for _, _, info, body in FENCE.findall(text):
        if info.split()[:1] in (["sh"], ["console"], ["bash"]):
            yield from (line.strip() for line in body.splitlines() if line.strip().startswith("heatproof "))


@pytest.mark.parametrize("page", written(), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_commands_are_understood_as_written(page: Path) -> None:
    group: Any = typer.main.get_command(make_app())
    for line in commands(page):
        words = shlex.split(line, comments=True)[1:]
        if not words or words[0] in ("VERB", "--help"):
            continue
        assert words[0] in group.commands, f"{page.name}: no verb {words[0]!r} in {line!r}"
        # Parsed, not run: an option that is not there raises.
        with group.commands[words[0]].make_context(words[0], list(words[1:])):
            pass


def test_some_commands_were_found() -> None:
    assert sum(1 for page in written() for _ in commands(page)) > 30


# --- files shown in the docs ------------------------------------------------------------------------------
def test_yaml_in_the_docs_can_be_read() -> None:
    found = 0
    for page in written():
        for _, _, info, body in FENCE.findall(page.read_text(encoding="utf-8")):
            if info.split()[:1] == ["yaml"]:
                assert yaml.safe_load(body), page.name
                found += 1
    assert found >= 3


def test_signed_files_in_the_docs_are_read_by_the_program(tmp_path: Path) -> None:
    shutil.copytree(SMALL, tmp_path / "small", ignore=shutil.ignore_patterns("results"))
    folder = tmp_path / "small"
    (folder / "logs").mkdir()
    (folder / "logs" / "run_12.csv").write_text("time,T\n0,20\n")
    shutil.copy(folder / "duties" / "hill.yaml", folder / "duties" / "track_session.yaml")
    duty = (folder / "duties" / "track_session.yaml").read_text()
    (folder / "duties" / "track_session.yaml").write_text(
        re.sub(r"^name: .*$", "name: Track", duty, flags=re.M)
    )
    text = (DOCS / "how-to" / "release.md").read_text()
    for _, _, _, body in FENCE.findall(text):
        for name in ("deviations", "tested"):
            if body.startswith(f"format: heatproof {name} 1"):
                (folder / f"{name}.yaml").write_text(body)
    project = read_project(folder)
    parts = ["steering_boot", "brake_line"]
    assert read_deviations(project, parts)[0].margin == -25.0
    assert read_tested(project, parts)[0].peak == pytest.approx(97.0 + 273.15)


# --- code shown in the docs -------------------------------------------------------------------------------
def test_python_in_the_docs_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks of one page share their names, as in a session; on two duties of the example, to be quick."""
    example = ROOT / "src" / "heatproof" / "examples" / "hatchback"
    shutil.copytree(example, tmp_path / "my-kit", ignore=shutil.ignore_patterns("results"))
    for path in (tmp_path / "my-kit" / "duties").glob("*.yaml"):
        if path.stem not in ("ten_pulls", "flat_out"):
            path.unlink()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MPLBACKEND", "agg")
    ran_blocks = 0
    for page in written():
        names: dict[str, Any] = {}
        for _, _, info, body in FENCE.findall(page.read_text(encoding="utf-8")):
            if info.split()[:1] == ["python"]:
                exec(compile(body, page.name, "exec"), names)
                ran_blocks += 1
    assert ran_blocks >= 5
    assert (tmp_path / "soak.png").read_bytes().startswith(b"\x89PNG")


# --- reference made from the code -------------------------------------------------------------------------
def test_made_pages_name_every_verb_and_key() -> None:
    text = command_line()
    for verb in VERBS:
        assert f"\n## {verb}\n" in text
    for key in (*Deviation.model_fields, *Measured.model_fields):
        assert f"| `{key}` |" in signed_files()


@pytest.mark.slow
def test_all_made_pages_are_written_and_name_no_path_of_this_machine(tmp_path: Path) -> None:
    assert {path.name for path in write_pages(tmp_path)} == page_names()
    for page in tmp_path.glob("*.md"):
        assert str(ROOT) not in page.read_text()
        assert " at 0x" not in page.read_text()


# --- long -------------------------------------------------------------------------------------------------
def tutorial(kind: str) -> list[str]:
    """Commands of the tutorial's blocks of one kind (`run`, `slow`), in order."""
    text = (DOCS / "tutorial.md").read_text()
    return [
        line
        for _, _, info, body in FENCE.findall(text)
        if info.split() == ["sh", kind]
        for line in body.splitlines()
    ]


def ran(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """One command in a folder, as a user types it."""
    words = [sys.executable, "-m", "heatproof.doors.cli", *shlex.split(line)[1:]]
    return subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=900)


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_the_tutorial_runs_as_written(tmp_path: Path) -> None:
    assert len(tutorial("run")) >= 5
    for kind in ("run", "slow"):
        for line in tutorial(kind):
            done = ran(line, tmp_path)
            # 1: a limit is thin or over, which the tutorial says may be.
            assert done.returncode in (0, 1), f"{line}\n{done.stderr}"
            assert "Traceback" not in done.stderr
    assert list((tmp_path / "my-kit" / "releases").glob("*.pdf"))
    assert (tmp_path / "my-kit" / "car.yaml").exists()


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_the_site_builds_without_a_warning(tmp_path: Path) -> None:
    pytest.importorskip("sphinx")
    build = ["-b", "html", "-q", "-W", "--keep-going", str(DOCS), str(tmp_path / "site")]
    done = subprocess.run([sys.executable, "-m", "sphinx", *build], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    page = (tmp_path / "site" / "theory" / "engine.html").read_text()
    assert "<math" in page
    assert "cdn." not in page


def test_first_screens_are_those_of_every_verb() -> None:
    """The page is made by `python docs/screens.py`; here only that no verb is missing and no line is too wide."""
    text = (DOCS / "screens.md").read_text(encoding="utf-8")
    for verb in VERBS:
        assert f"\n## {verb}\n" in text
    for width, shown in re.findall(r"\n(\d+) columns:\n\n```text\n(.*?)\n```", text, re.DOTALL):
        assert max(map(len, shown.splitlines()), default=0) <= int(width)
    assert "State" in text
    assert text.count("Sure") >= 2
