"""First screens of the verbs at 80 and 120 columns, made by a run: `python docs/screens.py` writes `screens.md` anew,
`python docs/screens.py check` only the section of that verb.

All but two verbs run on the small invented kit of the tests, so that the page is made in minutes.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

from heatproof.doors.verbs import VERBS

ROOT = Path(__file__).parents[1]
PAGE = Path(__file__).with_name("screens.md")
WIDTHS, LINES = (80, 120), 40
COMMANDS: dict[str, list[str]] = {
    "new": ["--help"],
    "check": ["SHIPPED", "--no-spread"],
    "explain": ["SMALL", "loom"],
    "compare": ["SMALL", "base", "as-fitted"],
    "choose": ["SMALL", "--no-spread"],
    "tolerance": ["SMALL", "--draws", "10"],
    "rating": ["SMALL", "--no-spread"],
    "size": ["--help"],
    "sweep": ["SMALL", "--sets"],
    "bay": ["SHIPPED"],
    "plan": ["SMALL"],
    "log": ["--help"],
    "correct": ["--help"],
    "memory": ["--help"],
    "release": ["--help"],
    "sheets": ["--help"],
    "schema": [],
    "serve": ["--help"],
}
"""Verb → its arguments. Those that need logs, files or a signature show their help."""
HEAD = """# First screens

What each verb shows first, at 80 and at 120 columns, made by a run (`python docs/screens.py`); long answers are cut
after {lines} lines. `check` and `bay` run on the shipped hatchback, the others on a small invented kit with one duty.
States, margins and how sure they are never give way to a narrow screen.
"""


def screen(verb: str, arguments: list[str], places: dict[str, str], width: int) -> str:
    """What the verb prints on that many columns, its first lines."""
    environment = {**os.environ, "COLUMNS": str(width), "PYTHONUTF8": "1"}
    command = [sys.executable, "-m", "heatproof.doors.cli", verb, *(places.get(a, a) for a in arguments)]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, cwd=places["HERE"])
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{verb}: {done.stderr}")
    lines = [line.rstrip() for line in done.stdout.splitlines()]
    cut = lines[:LINES] + ([f"[{len(lines) - LINES} more lines]"] if len(lines) > LINES else [])
    return re.sub(r"\n{3,}", "\n\n", "\n".join(cut)).replace(places["HERE"] + "/", "")


def sections(verbs: Iterable[str]) -> dict[str, str]:
    """Verb → its section."""
    with tempfile.TemporaryDirectory() as here:
        shutil.copytree(ROOT / "src/heatproof/examples/hatchback", f"{here}/hatchback")
        shutil.copytree(ROOT / "tests/kit/small", f"{here}/small")
        places = {"HERE": here, "SHIPPED": "hatchback", "SMALL": "small"}
        made = {}
        for verb in verbs:
            arguments = COMMANDS.get(verb, ["--help"])
            line = " ".join(["heatproof", verb, *(places.get(a, a) for a in arguments)])
            texts = [f"## {verb}\n\n`{line}`"]
            for width in WIDTHS:
                texts.append(f"{width} columns:\n\n```text\n{screen(verb, arguments, places, width)}\n```")
            made[verb] = "\n\n".join(texts)
    return made


def standing() -> dict[str, str]:
    """Verb → its section of the page as it stands."""
    parts = re.split(r"\n\n(?=## )", PAGE.read_text(encoding="utf-8").rstrip("\n"))
    return {
        part.split("\n")[0].removeprefix("## "): part.strip("\n") for part in parts if part.startswith("## ")
    }


if __name__ == "__main__":
    wanted = sys.argv[1:] or list(VERBS)
    known = (standing() if sys.argv[1:] else {}) | sections(wanted)
    page = "\n\n".join([HEAD.format(lines=LINES).rstrip("\n"), *(known[verb] for verb in VERBS)])
    PAGE.write_text(page + "\n", encoding="utf-8")
    print(f"Wrote {PAGE}")
