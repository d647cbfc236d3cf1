"""`heatproof check`: all duties, all limits."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import print_json, progress_bar, say_if_compiling
from heatproof.doors.options import AsJson, Duties, Folder, Fresh, Selection, duties_named, with_blocks

if TYPE_CHECKING:
    from heatproof.kit.project import Project
    from heatproof.study.questions.sampled_check import SampledCheck
    from heatproof.verdict.verdict import Verdict


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def check(
        project: Folder,
        selection: Selection,
        as_json: AsJson = False,
        no_spread: Annotated[
            bool, typer.Option("--no-spread", help="Leave spreads and confidences out; quicker.")
        ] = False,
        fresh: Fresh = False,
        duty: Duties = None,
        everything: Annotated[
            bool, typer.Option("--all", help="Every part in every duty, and every note.")
        ] = False,
        worst: Annotated[bool, typer.Option("--worst", help="Every part once, in its worst duty.")] = False,
        sampling: Annotated[
            int,
            typer.Option(
                "--sampling",
                metavar="DRAWS",
                help="Sample all uncertain values as well; 100 is a good number.",
            ),
        ] = 0,
    ) -> None:
        """Does every limit hold, in every duty, and how sure is that?"""
        from heatproof.doors.check_text import check_blocks
        from heatproof.doors.terminal import print_blocks
        from heatproof.study.questions.check import check as run_check
        from heatproof.units.results import plain

        read, measures = selection.opened(project)
        named = tuple(duties_named(read, duty)) if duty else None
        say_if_compiling()
        with progress_bar("Solving") as progress:
            verdict = run_check(
                read, measures, duties=named, spreads=not no_spread, fresh=fresh, progress=progress
            )
        sampled = sampled_beside(read, verdict, measures, sampling) if sampling else None
        if as_json:
            print_json(plain(verdict) | ({"sampling": sampling_data(sampled)} if sampled else {}))
        else:
            print_blocks(tuple(check_blocks(verdict, everything=everything, worst=worst)))
            if sampled is not None:
                show(sampled, verdict.required)
        raise typer.Exit(0 if verdict.state == "holds" else 1)


def sampled_beside(
    project: "Project", verdict: "Verdict", measures: tuple[str, ...] | None, draws: int
) -> "SampledCheck":
    """The sampled check, with its own progress."""
    from heatproof.study.questions.sampled_check import check_by_sampling

    with progress_bar("Sampling") as progress:
        return check_by_sampling(project, verdict, measures, count=draws, progress=progress)


def sampling_data(sampled: "SampledCheck") -> dict[str, Any]:
    """Its JSON twin. Imported here: sampling brings a statistics library that an ordinary check does without."""
    from heatproof.doors.sampling_text import sampled_data

    return sampled_data(sampled)


def show(sampled: "SampledCheck", required: float) -> None:
    """Its tables."""
    from heatproof.doors.sampling_text import print_sampled

    print_sampled(sampled, required)
