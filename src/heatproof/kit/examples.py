"""The shipped examples, and a project made from one."""

import shutil
import tempfile
from pathlib import Path

from heatproof._files import is_old
from heatproof.kit.findings import Finding, Refused, Where, unknown

EXAMPLES = Path(__file__).parents[1] / "examples"
COPIES = ".heatproof-new-"


def examples() -> list[str]:
    """Names of the shipped examples."""
    return sorted(path.parent.name for path in EXAMPLES.glob("*/car.yaml"))


def first_comment(name: str) -> str:
    """What an example's car file says it is."""
    first = (EXAMPLES / name / "car.yaml").read_text(encoding="utf-8").splitlines()[:1]
    return first[0].lstrip("# ").strip() if first and first[0].startswith("#") else ""


def start_project(folder: Path | None, name: str) -> Path:
    """Copies an example whole or not at all. Refused where the folder is taken or the name unknown."""
    if folder is None:
        raise Refused(
            [
                Finding(
                    "error",
                    "no folder named",
                    next_step="heatproof new DIR, or new --list",
                    code="folder.none",
                )
            ]
        )
    known = examples()
    if name not in known:
        raise Refused(
            [
                unknown(
                    f"no shipped example {name!r}",
                    name,
                    known,
                    next_step="heatproof new --list names them",
                    code="example.unknown",
                )
            ]
        )
    taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    if taken:
        raise Refused(
            [
                Finding(
                    "error",
                    "there is something already",
                    Where(str(folder)),
                    next_step="name a folder that is new",
                    code="folder.taken",
                )
            ]
        )
    copy_whole(EXAMPLES / name, folder)
    return folder


def copy_whole(source: Path, folder: Path) -> None:
    """Copied beside its place, then renamed into it. Copies that a killed program left there go."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    for left in folder.parent.glob(f"{COPIES}*"):
        if left.is_dir() and not left.is_symlink() and is_old(left):
            shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=COPIES) as room:
        copy = Path(room) / folder.name
        shutil.copytree(source, copy, ignore=shutil.ignore_patterns("results", "__pycache__"))
        for path in [copy, *copy.rglob("*")]:
            path.chmod(0o755 if path.is_dir() else 0o644)
        if folder.exists():
            folder.rmdir()
        copy.rename(folder)
