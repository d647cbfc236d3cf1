"""`heatproof log`: reads a test log, names channels, reduces it, compares it with prediction."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heatproof.doors.console import print_json, say, say_if_compiling
from heatproof.doors.day_options import DayOptions, log_errors, need_extra, project_of, told_ambient
from heatproof.doors.options import AsJson, Selection, with_blocks

if TYPE_CHECKING:
    from heatproof.kit.project import Project
    from heatproof.kit.records.variant import Variant
    from heatproof.logs.correcting.test_day import Prepared
    from heatproof.logs.predicting.against import Against
    from heatproof.logs.reading.records import Log
    from heatproof.logs.reducing.cooldown import SoakPair

Files = Annotated[
    list[Path], typer.Argument(metavar="FILE...", help="Log of one run; further files are its other loggers.")
]
Project_ = Annotated[
    Path | None, typer.Option("--project", help="Project folder; that of a log inside PROJECT/logs is known.")
]


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    @with_blocks
    def log(
        files: Files,
        selection: Selection,
        told: DayOptions,
        project: Project_ = None,
        channel_map: Annotated[Path | None, typer.Option("--map", help="Channel map to read with.")] = None,
        rate: Annotated[
            float | None, typer.Option("--rate", help="Rows per second, for a log without a time column.")
        ] = None,
        dbc: Annotated[
            Path | None, typer.Option("--dbc", help="Description of bus frames inside an MDF4 file.")
        ] = None,
        keep_map: Annotated[bool, typer.Option("--keep-map/--no-map", help="Save the channel map.")] = True,
        duty: Annotated[
            str | None, typer.Option("--duty", help="Write the drive as a duty of the project, by this key.")
        ] = None,
        plots: Annotated[
            Path | None, typer.Option("--plots", help="Folder for plots, measured and predicted.")
        ] = None,
        to_ambient: Annotated[
            str | None,
            typer.Option("--to-ambient", help="What the peaks would be at this ambient, '40 degC'."),
        ] = None,
        other_day: Annotated[
            Path | None, typer.Option("--other-day", help="Log of another day, compared with this one.")
        ] = None,
        list_places: Annotated[
            bool, typer.Option("--places", help="List the places a channel may have, and end.")
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        """Reads a test log and compares it with prediction.

        Reads a test log, names channels, reduces it, compares it with prediction.
        """
        need_extra("pandas")
        from heatproof.kit.findings import Refused
        from heatproof.logs.reading.records import LogError
        from heatproof.logs.reading.time_axis import FASTEST, SLOWEST

        with log_errors():
            home = project_of(files[0], project)
            read, built = selection.built(home) if home is not None else (None, None)
            if list_places:
                print_places(built)
                return
            if rate is not None and not SLOWEST <= rate <= FASTEST:
                raise Refused.of(
                    "--rate is none of a logger",
                    got=f"{rate:g}",
                    allowed=f"{SLOWEST:g} to {FASTEST:g} rows a second",
                    next_step="give rows a second",
                )
            ambient = None if to_ambient is None else told_ambient(to_ambient, "--to-ambient")
            run = told.run()
            answer = read_and_reduce(files, home, built, channel_map, rate, dbc)
            prepared = compared = None
            if built is not None and read is not None:
                say_if_compiling()
                prepared, compared = compare(answer["joined"], built, duty or files[0].stem, run, answer)
            if other_day is not None:
                answer |= two_days(answer, other_day, home)
            if ambient is not None:
                if compared is not None and prepared is not None:
                    answer["elsewhere"] = elsewhere(built, prepared, compared, ambient)
                else:
                    answer["missing"].append(
                        LogError(
                            "--to-ambient needs a run that is compared with its prediction",
                            next_step="name the project with --project, or mend what keeps the log from being driven",
                        )
                    )
            written = kept(answer, home, prepared) if keep_map else []
            if duty is not None:
                written += write_duty(read, built, prepared, duty, files[0].name)
            if plots is not None and compared is not None:
                from heatproof.doors.day_plots import plot_against

                written += plot_against(compared, plots)
        show(answer, prepared, compared, built, written, as_json)


def read_and_reduce(
    files: list[Path],
    home: Path | None,
    built: "Variant | None",
    channel_map: Path | None,
    rate: float | None,
    dbc: Path | None,
) -> dict[str, Any]:
    """Joined log, events, figures."""
    from heatproof.logs.correcting.test_day import read_files
    from heatproof.logs.reducing.events import find_events
    from heatproof.logs.reducing.laps import laps
    from heatproof.logs.reducing.reduction import reduced
    from heatproof.logs.reducing.steady import steady_stretches

    joined = read_files(files, home, given_map=channel_map, rate_Hz=rate, dbc=dbc)
    found = [*find_events(joined.log), *steady_stretches(joined.log)]
    if joined.log.has("gps_latitude"):
        found += laps(joined.log)
    events = tuple(sorted(found, key=lambda e: e.start_s))
    return {"joined": joined, "events": events, "figures": reduced(joined.log, events, built), "missing": []}


def compare(
    joined: Any, built: "Variant", name: str, told: dict[str, Any], answer: dict[str, Any]
) -> "tuple[Prepared | None, Against | None]":
    """The run through the model; a log that cannot be driven is still read, and the reason told."""
    from heatproof.logs.correcting.test_day import prepare
    from heatproof.logs.predicting.against import compare_with_model
    from heatproof.logs.reading.records import LogError

    try:
        prepared = prepare(joined, built, name=name, **told)
    except LogError as error:
        answer["missing"].append(error)
        return None, None
    run = prepared.run
    return prepared, compare_with_model(built, run.logged, run.readings, from_s=run.from_s)


def two_days(answer: dict[str, Any], other: Path, home: Path | None) -> dict[str, Any]:
    """What differs, and how the coolant cooled between the two runs."""
    from heatproof.logs.correcting.test_day import read_files

    second = read_files([other], home).log
    return {"days": differences(answer, second), "between": between(answer["joined"].log, second)}


def between(one: "Log", other: "Log") -> "SoakPair | None":
    """From the end of the earlier run to the start of the later; None where the logs do not tell."""
    from heatproof.logs.reading.records import LogError
    from heatproof.logs.reducing.cooldown import pair_of_logs

    if one.start is None or other.start is None:
        return None
    first, second = (one, other) if one.start <= other.start else (other, one)
    try:
        return pair_of_logs(first, second)
    except LogError:
        return None


def differences(answer: dict[str, Any], second: "Log") -> list[Any]:
    """Difference of every temperature over ambient that both days measured; what is worth too few independent
    samples is told as not compared."""
    from heatproof.logs.predicting.compare_days import compare_days
    from heatproof.logs.reading.records import LogError

    first, out = answer["joined"].log, []
    shared = {c.quantity for c in first.channels if c.si_unit == "K"} & {c.quantity for c in second.channels}
    for quantity in sorted(shared - {"unknown", "ambient_temperature", "surface_temperature"}):
        try:
            out.append(compare_days(first, second, quantity))
        except LogError as error:
            name = quantity.replace("_", " ")
            answer["missing"].append(LogError(f"{name} of the two days: {error.what}", got=error.got))
    return out


def elsewhere(built: Any, prepared: "Prepared", compared: "Against", ambient: float) -> Any:
    """Peaks at another ambient."""
    from heatproof.logs.correcting.other_ambient import on_another_day

    return on_another_day(built, prepared.run, ambient, solved=compared.run)


def kept(answer: dict[str, Any], home: Path | None, prepared: "Prepared | None") -> list[Path]:
    """Saves the channel maps."""
    from heatproof.logs.correcting.test_day import keep_maps

    return keep_maps(answer["joined"], home, prepared.places if prepared else None)


def write_duty(
    read: "Project | None", built: Any, prepared: "Prepared | None", key: str, source: str
) -> list[Path]:
    """The logged drive as `duties/KEY.yaml` and `duties/KEY.csv`. Refused over files that are there."""
    import re

    from heatproof._files import write_together
    from heatproof.kit.findings import Finding, Refused
    from heatproof.logs.predicting.duty_files import duty_yaml, trace_csv

    if read is None or prepared is None:
        step = "give --project, and a log with speed and ambient temperature"
        raise Refused([Finding("error", "no duty can be made of this log", next_step=step)])
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,40}", key):
        raise Refused([Finding("error", "not a key for a duty", got=key, allowed="small letters, digits, _")])
    paths = [read.folder / "duties" / f"{key}{ending}" for ending in (".csv", ".yaml")]
    for path in paths:
        if path.exists():
            step = "choose another key; nothing is written over"
            raise Refused([Finding("error", "that duty is there already", got=path.name, next_step=step)])
    duty = duty_yaml(prepared.run.logged, trace=f"duties/{key}.csv", source=source)
    files = {f"duties/{key}.csv": trace_csv(prepared.run.logged, built), f"duties/{key}.yaml": duty}
    write_together(read.folder, {name: text.encode() for name, text in files.items()})
    return paths


def show(
    answer: dict[str, Any],
    prepared: "Prepared | None",
    compared: "Against | None",
    built: "Variant | None",
    written: list[Path],
    as_json: bool,
) -> None:
    """Everything, as text or JSON."""
    from heatproof.doors.console import print_cautions
    from heatproof.doors.log_data import against_data, between_data, days_data, elsewhere_data, log_data
    from heatproof.doors.log_text import (
        print_against,
        print_between,
        print_days,
        print_elsewhere,
        print_log,
        print_log_findings,
    )
    from heatproof.verdict.cautions import cautions_for
    from heatproof.verdict.judged import judged

    cautions = cautions_for({part.caution for part in judged(built)} if built is not None else ())
    joined, events, figures = answer["joined"], answer["events"], answer["figures"]
    if as_json:
        data = log_data(joined, events, figures)
        data["compared"] = against_data(compared) if compared is not None else []
        data["not_compared"] = [error.text() for error in answer["missing"]]
        data["at_other_ambient"] = elsewhere_data(answer.get("elsewhere", ()))
        data["other_day"] = days_data(answer.get("days", ()))
        data["between_runs"] = between_data(answer.get("between"))
        data["model_findings"] = [f.text() for f in prepared.findings] if prepared is not None else []
        print_json({**data, "written": [str(p) for p in written], "cautions": list(cautions)})
        return
    print_log(joined, events, figures)
    for error in answer["missing"]:
        say(f"Not compared: {error.text()}")
        say()
    if prepared is not None and compared is not None:
        print_log_findings(list(prepared.findings))
        print_against(compared, compared.from_s)
    print_elsewhere(answer.get("elsewhere", ()))
    print_days(answer.get("days", ()))
    print_between(answer.get("between"))
    for path in written:
        say(f"Written: {path}")
    if written:
        say()
    print_cautions(cautions)


def print_places(built: "Variant | None") -> None:
    """Key, what it is, title of every place."""
    from heatproof.assembly.model import lay_network
    from heatproof.doors.console import print_table
    from heatproof.kit.findings import Finding, Refused
    from heatproof.logs.predicting.places import places

    if built is None:
        raise Refused([Finding("error", "places are those of a project", next_step="give --project PROJECT")])
    known = places(built, lay_network(built))
    rows = [(one.mass, one.medium, one.title) for one in known.values()]
    print_table(("Place", "Is", "Title"), rows, left=("Place", "Is", "Title"))
