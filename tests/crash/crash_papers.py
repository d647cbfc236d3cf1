"""Papers of a release, corrections and new projects, killed while they are written."""

import hashlib
import shutil
from pathlib import Path
from types import SimpleNamespace

from crash_common import SMALL, Ready, loads, old_or_new, text

PAPERS = {f"release-t1{end}": f"new {end}".encode() * 5000 for end in (".pdf", ".html", ".json")}


def with_papers(folder: Path) -> None:
    (folder / "releases").mkdir()
    for name in PAPERS:
        (folder / "releases" / name).write_bytes(b"old")


def release(folder: Path, ready: Ready) -> None:
    """The papers of a release, over earlier ones of the same name."""
    from heatproof.report.release import write

    built = SimpleNamespace(
        name="release-t1", **{name.rpartition(".")[2]: data for name, data in PAPERS.items()}
    )
    ready()
    write(built, folder / "releases")  # type: ignore[arg-type]


def check_release(before: Path, now: Path) -> None:
    """Paper and record are of one release."""
    from heatproof._files import finish_writing

    finish_writing(now / "releases")
    wanted = {f"releases/{name}": data for name, data in PAPERS.items()}
    assert len(old_or_new(before, now, wanted)) in (0, len(wanted))


def papers(folder: Path, ready: Ready) -> None:
    """`heatproof release PROJECT` from its first solve to its last file."""
    from heatproof.doors.cli import run

    ready()
    assert run(["release", str(folder), "--date", "2026-01-31", "--json"]) in (0, 1)


def check_papers(before: Path, now: Path) -> None:
    """Whatever papers there are belong together, and the record is a whole one."""
    from heatproof._files import finish_writing
    from heatproof.report.record_shape import parsed_record

    loads(now)
    room = now / "releases"
    if room.is_dir():
        finish_writing(room)
        for path in room.glob("*.json"):
            assert parsed_record(path)["day"] == "2026-01-31"
            assert hashlib.sha256(path.read_bytes()).hexdigest() in path.with_suffix(".html").read_text(
                encoding="utf-8"
            )
        assert {p.suffix for p in room.glob("re*")} in (set(), {".json", ".html", ".pdf"})


def with_memory(folder: Path) -> None:
    from heatproof.logs.correcting.memory import Lesson, remember

    remember(folder / "memory.yaml", {"parts.loom.mass": Lesson("T0", 0.9, 0.1)})


def correct(folder: Path, ready: Ready) -> None:
    """`heatproof correct --remember` with the memory in the project."""
    keep(folder, folder / "memory.yaml", ready)


def keep(folder: Path, memory: Path, ready: Ready) -> None:
    """What it writes: a new kit file beside the old one, and the shop's memory."""
    from heatproof.kit.read import read_project
    from heatproof.logs.correcting.corrected_kit import new_name
    from heatproof.logs.correcting.keep import keep_correction
    from heatproof.logs.correcting.memory import Lesson

    project = read_project(folder)
    ready()
    kit = text(folder, "kit.yaml").replace("66 kW", "63 kW")
    lessons = {"parts.loom.mass": Lesson("T1", 1.1, 0.05)}
    keep_correction(project, new_name(folder), kit, memory, lessons)


def check_correct(before: Path, now: Path) -> None:
    """Both are there or neither."""
    loads(now)
    assert bool(kits_of(before, now)) == remembers(now / "memory.yaml")


def kits_of(before: Path, now: Path) -> list[str]:
    """Corrected kits, all whole; one more than was begun at most, as the next start makes one of its own."""
    assert text(now, "kit.yaml") == text(before, "kit.yaml")
    kits = sorted(p.name for p in now.glob("kit-corrected-*.yaml"))
    assert len(kits) <= 2
    for name in kits:
        assert text(now, name) == text(before, "kit.yaml").replace("66 kW", "63 kW")
    return kits


def remembers(memory: Path) -> bool:
    """Whether the new lesson is there, once; the old one stays."""
    from heatproof.logs.correcting.memory import read_memory

    known = [one.kit for one in read_memory(memory).values["parts.loom.mass"]]
    assert known in (["T0"], ["T0", "T1"])
    return len(known) == 2


def with_shop(folder: Path) -> None:
    """A project, and the memory of the shop beside it."""
    shutil.copytree(SMALL, folder / "car")
    with_memory(folder)


def correct_in_shop(folder: Path, ready: Ready) -> None:
    """`heatproof correct --remember ../memory.yaml`, unless it has been done to its end before."""
    if not list((folder / "car").glob("kit-corrected-*.yaml")):
        keep(folder / "car", folder / "memory.yaml", ready)


def check_shop(before: Path, now: Path) -> None:
    """No kit that memory knows nothing of, so that done again it is the same kit."""
    loads(now / "car")
    kits = kits_of(before / "car", now / "car")
    assert kits in ([], ["kit-corrected-1.yaml"])
    assert remembers(now / "memory.yaml") or not kits


def new_project(folder: Path, ready: Ready) -> None:
    from heatproof.kit.examples import start_project

    ready()
    start_project(folder / ("again" if (folder / "made").exists() else "made"), "hatchback")


def check_new(before: Path, now: Path) -> None:
    from heatproof.doors.page.start import Start
    from heatproof.kit.read import read_project

    there = set(Start(now, None, False).view()["projects"])
    assert there <= {"made", "again"}
    for name in there:
        assert len(read_project(now / name).duties) == 5
