"""Every question of the command line, asked from Python: of a folder, a project or a variant.

    import heatproof

    project = heatproof.read_project("my-kit")
    project.variant("seal_strips", engine__boost="0.8 bar gauge").check().limits
    heatproof.explain("my-kit", "brake_line").table

Each is a function of the package and a method of projects and variants. A measure is named as in `kit.yaml`; `+name` and
`-name` count from the kit as it stands; an empty list fits none. All raise Refused (input that cannot be used, with findings)
and, where something is solved, DutyNotSolved.
"""

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from heatproof.assembly.model import lay_network
from heatproof.kit import examples
from heatproof.kit import project as kit_project
from heatproof.kit import read as kit_read
from heatproof.kit.findings import Refused
from heatproof.kit.records import variant as kit_variant
from heatproof.numerics.at_once import Progress
from heatproof.session.answers import (
    CheckAnswer,
    ChooseAnswer,
    CompareAnswer,
    ExplainAnswer,
    RatingAnswer,
    Runs,
    SizeAnswer,
    SolvedDuty,
    SweepAnswer,
    ToleranceAnswer,
    answer,
)
from heatproof.study.questions import check as study_check
from heatproof.study.questions import choose as study_choose
from heatproof.study.questions import compare as study_compare
from heatproof.study.questions import explain as study_explain
from heatproof.study.questions import rating as study_rating
from heatproof.study.questions import size as study_size
from heatproof.study.questions import sweep as study_sweep
from heatproof.study.questions import tolerance as study_tolerance
from heatproof.verdict.solving import solve_all

if TYPE_CHECKING:
    from heatproof.report.release import Built
    from heatproof.report.sheets.build import Sheet
    from heatproof.study.questions.bay import BayView

Source = str | Path | kit_project.Project | kit_variant.Variant
"""What a question may be asked of: a project's folder, a project, or one variant of it."""

Fitted = str | Iterable[str] | kit_variant.Variant | None
"""What stands on the car: measures, a variant, or the kit as it stands (None)."""


# --- what a question is asked of --------------------------------------------------------------------------
def read_project(folder: str | Path, *, kit: str = kit_project.KIT) -> "Project":
    """A project's folder, read. kit: another kit file of the folder. Refused with all findings."""
    return of_project(kit_read.read_project(folder, kit=kit))


def of_project(read: kit_project.Project) -> "Project":
    """The project with every question as a method."""
    return read if isinstance(read, Project) else Project(**vars(read))


def variant(source: Source, *measures: Fitted, **values: Any) -> "Variant":
    """The car with the kit and the named measures (none named: those the kit has), single values in their place.

    values: dotted paths with `__` for the dots, each a text as in a file or an SI number, checked as in a file:
    `variant("my-kit", "seal_strips", cores__radiator__mass="6 kg")`.
    """
    project, start = opened(source)
    given = [fitted for fitted in measures if fitted is not None]
    if start is None and len(given) == 1 and isinstance(given[0], kit_variant.Variant):
        start, given = of_variant(project, given[0]), []
    if start is not None and given:
        raise Refused.of(
            "measures of a variant are chosen already", next_step="ask the project for another variant"
        )
    if start is None:
        return project.variant(*cast("list[str | Iterable[str]]", given), **values)
    for name, value in values.items():
        start = start.replace(name.replace("__", "."), value)
    return start


def of_variant(project: "Project", built: kit_variant.Variant) -> "Variant":
    """The variant with every question as a method."""
    return Variant(**{**vars(built), "project": project})


def opened(source: Source) -> "tuple[Project, Variant | None]":
    """The project, and the variant where the source is one. Refused where it is neither nor a folder of one."""
    if isinstance(source, Variant):
        return source.project, source
    if isinstance(source, kit_variant.Variant):
        project = read_project(source.folder)
        return project, of_variant(project, source)
    if isinstance(source, kit_project.Project):
        return of_project(source), None
    if isinstance(source, str | Path):
        return read_project(source), None
    raise Refused.of(
        "no project",
        got=type(source).__name__,
        allowed="a folder, a Project or a Variant",
        next_step="heatproof.read_project",
    )


def asked(source: Source, fitted: Fitted) -> "tuple[Project, tuple[str, ...] | kit_variant.Variant]":
    """The project, and what a study is asked of: names of measures, whose results are stored, else the variant itself."""
    built = variant(source, fitted)
    return built.project, built.plain() if built.changed else built.fitted


# --- questions --------------------------------------------------------------------------------------------
def check(
    source: Source,
    variant: Fitted = None,
    *,
    spreads: bool = True,
    fresh: bool = False,
    jobs: int = 2,
    progress: Progress | None = None,
) -> CheckAnswer:
    """Does every limit hold, in every duty, and how surely? spreads: False leaves confidences out and is quicker.

    fresh: True solves again even where results of the unchanged project are stored.
    """
    project, fitted = asked(source, variant)
    return cast(
        CheckAnswer,
        answer(
            CheckAnswer,
            study_check.check(project, fitted, spreads=spreads, fresh=fresh, jobs=jobs, progress=progress),
        ),
    )


def explain(
    source: Source,
    part: str,
    variant: Fitted = None,
    *,
    duty: str | None = None,
    time: float | None = None,
    spreads: bool = True,
    helps: bool = False,
    jobs: int = 2,
    progress: Progress | None = None,
) -> ExplainAnswer:
    """Where a part's degrees come from. duty: its worst where left out; time: s, the deciding instant where left out.

    helps: True adds what each measure not fitted would gain.
    """
    project, fitted = asked(source, variant)
    result = study_explain.explain(
        project,
        part,
        fitted,
        duty=duty,
        time=time,
        spreads=spreads,
        helps=helps,
        jobs=jobs,
        progress=progress,
    )
    return cast(ExplainAnswer, answer(ExplainAnswer, result))


def run(source: Source, variant: Fitted = None, *duties: str) -> Runs:
    """The runs themselves, duty by duty, for the named duties (none: all): `run("my-kit", ["blanket"], "long_hill")`."""
    project, fitted = asked(source, variant)
    built = fitted if isinstance(fitted, kit_variant.Variant) else project.variant(fitted).plain()
    wanted = {
        k: d for name in duties for k, d in study_explain.named_duty(project, name).items()
    } or project.duties
    return Runs(
        {
            key: SolvedDuty(**vars(solved))
            for key, solved in solve_all(built, wanted, lay_network(built)).items()
        }
    )


def compare(
    source: Source,
    *others: str | kit_variant.Variant,
    duties: Iterable[str] = (),
    parts: Sequence[str] = (),
    spreads: bool = False,
    jobs: int = 2,
    progress: Progress | None = None,
) -> CompareAnswer:
    """Variants side by side. others: `base`, `all`, `as fitted`, `a,b`, `name=a,b`, or variants.

    The first is what the others are compared with; where the source is a variant, it is the first.
    """
    project, first = opened(source)
    named: list[tuple[str, Sequence[str] | kit_variant.Variant | None]] = []
    for other in [*([first] if first is not None else []), *others]:
        if isinstance(other, kit_variant.Variant):
            named.append((name_of(other), of_variant(project, other).plain()))
        else:
            named.append(study_compare.named_variant(project, other))
    wanted = {k: d for name in duties for k, d in study_explain.named_duty(project, name).items()} or None
    result = study_compare.compare(
        project, named, duties=wanted, parts=parts, spreads=spreads, jobs=jobs, progress=progress
    )
    return cast(CompareAnswer, answer(CompareAnswer, result))


def name_of(built: kit_variant.Variant) -> str:
    """Measures and changed values, as a column is headed."""
    changed = [f"{path} {built.shown(path)}" for path in built.changed]
    return ", ".join([*built.fitted, *changed]) or "base"


def choose(
    source: Source,
    *,
    by: str = "cost",
    prices: Mapping[str, float] | None = None,
    confidence: float | None = None,
    keep: Iterable[str] = (),
    leave: Iterable[str] = (),
    spreads: bool = True,
    jobs: int = 2,
    progress: Progress | None = None,
) -> ChooseAnswer:
    """The cheapest set of measures that holds every limit. by: cost, mass or labour; prices: weights in its place.

    keep, leave: measures that must be in or out. A variant with values set by hand is refused: sets are built from the files.
    """
    project, start = opened(source)
    if start is not None and start.changed:
        raise Refused.of(
            "sets of measures are built from the files, without values set by hand",
            got=", ".join(start.changed),
            next_step="write the values into kit.yaml, or ask the project",
        )
    result = study_choose.choose(
        project, by=by, prices=prices, confidence=confidence, keep=keep, leave=leave, spreads=spreads, jobs=jobs,
        progress=progress,
    )  # fmt: skip
    return cast(ChooseAnswer, answer(ChooseAnswer, result))


def tolerance(
    source: Source,
    variant: Fitted = None,
    *,
    paths: Sequence[str] = (),
    spreads: bool = True,
    draws: int = 40,
    jobs: int = 2,
    progress: Progress | None = None,
) -> ToleranceAnswer:
    """How far values may be off before a limit is lost. paths: those that depend on fitting where left out."""
    project, fitted = asked(source, variant)
    result = study_tolerance.tolerance(
        project, fitted, paths=paths, spreads=spreads, draws=draws, jobs=jobs, progress=progress
    )
    return cast(ToleranceAnswer, answer(ToleranceAnswer, result))


def rating(
    source: Source,
    variant: Fitted = None,
    *,
    levels: Sequence[float] = (0.7, 0.85, 1.0),
    uses: Sequence[str] = (),
    spreads: bool = True,
    without: Iterable[str] = (),
    jobs: int = 2,
    progress: Progress | None = None,
) -> RatingAnswer:
    """Highest ambient at which every limit holds, by use and share of the boost. without: parts that do not bound it."""
    project, fitted = asked(source, variant)
    result = study_rating.rating(
        project,
        fitted,
        levels=levels,
        uses=uses,
        spreads=spreads,
        without=without,
        jobs=jobs,
        progress=progress,
    )
    return cast(RatingAnswer, answer(RatingAnswer, result))


def size(
    source: Source,
    ranges: str | Sequence[str],
    variant: Fitted = None,
    *,
    aim: str = "margin",
    spreads: bool = True,
    generations: int = 15,
    population: int = 8,
    seed: int = 0,
    workers: int = 2,
    progress: Progress | None = None,
) -> SizeAnswer:
    """Sizes within ranges (`cores.radiator.depth=20 mm..40 mm`) that leave most. aim: margin, power or mass."""
    project, fitted = asked(source, variant)
    texts = [ranges] if isinstance(ranges, str) else ranges
    result = study_size.size(
        project, texts, fitted, aim=aim, spreads=spreads, generations=generations, population=population, seed=seed,
        workers=workers, progress=progress,
    )  # fmt: skip
    return cast(SizeAnswer, answer(SizeAnswer, result))


def sweep(
    source: Source,
    variant: Fitted = None,
    *,
    sets: bool = False,
    ranges: str | Sequence[str] = (),
    count: int = 0,
    seed: int = 0,
    workers: int = 2,
    progress: Progress | None = None,
) -> SweepAnswer:
    """Many variants: every set of measures, ranges in steps (`air.passages.vent.area=50 cm2..250 cm2:5`), or `count` draws."""
    project, fitted = asked(source, variant)
    texts = [ranges] if isinstance(ranges, str) else ranges
    plan = study_sweep.planned(project, fitted, sets=sets, ranges=texts, count=count, seed=seed)
    swept = study_sweep.sweep(plan, project.duties, workers=workers, progress=progress)
    return cast(SweepAnswer, answer(SweepAnswer, swept))


def bay(
    source: Source, variant: Fitted = None, *, duty: str | None = None, time: float | None = None
) -> "BayView":
    """Surface temperatures, local peaks and clearances at one instant, where parts have shapes."""
    from heatproof.study.questions.bay import look

    project, fitted = asked(source, variant)
    return look(project, fitted, duty=duty, time=time)


# --- papers -----------------------------------------------------------------------------------------------
def release(
    source: Source, variant: Fitted = None, *, day: str = "", fresh: bool = False, jobs: int = 2
) -> "Built":
    """The release as PDF, HTML and record, in memory; `heatproof.report.release.write` writes it."""
    from heatproof.report.release import build

    project, fitted = stored(source, variant)
    return build(project, fitted, day=day, fresh=fresh, jobs=jobs)


def sheets(
    source: Source, variant: Fitted = None, *readers: str, day: str = "", jobs: int = 2
) -> "tuple[Sheet, ...]":
    """Sheets for the named readers (none: all), in memory; `heatproof.report.sheets.build.write` writes them."""
    from heatproof.report.gathered import gather
    from heatproof.report.sheets import build

    project, fitted = stored(source, variant)
    names = build.known(readers)
    return build.sheets(
        gather(project, fitted, day=day, with_rating="customer" in names, jobs=jobs), names, jobs=jobs
    )


def stored(source: Source, fitted: Fitted) -> "tuple[Project, tuple[str, ...]]":
    """Project and measures. Refused where values are set by hand: a paper stands for files that can be read again."""
    project, wanted = asked(source, fitted)
    if isinstance(wanted, kit_variant.Variant):
        raise Refused.of(
            "a paper stands for the files, not for values set by hand",
            got=", ".join(wanted.changed),
            next_step="write the values into kit.yaml",
        )
    return project, wanted


def new(folder: str | Path, example: str | None = None) -> "Project":
    """A new project, copied from a shipped example (the first where none is named). Refused where the folder is taken."""
    return read_project(examples.start_project(Path(folder), example or examples.examples()[0]))


# --- projects and variants --------------------------------------------------------------------------------
class Questions:
    """Every question that takes a project or a variant, as a method."""

    check = check
    explain = explain
    run = run
    compare = compare
    choose = choose
    tolerance = tolerance
    rating = rating
    size = size
    sweep = sweep
    view_bay = bay
    release = release
    sheets = sheets


@dataclass(repr=False)
class Project(Questions, kit_project.Project):
    """A project's folder as read: files, measures, duties, findings; variants of it, and every question as a method."""

    def variant(self, *measures: str | Iterable[str] | None, **values: Any) -> "Variant":
        """The car with the kit and the named measures, single values in their place: see `heatproof.variant`."""
        return of_variant(self, super().variant(*measures, **values))

    def bare_car(self) -> "Variant":
        """The car as it left the factory, without the kit."""
        return of_variant(self, super().bare_car())

    def _repr_html_(self) -> str:
        import html

        return f"<pre>{html.escape(repr(self))}</pre>"


@dataclass(frozen=True, repr=False)
class Variant(Questions, kit_variant.Variant):
    """The car with the kit and some measures, of one project, and every question as a method."""

    project: Project = dataclasses.field(default=cast(Project, None), compare=False)

    def plain(self) -> kit_variant.Variant:
        """Without its project: what rooms below work on, stored and sent to workers as it is."""
        names = [field.name for field in dataclasses.fields(kit_variant.Variant)]
        return kit_variant.Variant(**{name: getattr(self, name) for name in names})

    def replace(self, path: str, value: Any) -> "Variant":
        """The same with one value changed, read and checked as from a file. Refused with what is allowed."""
        return cast(Variant, super().replace(path, value))

    def _repr_html_(self) -> str:
        import html

        return f"<pre>{html.escape(repr(self))}</pre>"
