"""Kills scenarios at chosen points and looks at what is left.

Each run is a fork of this process, so that it starts at once, or a process of its own. Number n: it kills itself at the n-th time its folder
is about to be changed (a file opened for writing, renamed, removed, its mode changed, a folder made or removed),
just before that happens; 0: never, it may be killed from outside.
"""

import os
import random
import shutil
import signal
import sys
import time
import traceback
from pathlib import Path
from typing import Any, NoReturn

from crash_common import Scenario, laid, silent
from crash_scenarios import SCENARIOS

from heatproof import _files

CHANGES = {
    "os.rename",
    "os.remove",
    "os.mkdir",
    "os.rmdir",
    "os.chmod",
    "os.link",
    "os.symlink",
    "os.truncate",
}
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
FAULT = 70
WARM: set[str] = set()


def changes(event: str, arguments: tuple[Any, ...], folder: str) -> bool:
    """Whether an audit event is about to change the folder."""
    path = arguments[0] if arguments else None
    if not isinstance(path, str | bytes | os.PathLike) or not os.fsdecode(path).startswith(folder):
        return False
    return event in CHANGES or (event == "open" and bool((arguments[2] or 0) & WRITING))


def kill_at(number: int, folder: str, only: str = "") -> None:
    """Installs the hook. only: the audit event that counts; every change where left out."""
    seen = 0

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal seen
        counts = event == only if only else event == "open" or event in CHANGES
        if counts and changes(event, arguments, folder):
            seen += 1
            if seen == number:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(hook)


def started(name: str, folder: Path, number: int, only: str = "") -> tuple[int, int]:
    """Process at the scenario's work, and where it tells: its number, and the reading end of a pipe."""
    reading, writing = os.pipe()
    if SCENARIOS[name].forks:
        child = os.fork()
        if not child:
            in_child(SCENARIOS[name], folder, number, writing, only)
    else:
        os.set_inheritable(writing, True)
        here = Path(__file__)
        code = f"import sys; sys.path.insert(0, {str(here.parent)!r}); import crash_run as c; from pathlib import Path; "
        code += f"c.in_child(c.SCENARIOS[{name!r}], Path({str(folder)!r}), {number}, {writing}, {only!r})"
        nowhere = [(os.POSIX_SPAWN_OPEN, fd, os.devnull, os.O_RDWR, 0) for fd in (1, 2)]
        child = os.posix_spawn(sys.executable, [sys.executable, "-c", code], os.environ, file_actions=nowhere)
    os.close(writing)
    return child, reading


def in_child(scenario: Scenario, folder: Path, number: int, writing: int, only: str = "") -> NoReturn:
    """Never comes back to the test."""
    status = FAULT
    try:
        os.setsid()
        _files._tidied.clear()  # another process has looked at no folder yet
        if number:
            kill_at(number, str(folder), only)
        scenario.act(folder, lambda: os.write(writing, b"ready\n"))
        status = 0
    except BaseException:
        os.write(writing, traceback.format_exc().encode()[-3000:])
    finally:
        os._exit(status)


def ended(child: int, reading: int) -> int:
    """Status of a run: 0, or −9 where it was killed. What else went wrong is raised."""
    with os.fdopen(reading, "rb") as stream:
        said = stream.read().decode(errors="replace")
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    assert status in (0, -9), said
    return status


def killed_at(name: str, room: Path, number: int, only: str = "") -> bool:
    """One run that kills itself before its `number`-th change (of the kind `only`); False where it ended before."""
    warm(name, room)
    before, now = twins(SCENARIOS[name], room)
    status = ended(*started(name, now, number, only))
    judge(name, before, now)
    return status == -9


def killed_after(name: str, room: Path, dice: random.Random) -> bool:
    """One run that is killed from outside, 0.1 ms to 0.3 s after its work began; False where it ended before."""
    warm(name, room)
    before, now = twins(SCENARIOS[name], room)
    child, reading = started(name, now, 0)
    os.read(reading, 6)
    time.sleep(10.0 ** dice.uniform(-4.0, -0.5))
    os.kill(child, signal.SIGKILL)
    status = ended(child, reading)
    judge(name, before, now)
    return status == -9


def warm(name: str, room: Path) -> None:
    """The work done once in this process, so that its forks find everything imported."""
    if name not in WARM and SCENARIOS[name].forks:
        WARM.add(name)
        SCENARIOS[name].act(laid(SCENARIOS[name], room / "warm"), silent)


def twins(scenario: Scenario, room: Path) -> tuple[Path, Path]:
    """What was, to compare with, and what is worked on."""
    for one in ("before", "now"):
        shutil.rmtree(room / one, ignore_errors=True)
    before = laid(scenario, room / "before")
    return before, Path(shutil.copytree(before, room / "now"))


def judge(name: str, before: Path, now: Path) -> None:
    """What must hold at once, and after the next start an hour later, which leaves nothing lying about."""
    scenario = SCENARIOS[name]
    _files._tidied.clear()
    assert all(path.name.startswith(".") or path.parent.name.startswith(".") for path in leftovers(now))
    scenario.check(before, now)
    for path in leftovers(now):
        os.utime(path, (0, 0))
    assert ended(*started(name, now, 0)) == 0
    scenario.check(before, now)
    assert leftovers(now) == [], "a leftover outlives the next start"


def leftovers(folder: Path) -> list[Path]:
    """Temporary files and folders, and journals."""
    return [p for p in folder.rglob("*") if p.name.startswith(".") or p.name.endswith((".tmp", "~"))]
