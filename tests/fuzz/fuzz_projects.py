"""Project files: car, kit and duties, speed traces, signed files, kept variants, memory of corrections."""

import random
import shutil
from pathlib import Path

import fuzz_mutators as M
from fuzz_readers import Reader, Told

import heatproof
from heatproof.assembly.model import lay_network
from heatproof.doors.page.named import read_named
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.logs.correcting.memory import Lesson, read_memory, remember
from heatproof.report.signed_files import read_deviations, read_tested

SMALL = Path(__file__).parents[1] / "kit" / "small"
EXAMPLES = Path(heatproof.__file__).parent / "examples"


def told(refused: Refused) -> Told:
    """good: every error says where and what to do, in one line each."""
    errors = [f for f in refused.findings if f.level == "error"]
    good = bool(errors) and all(
        (f.where.file or f.where.path) and f.what and "\n" not in f.what for f in errors
    )
    return Told(str(refused), good=good and all(f.next_step or f.allowed or f.nearest for f in errors))


class ProjectFiles(Reader):
    """One file of a whole project damaged, now and then two, now and then its name."""

    may_change = ("results",)

    def start(self) -> None:
        self.seeds = {}
        for source in (SMALL, EXAMPLES / "hatchback", EXAMPLES / "pickup"):
            files = [p for p in sorted(source.rglob("*.yaml")) if "results" not in p.parts]
            self.seeds[source] = {p.relative_to(source): p.read_bytes() for p in files}
        self.built(read_project(SMALL))  # kernels may have to be compiled, which is nobody's hang

    def put(self, dice: random.Random) -> None:
        shutil.rmtree(self.inputs)
        source = dice.choices((SMALL, EXAMPLES / "hatchback", EXAMPLES / "pickup"), (8, 1, 1))[0]
        files = dict(self.seeds[source])
        for name in dice.sample(sorted(files), dice.choice((1, 1, 1, 2))):
            files[name] = M.text(files[name], dice)
        if dice.random() < 0.05:
            files[Path("duties") / f"{dice.choice(('Öl', 'a b', '-x', 'x' * 200, '.hid'))}.yaml"] = files[
                sorted(files)[-1]
            ]
        for name, data in files.items():
            (self.inputs / name).parent.mkdir(parents=True, exist_ok=True)
            (self.inputs / name).write_bytes(data)

    def read(self) -> None:
        project = read_project(self.inputs, strict=False)
        assert all(str(f) for f in project.findings)
        try:
            self.built(read_project(self.inputs))
        except Refused as refused:
            raise told(refused) from None

    def built(self, project: Project) -> None:
        """What reads must also lay: a car's network comes of it or a refusal."""
        lay_network(project.variant())


class Traces(ProjectFiles):
    """The CSV file of a speed trace."""

    HEAD = b"time [s],speed [km/h],grade [%]\n"

    def start(self) -> None:
        super().start()
        rows = b"".join(b"%d,%d,%d\n" % (k, 40 + k % 30, k % 5) for k in range(120))
        self.trace = self.HEAD + rows
        duty = self.seeds[SMALL][Path("duties/hill.yaml")].decode()
        start = duty.index("drive:")
        end = duty.find("\n", duty.index("}", start)) if "{" in duty[start : start + 40] else len(duty)
        self.duty = duty[:start] + "drive: {kind: trace, file: %s}" + duty[end:]

    def put(self, dice: random.Random) -> None:
        shutil.rmtree(self.inputs)
        names = ("run.csv",) * 12 + (
            '"a\\0b.csv"',
            "../x.csv",
            '""',
            "x" * 300,
            "duties",
            "/dev/zero",
            "Läufe.csv",
        )
        for name, data in self.seeds[SMALL].items():
            (self.inputs / name).parent.mkdir(parents=True, exist_ok=True)
            (self.inputs / name).write_bytes(data)
        (self.inputs / "duties/hill.yaml").write_text(self.duty % dice.choice(names))
        (self.inputs / "run.csv").write_bytes(M.text(self.trace, dice))

    def built(self, project: Project) -> None:
        return None


class Signed(ProjectFiles):
    """deviations.yaml and tested.yaml."""

    DEVIATIONS = b"""format: heatproof deviations 1
deviations:
  - {part: loom, duty: hill, margin: -12 K, revision: Draft 7, who: "A. Fitter, workshop", when: 2026-01-31, why: "short, watched"}
  - {part: head, margin: -3 K, revision: Draft 7, who: "A. Fitter", when: 2026-02-28, why: "as before"}
"""
    TESTED = b"""format: heatproof tested 1
tests:
  - {part: loom, duty: hill, log: run.csv, peak: 96.5 degC, when: 2026-01-31, note: "taped on"}
  - {part: hose, duty: hill, log: run.csv, peak: 88 degC, limit: 120 degC, when: 2026-01-31}
"""

    def start(self) -> None:
        super().start()
        for name, data in self.seeds[SMALL].items():
            (self.inputs / name).parent.mkdir(parents=True, exist_ok=True)
            (self.inputs / name).write_bytes(data)
        (self.inputs / "logs").mkdir()
        (self.inputs / "logs" / "run.csv").write_text("t,a\n0,1\n")
        self.project = read_project(self.inputs)

    def put(self, dice: random.Random) -> None:
        self.which = dice.randrange(2)
        name, data = (("deviations.yaml", self.DEVIATIONS), ("tested.yaml", self.TESTED))[self.which]
        (self.inputs / name).write_bytes(M.text(data, dice))

    def read(self) -> None:
        try:
            (read_deviations, read_tested)[self.which](self.project, ("loom", "head"))
        except Refused as refused:
            raise told(refused) from None


class Variants(Reader):
    """variants.yaml of the page."""

    SEED = b"""format: heatproof variants 1
variants:
  cheap one: {fitted: [blanket, turbo_shield]}
  strong: {fitted: [], edits: [{file: kit.yaml, path: changes.engine.rated_power, text: 150 kW}]}
"""

    def put(self, dice: random.Random) -> None:
        (self.inputs / "variants.yaml").write_bytes(M.text(self.SEED, dice))

    def read(self) -> None:
        try:
            read_named(self.inputs)
        except Refused as refused:
            raise told(refused) from None


class MemoryFile(Reader):
    """The shop's memory: read, and a lesson added to a copy."""

    SEED = b"""# Corrections of finished kits.
format: heatproof memory 1
common_share: 0.5
values:
  parts.loom.mass:
  - {kit: T1, ratio: 1.05, spread: 6 %, was: 0.5 kg, logs: a.csv, date: 2026-01-31}
  - {kit: T2, ratio: 0.97, spread: 4 %, was: 0.6 kg, logs: b.csv, date: 2026-03-01}
  links.manifold_to_loom.distance:
  - {kit: T1, ratio: 0.9, spread: 12 %, was: 190 mm, logs: a.csv, date: 2026-01-31}
"""

    def put(self, dice: random.Random) -> None:
        (self.inputs / "memory.yaml").write_bytes(M.text(self.SEED, dice))

    def read(self) -> None:
        path = self.inputs / "memory.yaml"
        try:
            read_memory(path)
            copy = Path(shutil.copy(path, self.room / "memory.yaml"))
            assert remember(copy, {"parts.loom.mass": Lesson("T3", 1.1, 0.05)}).values
        except Refused as refused:
            raise told(refused) from None


READERS = {
    "project": ProjectFiles,
    "trace": Traces,
    "signed": Signed,
    "variants": Variants,
    "memory": MemoryFile,
}
