"""`heatproof correct`: fits named values to logs; writes a new kit file beside the old one."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import print_json, say, say_if_compiling
from heatproof.doors.day_options import DayOptions, log_errors, need_extra
from heatproof.doors.options import AsJson, Folder, Jobs, Selection, with_blocks

if TYPE_CHECKING:
    from heatproof.kit.project import Project
    from heatproof.kit.records.variant import Variant
    from heatproof.logs.correcting.test_day import Prepared

Logs = Annotated[
    list[str],
    typer.Option(
        "--log", help="Log to fit to; may be repeated. Files of one run are joined by +: a.csv+b.csv."
    ),
]
Held = Annotated[
    list[str] | None, typer.Option("--hold-out", help="Log that takes no part and is predicted afterwards.")
]
Paths = Annotated[
    list[str] | None,
    typer.Option(
        "--path", help="Value to correct, by its dotted path; may be repeated. Proposed where left out."
    ),
]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def correct(
        project: Folder,
        selection: Selection,
        told: DayOptions,
        log: Logs,
        hold_out: Held = None,
        path: Paths = None,
        most: Annotated[int, typer.Option("--most", min=1, max=30, help="Values proposed at most.")] = 8,
        name: Annotated[
            str | None,
            typer.Option("--name", help="Name of the new kit file; kit-corrected-N.yaml if left out."),
        ] = None,
        write: Annotated[bool, typer.Option("--write/--no-write", help="Write the new kit file.")] = True,
        verdict: Annotated[
            bool, typer.Option("--verdict/--no-verdict", help="Verdict before and after.")
        ] = True,
        no_spread: Annotated[
            bool, typer.Option("--no-spread", help="Verdicts without spreads; quicker.")
        ] = False,
        remember: Annotated[
            Path | None, typer.Option("--remember", help="Keep what was learned in this memory file.")
        ] = None,
        jobs: Jobs = 2,
        as_json: AsJson = False,
    ) -> None:
        """Fits uncertain values to logs, in a new kit file.

        Fits uncertain values to logs; writes a new kit file beside the old one, with a verdict before and after.
        """

        need_extra("pandas")
        read, built = selection.built(project)
        run = told.run()
        say_if_compiling()
        with log_errors():
            answer = fitted(read, built, log, hold_out or [], path, most, run, jobs)
            answer |= kept(read, built, answer, name, write, remember)
        if verdict:
            answer["verdicts"] = verdicts(read, built, answer, not no_spread, jobs)
        show(answer, built, as_json)


def runs_of(read: "Project", built: "Variant", names: list[str], told: dict[str, Any]) -> "list[Prepared]":
    """Every run, ready to be compared."""
    from heatproof.logs.correcting.test_day import prepare, read_files

    out = []
    for text in names:
        paths = [found(read.folder, one) for one in text.split("+")]
        out.append(prepare(read_files(paths, read.folder), built, name=paths[0].name, **told))
    return out


def found(folder: Path, name: str) -> Path:
    """A log by its path, or by its name in the project's `logs` folder."""
    path = Path(name)
    inside = folder / "logs" / name
    return inside if not path.exists() and inside.exists() else path


def fitted(
    read: "Project",
    built: "Variant",
    logs: list[str],
    held: list[str],
    paths: list[str] | None,
    most: int,
    told: dict[str, Any],
    jobs: int,
) -> dict[str, Any]:
    """Runs, parameters, the correction, what it could not tell, the hold-out."""
    from heatproof.assembly.model import lay_network
    from heatproof.kit.findings import Finding, Refused
    from heatproof.logs.correcting.correct import correct
    from heatproof.logs.correcting.corrected_kit import corrected_values
    from heatproof.logs.correcting.correction_fit import FitSettings
    from heatproof.logs.correcting.hold_out import hold_out
    from heatproof.logs.correcting.parameters import applied, chosen_parameters
    from heatproof.logs.correcting.test_day import proposed_parameters
    from heatproof.logs.correcting.undecided import undecided
    from heatproof.logs.planning.plan import reachable
    from heatproof.logs.predicting.places import places

    prepared = runs_of(read, built, logs, told)
    others = runs_of(read, built, held, told)
    runs = [one.run for one in prepared]
    settings = FitSettings(jobs=jobs)
    if paths:
        parameters = chosen_parameters(built, paths)
    else:
        parameters = proposed_parameters(read, built, runs, most=most, settings=settings)
    if not parameters:
        step = "add channels with a place in the model, or name values with --path"
        raise Refused([Finding("error", "these logs tell of no uncertain value", next_step=step)])
    result = correct(built, parameters, runs, settings)
    known = reachable(built, places(built, lay_network(built)))
    after = applied(built, parameters, result.x)
    return {
        "prepared": prepared,
        "result": result,
        "values": corrected_values(result),
        "weak": undecided(result, known),
        "titles": {key: place.title for key, place in known.items()},
        "held": hold_out(built, after, [one.run for one in others]),
        "proposed": not paths,
        "logs": logs,
    }


def kept(
    read: "Project",
    built: "Variant",
    answer: dict[str, Any],
    name: str | None,
    write: bool,
    memory: Path | None,
) -> dict[str, Any]:
    """The new kit's text, read back as a project; the file and the shop's memory of it, where they are wanted."""
    from heatproof.logs.correcting.corrected_kit import kit_text, new_name, project_with_kit
    from heatproof.logs.correcting.keep import keep_correction
    from heatproof.logs.correcting.memory import lessons_of

    text, _ = kit_text(read, built, answer["values"], f"log {' and '.join(answer['logs'])}")
    again = project_with_kit(read, text)
    path = new_name(read.folder, name) if write else None
    lessons = lessons_of(answer["values"], kit=built.name, logs=", ".join(answer["logs"]))
    keep_correction(read, path, text, memory, lessons)
    return {"project": again, "file": path, "memory": memory}


def verdicts(
    read: "Project", built: "Variant", answer: dict[str, Any], spreads: bool, jobs: int
) -> tuple[Any, Any]:
    """Before (stored where nothing has changed) and after."""
    from heatproof.study.questions.check import check
    from heatproof.verdict.verdict import judge

    before = check(read, built.fitted, spreads=spreads, jobs=jobs)
    again = answer["project"]
    after = judge(again.variant(built.fitted), again.duties, spreads=spreads, jobs=jobs)
    return before, after


def show(answer: dict[str, Any], built: "Variant", as_json: bool) -> None:
    """Everything, as text or JSON."""
    from heatproof.doors.console import print_cautions
    from heatproof.doors.correct_text import (
        correction_data,
        held_out_data,
        print_correction,
        print_held_out,
        print_verdicts,
    )
    from heatproof.doors.log_text import print_log_findings
    from heatproof.verdict.cautions import cautions_for
    from heatproof.verdict.judged import judged

    cautions = cautions_for({part.caution for part in judged(built)})
    before, after = answer.get("verdicts", (None, None))
    notes = [f for one in answer["prepared"] for f in one.findings]
    if as_json:
        data = correction_data(answer["result"], answer["values"], answer["weak"])
        data["held_out"] = held_out_data(answer["held"])
        data["findings"] = [f.text() for f in notes]
        for word, one in (("before", before), ("after", after)):
            data[word] = one and {"verdict": one.state, "sentence": one.sentence, "limits": one.rows}
        data["written"] = str(answer["file"]) if answer["file"] else None
        print_json({**data, "cautions": list(cautions)})
        return
    print_log_findings(notes)
    print_correction(answer["result"], answer["values"], answer["weak"], answer["titles"])
    print_held_out(answer["held"])
    if after is not None:
        print_verdicts(before, after)
    if answer["file"]:
        say(
            f"Written: {answer['file']}. The old kit file is as it was; --kit reads the new one, kit.yaml is its name for good."
        )
    if answer["memory"]:
        say(f"Remembered in {answer['memory']}.")
    say()
    print_cautions(cautions)
