"""The page "Your own car" runs as written, and its dialogue asks every question."""

import re
import time
from pathlib import Path

import pytest
from sheet_projects import HERE
from typer.testing import CliRunner

from heatproof.doors.cli import make_app
from heatproof.doors.dialogue import Left, ask_all, unfinished
from heatproof.kit.read import read_project
from heatproof.kit.tree import Source
from heatproof.sheet.project import start_from_sheet
from heatproof.sheet.questions import questions
from heatproof.sheet.reading import sheet_of

PAGE = (HERE.parents[1] / "docs" / "own-car.md").read_text(encoding="utf-8")


def test_the_page_runs_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (sheet,) = re.findall(r"```yaml sheet\n(.*?)```", PAGE, re.DOTALL)
    Path("sheet.yaml").write_text(sheet)
    commands = "".join(re.findall(r"```sh run\n(.*?)```", PAGE, re.DOTALL)).splitlines()
    assert len(commands) >= 6
    begun = time.monotonic()
    for command in commands:
        result = CliRunner().invoke(make_app(), command.split()[1:])
        assert result.exit_code in (0, 1), f"{command}\n{result.output}"
    assert time.monotonic() - begun < 15 * 60
    assert "brake_hose" in read_project(tmp_path / "my-estate").variant().parts


def answers_of(text: str) -> dict[str, str]:
    """Answers as a person would type them, from a sheet."""
    from heatproof.sheet.project import values_of

    return {path: " ".join(v) if isinstance(v, list) else str(v) for path, v in values_of(text, "sheet.yaml")}


def test_the_dialogue_asks_all_goes_back_and_keeps_answers(tmp_path: Path) -> None:
    """Keys of a person: answers from the estate's sheet, one wrong, one back, one quit, then on to the end."""
    text = (HERE / "estate.yaml").read_text(encoding="utf-8")
    answers, asked, said = answers_of(text), list(questions()), []
    folder = tmp_path / "own"
    keys = [answers.get(q.path, "") for q in asked]
    assert keys[1] == "lengthways_turbo_low"
    first = iter([keys[0], "sideways", keys[1], "back", keys[1], keys[2], "quit"])
    with pytest.raises(Left):
        ask_all(folder, lambda prompt: next(first), said.append)
    assert any("nearest" in line or "one of" in line for line in said)
    assert unfinished(folder).is_file()
    rest = iter(["", "", "", *keys[3:], "brake_line", "120 mm", "brake_lin", ""])
    sheet = ask_all(folder, lambda prompt: next(rest), said.append)
    assert not unfinished(folder).exists()
    record, _ = sheet_of(Source("sheet.yaml", sheet))
    meant, _ = sheet_of(Source("sheet.yaml", text))
    assert record.model_copy(update={"near": meant.near}) == meant
    assert set(record.near) == {"brake_line"}
    start_from_sheet(folder, Source("sheet.yaml", sheet))
    assert read_project(folder).variant().parts
