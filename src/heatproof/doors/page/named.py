"""Variants kept by name to compare against and to take up again: `variants.yaml` in the project.

Nothing that is computed depends on the file; it only says which measures were fitted and which values were changed.
"""

import re
from pathlib import Path
from typing import Any

from heatproof._files import write_whole
from heatproof.doors.page.edits import State
from heatproof.kit.commented import commented_text, read_commented
from heatproof.kit.findings import Finding, Refused, Where, unknown

FILE, FORMAT = "variants.yaml", "heatproof variants 1"
NAME = re.compile(r"[^\x00-\x1f/\\]{1,60}")
MOST = 40


def read_named(folder: Path) -> dict[str, State]:
    """Name to what it fits and changes; empty where there is no file. Refused where it cannot be understood."""
    path = folder / FILE
    if not path.is_file() or path.is_symlink():
        return {}
    data: dict[str, Any] = read_commented(path) or {}
    try:
        if data.get("format") != FORMAT:
            raise ValueError(f"format {data.get('format')!r}")
        return {str(name): state_of(entry) for name, entry in (data.get("variants") or {}).items()}
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise Refused(
            [
                Finding(
                    "error",
                    f"{FILE} cannot be read",
                    Where(FILE),
                    got=str(error).splitlines()[0][:120] if str(error) else type(error).__name__,
                    allowed=f"format: {FORMAT}, and `variants:` as the page writes them",
                    next_step="mend it, or move it away",
                )
            ]
        ) from error


def state_of(entry: dict[str, Any]) -> State:
    """One entry of the file."""
    fitted = tuple(str(one) for one in entry.get("fitted") or ())
    edits = tuple((str(e["file"]), str(e["path"]), str(e["text"])) for e in entry.get("edits") or ())
    return State(fitted, edits)


def write_named(folder: Path, named: dict[str, State]) -> None:
    """The file, whole; gone where nothing is named any more. Refused where it is a link."""
    path = folder / FILE
    if path.is_symlink():
        raise Refused([Finding("error", f"{FILE} may not be a link", Where(FILE))])
    if not named:
        path.unlink(missing_ok=True)
        return
    entries = {name: entry_of(state) for name, state in named.items()}
    write_whole(path, commented_text({"format": FORMAT, "variants": entries}).encode())


def entry_of(state: State) -> dict[str, Any]:
    """As it stands in the file."""
    edits = [{"file": f, "path": p, "text": t} for f, p, t in state.edits]
    return {"fitted": list(state.fitted), **({"edits": edits} if edits else {})}


def named_or_refuse(named: dict[str, State], name: str) -> State:
    """The state of a name. Refused with the nearest."""
    if name not in named:
        raise Refused(
            [
                unknown(
                    f"no variant is kept as {name[:60]!r}",
                    name,
                    named,
                    Where(FILE),
                    next_step="keep the present one under that name, or choose another",
                )
            ]
        )
    return named[name]


def usable_name(named: dict[str, State], name: str) -> str:
    """The name without blanks round it. Refused for one that cannot be, or one too many."""
    bare = name.strip()
    if not NAME.fullmatch(bare) or (bare not in named and len(named) >= MOST):
        raise Refused(
            [
                Finding(
                    "error",
                    "that name cannot be used",
                    Where(FILE),
                    got=name[:80],
                    allowed=f"1 to 60 characters, no stroke, {MOST} names at most",
                )
            ]
        )
    return bare
