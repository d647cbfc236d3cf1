"""The sheet asked question by question in the terminal: Enter skips what may be skipped, `back`, `quit` keeps answers."""

import json
from collections.abc import Callable
from pathlib import Path

from heatproof._files import write_whole
from heatproof.kit.fields import Field, fields_of
from heatproof.kit.findings import nearest
from heatproof.kit.write import flow
from heatproof.sheet.blank import allowed, default_of
from heatproof.sheet.catalogue import catalogue
from heatproof.sheet.questions import USES, Near, Question, questions
from heatproof.units.parse import read
from heatproof.units.quantity import UnitError

BACK, QUIT = ("back", "b"), ("quit", "q")
YES, NO = ("yes", "y", "true"), ("no", "n", "false")

DISTANCE = fields_of(Near)["distance"]


class Left(Exception):
    """The dialogue was left; answers are kept."""


def unfinished(folder: Path) -> Path:
    """Where answers of a dialogue that was left are kept."""
    return folder.parent / f".{folder.name}.answers.json"


def ask_all(folder: Path, ask: Callable[[str], str], say: Callable[[str], object]) -> str:
    """Asks every question; the sheet's text. `ask` shows a prompt and returns a line; Left where the user leaves."""
    kept = unfinished(folder)
    answers: dict[str, str] = json.loads(kept.read_text(encoding="utf-8")) if kept.is_file() else {}
    if answers:
        say(f"{len(answers)} answers of last time are kept; Enter takes them.")
    say("Enter skips what may be skipped; back goes back; quit keeps the answers.")
    asked = list(questions())
    k = 0
    while k < len(asked):
        question = asked[k]
        line = ask(f"[{k + 1}/{len(asked)}] {prompt_of(question, answers.get(question.path, ''))}").strip()
        if line.lower() in QUIT:
            write_whole(kept, json.dumps(answers, ensure_ascii=False, indent=1).encode())
            raise Left(f"{len(answers)} answers kept; heatproof new {folder} --ask goes on")
        if line.lower() in BACK:
            k = max(k - 1, 0)
            continue
        if not line and (question.path in answers or not question.field.required):
            k += 1
            continue
        wrong = wrong_with(question.field, line)
        if wrong:
            say(f"  {wrong}")
            continue
        answers[question.path] = line
        k += 1
    near = ask_near(ask, say)
    kept.unlink(missing_ok=True)
    return sheet_text(answers, near)


def prompt_of(question: Question, answered: str) -> str:
    """The question, where to find its answer, what may be answered, what Enter takes."""
    takes = (
        f"; Enter: {answered}"
        if answered
        else ""
        if question.field.required
        else f"; Enter: {default_of(question.field)}"
    )
    return f"{question.asked.words} ({question.asked.find}; {allowed(question.field)}{takes}) "


def wrong_with(field: Field, line: str) -> str:
    """What is wrong with an answer; empty where nothing is."""
    if not line:
        return "this one has no class figure: an answer is needed (or quit)"
    if field.shape == "number":
        try:
            read(line, field.quantity)
        except UnitError as error:
            return str(error)
    elif field.shape == "choice" and line not in field.choices:
        close = nearest(line, field.choices)
        return (
            f"none of the allowed words; nearest: {close}" if close else f"one of {', '.join(field.choices)}"
        )
    elif field.shape == "whole" and not line.isdigit():
        return "a whole number"
    elif field.shape == "switch" and line.lower() not in YES + NO:
        return "yes or no"
    elif field.key == "uses" and (other := [use for use in words_of(line) if use not in USES]):
        return f"no use {other[0]!r}; nearest: {nearest(other[0], USES) or ', '.join(USES)}"
    return ""


def words_of(line: str) -> list[str]:
    """Words between commas or blanks."""
    return line.replace(",", " ").split()


def ask_near(ask: Callable[[str], str], say: Callable[[str], object]) -> dict[str, str]:
    """Parts near something hot with their distance, one after the other; Enter ends."""
    near: dict[str, str] = {}
    while True:
        kind = ask("A part within 300 mm of turbine, manifold or downpipe (Enter: no more) ").strip()
        if not kind or kind.lower() in QUIT:
            return near
        if kind not in catalogue():
            say(
                f"  no kind of part {kind!r}; nearest: {nearest(kind, catalogue()) or 'see heatproof part list --kinds'}"
            )
            continue
        line = ask(f"  How far is {catalogue()[kind].title.lower()}, by tape? ").strip()
        wrong = wrong_with(DISTANCE, line)
        if wrong:
            say(f"  {wrong}")
        else:
            near[kind] = line


def sheet_text(answers: dict[str, str], near: dict[str, str]) -> str:
    """The sheet as a file."""
    lines, section = ["format: heatproof sheet 1"], ""
    shapes = {question.path: question.field.shape for question in questions()}
    for path in sorted(answers, key=list(shapes).index):
        head, _, key = path.rpartition(".")
        if head != section:
            lines += [f"{head}:"] * bool(head)
            section = head
        value = answers[path]
        if shapes[path] == "switch":
            value = "true" if value.lower() in YES else "false"
        text = flow([*words_of(value)]) if path == "uses" else flow(value)
        lines.append(f"{'  ' if head else ''}{key}: {text}")
    lines += ["near:"] * bool(near) + [f"  {kind}: {{distance: {flow(text)}}}" for kind, text in near.items()]
    return "\n".join(lines) + "\n"
