"""Which project is open; making one from an example, opening a folder below the one the program was started in."""

import difflib
import re
from pathlib import Path
from typing import Any

from heatproof._files import write_whole
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.jobs import Jobs
from heatproof.doors.page.worker import Worker
from heatproof.kit.examples import EXAMPLES, examples, first_comment, start_project
from heatproof.kit.findings import Finding, Refused, Where
from heatproof.verdict.cautions import USUAL

FOLDER = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,60}")
MESH = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}\.(stl|glb)", re.IGNORECASE)
MOST_PROJECTS = 40


class Start:
    """Holds the desk, once there is one."""

    def __init__(self, root: Path, folder: Path | None, background: bool) -> None:
        self.root, self.background = root.resolve(), background
        self.desk: Desk | None = None
        self.worker: Worker | None = None
        self.jobs = Jobs()
        if folder is not None:
            self.open(folder)

    def open(self, folder: Path) -> None:
        """Puts a project on the desk and begins to compute. Refused."""
        self.desk = Desk(folder, background=self.background)
        self.worker = Worker(self.desk)

    def need(self) -> Desk:
        """The desk. Refused where no project is open."""
        if self.desk is None:
            raise Refused(
                [Finding("error", "no project is open", next_step="start from an example, or open a folder")]
            )
        return self.desk

    def close(self) -> None:
        """Ends the jobs and the worker."""
        self.jobs.end_all()
        if self.worker is not None:
            self.worker.close()

    def view(self) -> dict[str, Any]:
        """For the first page."""
        here = [p.parent.name for p in sorted(self.root.glob("*/car.yaml"))][:MOST_PROJECTS]
        found = [{"name": n, "about": first_comment(n), "duties": duties_of(n)} for n in examples()]
        return {
            "open": self.desk is not None,
            "root": self.root.name,
            "projects": here,
            "examples": found,
            "cautions": list(USUAL),
        }

    def begin(self, example: str, name: str) -> None:
        """Makes or opens. Refused."""
        if self.desk is not None:
            raise Refused(
                [Finding("error", "a project is open already", next_step="run serve again for another")]
            )
        if not FOLDER.fullmatch(name):
            raise Refused(
                [
                    Finding(
                        "error",
                        "that is no folder name",
                        got=name[:80],
                        allowed="letters, digits, space _ -; no path",
                        next_step=f"name a folder in {self.root.name}",
                    )
                ]
            )
        folder = self.root / name
        if folder.is_symlink():
            raise Refused([Finding("error", "a link is not followed", got=name)])
        if example:
            start_project(folder, example)
        self.open(folder)

    def difference(self) -> dict[str, Any]:
        """Lines that differ between what was read and what is on disk."""
        desk = self.need()
        found = []
        for name, now in desk.changed_files().items():
            lines = difflib.unified_diff(
                desk.disk.files[name].text.splitlines(),
                (now or "").splitlines(),
                "as read",
                "on disk",
                lineterm="",
                n=1,
            )
            found.append({"file": name, "gone": now is None, "lines": list(lines)[:400]})
        return {"files": found}

    def store_mesh(self, name: str, data: bytes) -> dict[str, Any]:
        """Keeps a mesh whole in `parts/`. Refused for other kinds, other content, or a name that is taken."""
        desk = self.need()
        if not MESH.fullmatch(name):
            raise Refused(
                [Finding("error", "that is no mesh", got=name[:80], allowed="a name ending in .stl or .glb")]
            )
        looks = (
            data[:4] == b"glTF"
            if name.lower().endswith(".glb")
            else data[:5].lower() == b"solid" or len(data) >= 84
        )
        if not looks:
            raise Refused([Finding("error", "the file is not what its name says", got=name)])
        path = desk.folder / "parts" / name
        if path.exists() or path.parent.is_symlink():
            raise Refused(
                [
                    Finding(
                        "error",
                        "there is a mesh of that name already; it was not touched",
                        Where(f"parts/{name}"),
                        next_step="rename the file",
                    )
                ]
            )
        path.parent.mkdir(exist_ok=True)
        write_whole(path, data)
        return {
            "file": f"parts/{name}",
            "next_step": f"name it in car.yaml: shape: {{kind: mesh, file: parts/{name}}}",
        }


def duties_of(name: str) -> int:
    """Number of duties of a shipped example."""
    return len(list((EXAMPLES / name / "duties").glob("*.yaml")))
