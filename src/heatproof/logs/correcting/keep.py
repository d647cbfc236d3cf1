"""What a correction leaves behind: a new kit file, and what it taught in the shop's memory."""

from pathlib import Path

from heatproof._files import write_together
from heatproof.kit.project import Project
from heatproof.logs.correcting.corrected_kit import refuse_taken, write_new_kit
from heatproof.logs.correcting.memory import Lesson, memory_text, remember


def keep_correction(
    project: Project, kit: Path | None, text: str, memory: Path | None, lessons: dict[str, Lesson]
) -> None:
    """Writes `text` as the new file `kit` and `lessons` into `memory`; None: not wanted. Refused.

    A memory inside the project is written together with the kit, both or neither. One elsewhere comes first: where
    the program is killed in between, the same work done again finds its own lines there and replaces them.
    """
    if kit is not None:
        refuse_taken(kit)
    if kit is not None and memory is not None and inside(memory, project.folder):
        place = memory.resolve().relative_to(project.folder.resolve())
        (project.folder / place).parent.mkdir(parents=True, exist_ok=True)
        learned = memory_text(memory, lessons)
        write_together(project.folder, {place.as_posix(): learned, kit.name: text.encode()})
        return
    if memory is not None:
        remember(memory, lessons)
    if kit is not None:
        write_new_kit(project, kit, text)


def inside(path: Path, folder: Path) -> bool:
    """Whether a file stands below a folder, links followed."""
    return path.resolve().is_relative_to(folder.resolve())
