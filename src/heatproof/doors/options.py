"""Options that several verbs share, alone or in blocks, and what they say.

A verb takes a whole block in one parameter: a frozen dataclass whose fields are options. `with_blocks` spells the
block out for the command line and hands the verb one object back.
"""

import functools
import inspect
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from heatproof.kit.project import Project
    from heatproof.kit.records.duty import Duty
    from heatproof.kit.records.variant import Variant
    from heatproof.report.reader_units import ReaderUnits

Folder = Annotated[Path, typer.Argument(metavar="PROJECT", help="Project folder.")]
KitFile = Annotated[
    str,
    typer.Option("--kit", metavar="FILE", help="Kit file of the project folder to read."),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object instead of tables.")]
Fresh = Annotated[bool, typer.Option("--fresh", help="Solve again even where results are stored.")]
Duties = Annotated[
    list[str] | None, typer.Option("--duty", help="Only this duty; may be repeated. All where left out.")
]
Plot = Annotated[Path | None, typer.Option("--plot", help="Write a plot to this PNG file.")]
NoSpread = Annotated[bool, typer.Option("--no-spread", help="Leave spreads out; quicker.")]
Jobs = Annotated[int, typer.Option("--jobs", min=1, max=256, help="Runs at the same time.")]
Cluster = Annotated[
    str | None, typer.Option("--cluster", help="Address of a running scheduler, tcp://HOST:PORT.")
]
Resume = Annotated[
    Path | None, typer.Option("--resume", help="Folder of finished runs, to go on after a stop.")
]
Units = Annotated[str, typer.Option("--units", help="Reader's units: metric or us.")]
Date = Annotated[str, typer.Option("--date", help="Date on the paper, YYYY-MM-DD; today if left out.")]
Out = Annotated[Path | None, typer.Option("--out", help="Folder to write to; PROJECT/releases if left out.")]


# --- blocks -----------------------------------------------------------------------------------------------
def with_blocks(verb: Callable[..., None]) -> Callable[..., None]:
    """The verb as the command line sees it: every block spelled out, its options after the verb's own."""
    own = inspect.signature(verb).parameters.values()
    blocks: dict[str, Any] = {p.name: p.annotation for p in own if is_dataclass(p.annotation)}
    spelled = [p for p in own if p.name not in blocks]
    for block in blocks.values():
        spelled += [
            inspect.Parameter(f.name, inspect.Parameter.KEYWORD_ONLY, default=f.default, annotation=f.type)
            for f in fields(block)
        ]

    @functools.wraps(verb)
    def spread(**told: Any) -> None:
        for name, block in blocks.items():
            told[name] = block(**{f.name: told.pop(f.name) for f in fields(block)})
        verb(**told)

    shown = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in spelled]
    spread.__signature__ = inspect.Signature(shown)  # type: ignore[attr-defined]
    spread.__annotations__ = {p.name: p.annotation for p in shown}
    return spread


@dataclass(frozen=True)
class Selection:
    """Which kit file, and which of its measures."""

    kit: KitFile = "kit.yaml"
    variant: Annotated[
        str | None, typer.Option("--variant", help="Fit exactly these measures: a,b,c; none for no measure.")
    ] = None
    fit: Annotated[
        list[str] | None, typer.Option("--fit", help="Fit this measure as well; may be repeated.")
    ] = None
    leave: Annotated[
        list[str] | None, typer.Option("--leave", help="Leave this measure out; may be repeated.")
    ] = None

    def read(self, folder: Path) -> "Project":
        """The project with this kit file. Refused."""
        from heatproof.kit.read import read_project

        return read_project(folder, kit=self.kit)

    def measures(self, project: "Project") -> tuple[str, ...] | None:
        """Measures named on the command line; None where it names none. Unknown names are refused later."""
        if self.variant is None and not self.fit and not self.leave:
            return None
        start = list(project.fitted) if self.variant is None else split([self.variant])
        left = set(split(self.leave or []))
        unknown = sorted(left - set(project.measures))
        wanted = [name for name in [*start, *split(self.fit or [])] if name not in left]
        return tuple(dict.fromkeys([*wanted, *unknown]))

    def opened(self, folder: Path) -> "tuple[Project, tuple[str, ...] | None]":
        """Project and measures. Refused."""
        project = self.read(folder)
        return project, self.measures(project)

    def built(self, folder: Path) -> "tuple[Project, Variant]":
        """Project and variant. Refused."""
        from heatproof.study.questions.check import variant_of

        project, measures = self.opened(folder)
        return project, variant_of(project, measures)[0]


# --- what options say -------------------------------------------------------------------------------------
def split(texts: list[str]) -> list[str]:
    """Names in comma-separated texts; `none` is no name."""
    names = [name.strip() for text in texts for name in text.split(",")]
    return [name for name in names if name and name != "none"]


def duties_named(project: "Project", names: list[str] | None) -> "dict[str, Duty]":
    """The named duties, all where none is named. Refused with the nearest name."""
    from heatproof.study.questions.explain import named_duty

    if not names:
        return dict(project.duties)
    found: dict[str, Duty] = {}
    for name in names:
        found |= named_duty(project, name)
    return found


ALSO_CALLED = {"imperial": "us", "english": "us", "si": "metric"}


def reader_units(name: str) -> "ReaderUnits":
    """Units by name. Refused with what is allowed."""
    from heatproof.kit.findings import Finding, Refused, nearest
    from heatproof.report.reader_units import SYSTEMS, ReaderUnits

    if name not in SYSTEMS:
        finding = Finding(
            "error",
            "--units not understood",
            got=name,
            allowed=", ".join(SYSTEMS),
            nearest=ALSO_CALLED.get(name.lower(), nearest(name, SYSTEMS)),
            next_step="name one of the allowed",
        )
        raise Refused([finding])
    return ReaderUnits(name)


@contextmanager
def stops_told() -> Iterator[None]:
    """A sweep that stopped short, as a refusal with the next step."""
    from heatproof.kit.findings import Finding, Refused
    from heatproof.study.runs.spread_out import SweepStopped

    try:
        yield
    except SweepStopped as error:
        step = "run again with --resume FOLDER to keep what is finished"
        raise Refused([Finding("error", str(error), next_step=step)]) from error
