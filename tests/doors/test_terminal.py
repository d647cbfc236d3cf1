"""Blocks on the terminal: nothing a reader needs is dropped, nothing from a file steers the screen."""

import contextlib
import io
import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import jsonschema_rs
import pytest

from heatproof._visible import DIRECTIONS, visible
from heatproof.doors import cli
from heatproof.doors import console as doors_console
from heatproof.doors.check_text import CLOSEST, check_blocks, in_short
from heatproof.doors.safe_text import in_encoding
from heatproof.doors.terminal import PRINTERS, grouped, print_blocks
from heatproof.doors.verbs import VERBS
from heatproof.kit.findings import Finding, Where
from heatproof.report import html
from heatproof.report.blocks import (
    Block,
    Break,
    Bullets,
    Cautions,
    Facts,
    Figure,
    Findings,
    Heading,
    Notice,
    Para,
    SignOff,
    on_paper,
    table,
)
from heatproof.units.results import plain
from heatproof.verdict.margins import Margin
from heatproof.verdict.verdict import Row, Verdict

ESC = "\x1b[31mred\x1b[0m"
HOSTILE = [
    ESC,
    "a\nb",
    "a\rb",
    "x\u202ey",
    "bell\x07",
    "del\x7f",
    "c1\x9b2J",
    "\u2028next",
    "\u2066in",
    "\udcff.yaml",
    "\0",
]
HARMLESS = ["−33 ± 2 K", "100 °C", "Ölkühler", "加熱", "1\u202f805 EUR", "→ ≥ … △", ""]


@pytest.mark.parametrize("text", HOSTILE)
def test_what_would_steer_a_terminal_is_spelled_out(text: str) -> None:
    shown = visible(text)
    assert shown.isprintable()
    assert not set(shown) & DIRECTIONS
    assert shown != text


@pytest.mark.parametrize("text", HARMLESS)
def test_what_only_shows_stays(text: str) -> None:
    assert visible(text) == text


def test_line_breaks_stay_only_where_asked_for() -> None:
    assert (visible("a\nb"), visible("a\nb", breaks=True)) == ("a\\nb", "a\nb")


@pytest.mark.parametrize(
    ("text", "encoding", "shown"),
    [
        ("−33 ± 2 K", "ascii", "-33 +- 2 K"),
        ("−33 ± 2 K", "latin-1", "-33 ± 2 K"),
        ("100 °C ≥ 90 °C", "ascii", "100 deg C >= 90 deg C"),
        ("1\u202f805 EUR", "cp1252", "1 805 EUR"),
        ("Ölkühler", "ascii", "Olkuhler"),
        ("加", "ascii", "?"),
        ("\udcff", "ascii", "\\udcff"),
        ("−33 ± 2 K", "utf-8", "−33 ± 2 K"),
    ],
)
def test_signs_an_encoding_lacks_have_a_plain_form(text: str, encoding: str, shown: str) -> None:
    assert in_encoding(text, encoding) == shown


# --- blocks -----------------------------------------------------------------------------------------------
WARNED = Finding("warning", "Hill: hot", Where("car.yaml", 3), got="1", next_step="cool it", code="x.hot")
EVERY: tuple[Block, ...] = (
    Heading("Head"),
    Para("Text", "small"),
    Bullets(("one", "two"), numbered=True),
    table((("Part", "left", 1), ("Margin", "right", 1), ("Peak", "right", 1)), [("loom", "+3 K", "99 °C")],
          marks=["thin"], note="A note.", least=(0, 0, 90)),
    Facts((("Cost", "5 EUR"),)),
    Figure("<svg/>", "A rising line", "Caption"),
    Notice("Thin: loom", "Text", "thin"),
    Findings((WARNED,)),
    Cautions(("Hot.",)),
)  # fmt: skip


def printed(blocks: tuple[Block, ...], monkeypatch: pytest.MonkeyPatch, columns: int) -> str:
    monkeypatch.setenv("COLUMNS", str(columns))
    stream = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    monkeypatch.setattr(sys, "stdout", stream)
    print_blocks(blocks)
    stream.flush()
    return stream.buffer.getvalue().decode()  # type: ignore[attr-defined,no-any-return]


def test_every_block_is_printed_but_paper_only_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    text = printed(EVERY, monkeypatch, 100)
    for words in (
        "Head",
        "1. one",
        "loom  ",
        "99 °C",
        "A note.",
        "5 EUR",
        "A rising line",
        "Thin: loom",
        "Hot.",
    ):
        assert words in text
    assert "warning: Hill: hot [car.yaml:3]\n  got: 1\n  next step: cool it" in text
    assert {type(block) for block in EVERY} == set(PRINTERS)
    assert set(html.BY_KIND) == {*PRINTERS, SignOff, Break} - {Findings, Cautions}


def test_paper_says_findings_and_cautions_as_lists() -> None:
    assert on_paper(EVERY[-2:]) == (
        Bullets(("car.yaml:3: Hill: hot; got 1; next step: cool it",)), Heading("Cautions", 2), Bullets(("Hot.",)),
    )  # fmt: skip


@pytest.mark.parametrize("columns", [1, 20, 80])
def test_narrow_screens_drop_only_what_a_table_allows(columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    text = printed(EVERY, monkeypatch, columns)
    assert "+3 K" in text
    assert "99 °C" not in text


def test_hostile_names_are_harmless_in_every_block(monkeypatch: pytest.MonkeyPatch) -> None:
    hostile = "".join(HOSTILE)
    finding = Finding("error", hostile, Where(hostile, 1), hostile, hostile, hostile, hostile)
    blocks: tuple[Block, ...] = (
        Heading(hostile), Bullets((hostile,)), table(((hostile, "left", 1),), [(hostile,)], note=hostile),
        Facts(((hostile, hostile),)), Figure("<svg/>", hostile, ""), Notice(hostile, hostile), Findings((finding,)),
        Cautions((hostile,)),
    )  # fmt: skip
    for character in printed(blocks, monkeypatch, 60):
        assert character == "\n" or (character.isprintable() and character not in DIRECTIONS)


def test_findings_of_one_code_say_their_next_step_once() -> None:
    other = replace(WARNED, what="Town: hot")
    alone = Finding("error", "no code", next_step="cool it")
    assert grouped([WARNED, alone, other, replace(alone, level="warning")]) == [
        [alone], [WARNED, other], [replace(alone, level="warning")],
    ]  # fmt: skip


# --- check on one screen ----------------------------------------------------------------------------------
def row(part: str, margin: float, state: str) -> Row:
    found = Margin(380.0, 60.0, 1, 380.0 + margin, 380.0, margin, "continuous")
    return Row(part, part.title(), "hill", "Hill", found, state, 1.0, 2.0, 0.9, part)  # type: ignore[arg-type]


def verdict(rows: list[Row], *findings: Finding) -> Verdict:
    return Verdict(
        "Kit", (), "over", "Over: a.", tuple(rows), (), findings, ("Hot.",), 3, 0.95, 1.0, 1.0, 60.0, "EUR"
    )


def test_check_shows_what_does_not_hold_and_the_closest(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = [
        row("over", -3.0, "over"),
        row("thin", 1.0, "thin"),
        *(row(f"held{k}", 10.0 + k, "holds") for k in range(9)),
    ]
    text = printed(tuple(check_blocks(verdict(rows))), monkeypatch, 80)
    assert f"… 4 more hold, closest +{10 + CLOSEST} K" in text
    assert all(words in text for words in ("Over  ", "Thin  ", "Held4  ", "90 %", "Hot."))
    assert "Held5" not in text
    assert "Held8" in printed(tuple(check_blocks(verdict(rows), everything=True)), monkeypatch, 80)
    assert "Held8" in printed(tuple(check_blocks(verdict(rows), worst=True)), monkeypatch, 80)


def test_findings_of_several_duties_are_said_once() -> None:
    boils = [
        Finding("warning", f"{duty}: coolant boils at tank", Where("d"), code="run.boils")
        for duty in ("Hill", "Town")
    ]
    ends = [Finding("note", "x", code="limit.above_at_end")] * 5
    said = in_short([*boils, *ends, Finding("note", "left out"), Finding("warning", "kept")])
    assert [finding.what for finding in said] == [
        "coolant boils in hill, town",
        "5 parts are still above a continuous limit when the duty ends, within the time allowed",
        "kept",
    ]


# --- JSON -------------------------------------------------------------------------------------------------
def test_json_survives_an_encoding_without_the_signs(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", stream)
    doors_console.print_json({"a": "−33 ± 2 K", "finding": WARNED})
    data = json.loads(stream.buffer.getvalue().decode())  # type: ignore[attr-defined]
    assert data["a"] == "−33 ± 2 K"
    assert (data["finding"]["file"], data["finding"]["code"]) == ("car.yaml", "x.hot")


@pytest.mark.parametrize("columns", ["0", "-5", "many", "", "1", "1e3", "²"])
def test_any_columns_give_a_width(columns: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert 20 <= doors_console.console().width <= 120


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    full = open("/dev/full", "w", encoding="utf-8")  # noqa: SIM115
    monkeypatch.setattr(sys, "stdout", full)
    try:
        with pytest.raises(doors_console.Unwritten, match="No space left"):
            doors_console.print_json({"a": 1})
    finally:
        with contextlib.suppress(OSError):  # what it could not write is still in it
            full.close()


# --- schemas, help ----------------------------------------------------------------------------------------
def test_schema_prints_and_writes_what_answers_follow(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(["schema", "check"]) == 0
    shape = json.loads(capsys.readouterr().out)
    answer = json.loads(json.dumps(plain(verdict([row("a", 1.0, "thin")], WARNED))))
    jsonschema_rs.Draft202012Validator(shape).validate(answer)
    assert not jsonschema_rs.Draft202012Validator(shape).is_valid(answer | {"limits": [{"part": 1}]})
    assert cli.run(["schema", "--out", str(tmp_path / "schema")]) == 0
    said = capsys.readouterr().out
    assert f"$schema={(tmp_path / 'schema' / 'car.json').resolve().as_uri()}" in said
    assert {path.stem for path in (tmp_path / "schema").iterdir()} == {"car", "kit", "duty", "check"}
    assert cli.run(["schema", "chek"]) == 2
    assert "nearest: check" in capsys.readouterr().err


@pytest.mark.parametrize("verb", VERBS)
def test_summaries_fit_the_list_of_verbs(
    verb: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert cli.run(["--help"]) == 0
    (line,) = [text for text in capsys.readouterr().out.splitlines() if text.startswith(f"  {verb} ")]
    assert line.rstrip().endswith((".", "?"))
    assert not line.rstrip().endswith("...")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shells_complete_verbs(shell: str) -> None:
    request = {"_HEATPROOF_COMPLETE": f"complete_{shell}", "COMP_WORDS": "heatproof ch", "COMP_CWORD": "1",
               "_TYPER_COMPLETE_ARGS": "heatproof ch", "_TYPER_COMPLETE_FISH_ACTION": "get-args"}  # fmt: skip
    program = "import sys; sys.argv = ['heatproof']; from heatproof.doors.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, env={**os.environ, **request}
    )
    assert {"check", "choose"} <= set(re.findall(r"[a-z]+", done.stdout))
