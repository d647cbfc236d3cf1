"""One reader on many damaged inputs, in a process of its own: `python fuzz_child.py READER FIRST COUNT …`.

Watched from within: an input that takes longer than LONGEST ends the process with every thread's place, and so
does one that crashes it; memory has a limit. What is found is printed as one JSON line at the end; the input under
work stands in `at` of the folder given, so that the parent knows which one ended the process.
"""

import faulthandler
import hashlib
import json
import os
import random
import resource
import signal
import sys
import tempfile
import traceback
import warnings
from pathlib import Path
from typing import Any

LONGEST = 10.0  # s of processor time an input may take: a bound against hanging, not a speed test
LONGEST_WAIT = 60.0  # s of the clock, for what waits without working; other programs may hold the processor
ROOM = 3 * 2**30  # bytes of address space beyond what the process has when it starts to read


def limit_memory() -> None:
    """What is more than ROOM above the present size fails as MemoryError."""
    pages = int(Path("/proc/self/statm").read_text().split()[0]) if Path("/proc/self/statm").exists() else 0
    if pages:
        size = pages * resource.getpagesize() + ROOM
        resource.setrlimit(resource.RLIMIT_AS, (size, size))


def digest(folder: Path, ignore: tuple[str, ...]) -> str:
    """Hash of every file of a folder, names included."""
    out = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.relative_to(folder).parts[0] not in ignore:
            out.update(
                str(path.relative_to(folder)).encode(errors="surrogateescape") + b"\0" + path.read_bytes()
            )
    return out.hexdigest()


def work(name: str, first: int, count: int, room: Path) -> dict[str, Any]:
    """Every input once. `defects`: number of the input and what went wrong."""
    from fuzz_readers import READERS, Told

    seen = {"refused": 0, "read": 0}
    defects: list[tuple[int, str]] = []
    with READERS[name](room) as reader:
        for n in range(first, first + count):
            (room.parent / "at").write_text(str(n))
            reader.put(random.Random(f"{name} {n}"))
            before = digest(reader.inputs, reader.may_change)
            faulthandler.dump_traceback_later(LONGEST_WAIT, exit=True)
            signal.setitimer(signal.ITIMER_PROF, LONGEST)
            try:
                with warnings.catch_warnings(record=True) as shown:
                    warnings.simplefilter("default")
                    for hidden in (
                        ResourceWarning,
                        DeprecationWarning,
                        PendingDeprecationWarning,
                        ImportWarning,
                    ):
                        warnings.simplefilter("ignore", hidden)  # Python shows these to nobody
                    reader.read()
                seen["read"] += 1
            except Told as told:
                seen["refused"] += 1
                if not told.good:
                    defects.append((n, f"unclear refusal: {told}"))
            except Exception:
                defects.append((n, "".join(traceback.format_exc().splitlines(keepends=True)[-7:])))
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0.0)
                faulthandler.cancel_dump_traceback_later()
            defects += [(n, f"shown to the user: {w.category.__name__}: {w.message}") for w in shown[:1]]
            if digest(reader.inputs, reader.may_change) != before:
                defects.append((n, "the input was altered"))
    return {"reader": name, "count": count, **seen, "defects": defects}


def main(arguments: list[str]) -> None:
    """READER FIRST COUNT, three by three."""
    os.environ.setdefault("MPLBACKEND", "agg")
    room = Path(os.environ["FUZZ_ROOM"])
    start = 0
    for k in range(0, len(arguments), 3):
        name, first, count = arguments[k], int(arguments[k + 1]), int(arguments[k + 2])
        own = room / name
        own.mkdir(exist_ok=True)
        if not start:
            import fuzz_readers

            fuzz_readers.warm([*arguments[0::3]])
            limit_memory()
            start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        with tempfile.TemporaryDirectory(dir=own) as inner:
            one = work(name, first, count, Path(inner))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        with (room / "told").open("a") as told:
            told.write(json.dumps({**one, "grown_MiB": (peak - start) // 1024}) + "\n")


if __name__ == "__main__":
    faulthandler.enable()
    faulthandler.register(signal.SIGPROF, chain=True)  # says where, then ends the process
    main(sys.argv[1:])
