"""Everything that papers say, gathered once: verdict, runs, evidence, reasons, rating, ledgers, inputs."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress
from heatproof.report.evidence import Limit, blocking, limits_of, worst_of_parts
from heatproof.report.ledgers import Ledger, ledgers
from heatproof.report.ledgers import from_plain as ledger_from_plain
from heatproof.report.plots import by_left
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.reasons import Reason, from_plain, reasons
from heatproof.report.signed_files import DEVIATIONS, TESTED, Deviation, Tested, read_deviations, read_tested
from heatproof.study.questions.check import check, variant_of
from heatproof.study.questions.rating import Cell, rating
from heatproof.study.store import kept
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import solve_all
from heatproof.verdict.verdict import Verdict

LEVELS = (0.7, 0.85, 1.0)
TIGHTEST = 5


@dataclass(frozen=True)
class InputFile:
    """One file the release depends on: name as in the project, SHA-256, bytes."""

    name: str
    sha256: str
    size: int


@dataclass(frozen=True)
class Gathered:
    """cells: of the rating, empty where it was left out; day: of the paper."""

    project: Project
    variant: Variant
    verdict: Verdict
    solved: dict[str, Solved]
    limits: tuple[Limit, ...]
    tested: tuple[Tested, ...]
    deviations: tuple[Deviation, ...]
    why: tuple[Reason, ...]
    cells: tuple[dict[str, Any], ...]
    ledgers: tuple[Ledger, ...]
    inputs: tuple[InputFile, ...]
    day: str
    units: ReaderUnits
    titles: dict[str, str] = field(default_factory=dict)

    @property
    def blocks(self) -> tuple[Limit, ...]:
        """Limits that stand in the way."""
        return blocking(self.limits)

    @property
    def released(self) -> bool:
        """Whether nothing stands in the way."""
        return not self.blocks

    @property
    def worst(self) -> list[Limit]:
        """Each part once, least left first."""
        return by_left(worst_of_parts(self.limits))

    @property
    def car(self) -> str:
        """Name in the car file."""
        node = self.project.car.tree.entries.get("name") if self.project.car else None
        return getattr(node, "text", "") or "car"

    @property
    def open_findings(self) -> tuple[Finding, ...]:
        """Warnings of the verdict: risks that no limit carries."""
        return tuple(one for one in self.verdict.findings if one.level == "warning")


def gather(
    project: Project,
    measures: Iterable[str] | None = None,
    *,
    units: ReaderUnits | None = None,
    day: str = "",
    fresh: bool = False,
    with_rating: bool = True,
    with_reasons: bool = True,
    spreads: bool = True,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Gathered:
    """Verdict, rating and what each measure does come from stored results where nothing has changed; one run of
    every duty is always made. with_rating, with_reasons, spreads: False leaves them out and is quicker, good for
    a draft. Raises Refused and DutyNotSolved."""
    variant, _ = variant_of(project, measures)
    verdict = check(project, variant.fitted, spreads=spreads, fresh=fresh, jobs=jobs, progress=progress)
    titles = {part.part: part.title for part in judged(variant)}
    deviations = read_deviations(project, titles)
    tested = read_tested(project, titles)
    limits = limits_of(verdict, variant, tested, deviations)
    refuse_nothing(limits)
    network = lay_network(variant)
    solved = solve_all(variant, project.duties, network)
    why: list[dict[str, Any]] = []
    if with_reasons:
        why = kept(
            project,
            variant,
            "measures",
            "",
            lambda: reasons(project, variant, verdict, jobs=jobs),
            fresh=fresh,
        )
    cells: list[dict[str, Any]] = []
    if with_rating:
        cells = kept(
            project,
            variant,
            "rating",
            str(LEVELS),
            lambda: rated(project, variant, jobs, progress),
            fresh=fresh,
        )
    tight = [one for one in by_left(worst_of_parts(limits)) if one.row is not None][:TIGHTEST]
    names = ",".join(f"{one.part} {one.duty}" for one in tight)
    split = kept(project, variant, "ledgers", names, lambda: ledgers(variant, solved, tight), fresh=fresh)
    return Gathered(
        project=project,
        variant=variant,
        verdict=verdict,
        solved=solved,
        limits=limits,
        tested=tested,
        deviations=deviations,
        why=tuple(from_plain(one) for one in why),
        cells=tuple(cells),
        ledgers=tuple(ledger_from_plain(one) for one in split),
        inputs=input_files(project, tested),
        day=day or date.today().isoformat(),
        units=units or ReaderUnits(),
        titles=titles | {one.part: one.title for one in limits},
    )


def refuse_nothing(limits: tuple[Limit, ...]) -> None:
    """Refused where nothing is judged: there is nothing to say on paper."""
    if not limits:
        what = "nothing is judged: no part of this project has a limit"
        step = "give the parts that matter a limit: in car.yaml or kit.yaml"
        raise Refused([Finding("error", what, next_step=step)])


def rated(project: Project, variant: Variant, jobs: int, progress: Progress | None) -> list[dict[str, Any]]:
    """Rating cells as plain data, each with the title of what reaches its limit first."""
    found = rating(project, variant.fitted, levels=LEVELS, jobs=jobs, progress=progress)
    return [plain_cell(one, found.titles.get(one.part, one.part)) for one in found.cells]


def plain_cell(one: Cell, title: str) -> dict[str, Any]:
    """Temperatures K."""
    return {
        "level": one.level,
        "use": one.use,
        "ambient": one.ambient,
        "end": one.end,
        "part": one.part,
        "title": title,
        "duty": one.duty,
        "power": one.power,
        "lat": one.lat,
        "atb": one.atb,
        "unsolved": one.unsolved,
    }


def input_files(project: Project, tested: Iterable[Tested]) -> tuple[InputFile, ...]:
    """Project files, meshes, signed files, and the logs that evidence names."""
    paths = {name: project.folder / name for name in project.files}
    paths |= {p.relative_to(project.folder).as_posix(): p for p in meshes(project.folder)}
    paths |= {name: project.folder / name for name in (DEVIATIONS, TESTED)}
    paths |= {f"logs/{one.log}": project.folder / "logs" / one.log for one in tested}
    found = []
    for name, path in sorted(paths.items()):
        if path.is_file():
            data = path.read_bytes()
            found.append(InputFile(name.replace("\\", "/"), hashlib.sha256(data).hexdigest(), len(data)))
    return tuple(found)


def meshes(folder: Path) -> list[Path]:
    """Files below parts/."""
    return [p for p in sorted((folder / "parts").rglob("*")) if p.is_file()]
