"""One run of a test day, from its files to a run that can be compared and fitted; which values to correct."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatproof.assembly.model import lay_network
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.logs.cleaning.join import Joined, join
from heatproof.logs.correcting.correction_fit import Fit, FitSettings, TestRun
from heatproof.logs.correcting.information import integrated_out
from heatproof.logs.correcting.parameters import Parameter, parameters_of
from heatproof.logs.predicting.logged_duty import Day, logged_duty
from heatproof.logs.predicting.places import Place, map_places, places, with_places
from heatproof.logs.predicting.predict import readings_of
from heatproof.logs.reading.channel_map import ChannelMap, map_of, read_channel_map, save_channel_map
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import LogError, LogFinding
from heatproof.numerics.at_once import Tell
from heatproof.study.store import VerdictStore

EARLY_S = 300.0
"""Left out at the start of a warm run: what the car did before is not known."""
MOST_PROPOSED = 8
LEAST_TOLD = 0.1


@dataclass(frozen=True, eq=False)
class Prepared:
    """A run with all that was found on the way. places: column to place."""

    run: TestRun
    joined: Joined
    places: dict[str, Place]
    findings: tuple[LogFinding, ...]


def stem_of(path: Path) -> str:
    """File name without its endings."""
    name = path.name
    return name.removesuffix(".gz").rsplit(".", 1)[0] if "." in name else name


def map_path(path: Path, project: Path | None) -> Path:
    """Where the channel map of a log lies: `logs/NAME.yaml` of the project, else beside the log."""
    folder = project / "logs" if project is not None else path.parent
    return folder / f"{stem_of(path)}.yaml"


def told_map(path: Path, project: Path | None, given: Path | None = None) -> ChannelMap:
    """The channel map of a log as it stands: the given file, else the one kept for it, else empty."""
    kept = given or map_path(path, project)
    return read_channel_map(kept) if given is not None or kept.is_file() else ChannelMap()


def read_files(
    paths: Sequence[Path],
    project: Path | None = None,
    *,
    given_map: Path | None = None,
    rate_Hz: float | None = None,
    dbc: Path | None = None,
) -> Joined:
    """The files of one run with their maps, cleaned and on one clock. A given map is for the first file."""
    raw = []
    for k, path in enumerate(paths):
        told = told_map(path, project, given_map if k == 0 else None)
        raw.append(read_log(path, told, rate_Hz=rate_Hz, dbc=dbc))
    return join(raw)


def keep_maps(joined: Joined, project: Path | None, found: dict[str, Place] | None = None) -> list[Path]:
    """Saves the map of every file, places filled in; what stands there already stays. Paths written."""
    written = []
    for log in joined.raw:
        path = map_path(Path(log.path), project)
        guessed = map_of(log)
        save_channel_map(path, with_places(guessed, found) if found else guessed)
        written.append(path)
    return written


def prepare(
    joined: Joined,
    variant: Variant,
    *,
    name: str,
    day: Day | None = None,
    cold: bool | None = None,
    from_s: float | None = None,
) -> Prepared:
    """A run of the model for a log. LogError where speed, ambient or every place is missing."""
    network = lay_network(variant)
    known = places(variant, network)
    found, notes = map_places(joined.log, variant, known)
    logged = logged_duty(joined.log, name=name, day=day, cold=cold)
    early = from_s if from_s is not None else (0.0 if logged.start.cold else EARLY_S)
    mapped = {column: place.mass for column, place in found.items()}
    readings = readings_of(joined.log.channels, mapped, logged)
    if not readings:
        raise LogError(
            "no temperature of the log has a place in the model",
            where=joined.log.path,
            next_step="give `place:` in the channel map; `--places` lists what there is",
        )
    run = TestRun(name, logged, readings, min(early, 0.5 * logged.key_off))
    return Prepared(run, joined, found, (*notes, *logged.notes))


def proposed_parameters(
    project: Project,
    variant: Variant,
    runs: Sequence[TestRun],
    *,
    most: int = MOST_PROPOSED,
    settings: FitSettings | None = None,
    tell: Tell | None = None,
) -> tuple[Parameter, ...]:
    """The values these runs tell most of, weighed by what they do to the margins where a check is stored.

    told: share of a value's variance that the runs would take away, all others being as doubtful as they are.
    """
    every = parameters_of(variant)
    fit = Fit(variant, every, runs, settings or FitSettings(), tell)
    P = len(every)
    N = fit.normal_matrix(np.zeros(fit.unknowns.size))
    for _ in range(N.shape[0] - P):
        N = integrated_out(N, -1, 1.0)
    told = 1.0 - np.diag(np.linalg.inv(np.eye(P) + N))
    score = told * margin_weights(project, variant, every)
    order = [k for k in np.argsort(-score) if told[k] >= LEAST_TOLD][:most]
    return tuple(every[k] for k in order)


def margin_weights(project: Project, variant: Variant, parameters: Sequence[Parameter]) -> np.ndarray:
    """Root mean square K that each moves the margins, from the stored check; ones where nothing is stored."""
    kept = VerdictStore(project, variant.fitted, spreads=True).load()
    if kept is None or kept.sensitivities is None:
        return np.ones(len(parameters))
    matrix = kept.sensitivities
    column = {path: k for k, path in enumerate(matrix.paths)}
    out = []
    for parameter in parameters:
        rows = [matrix.change[:, column[p]] for p in parameter.paths if p in column]
        total = np.sum(rows, axis=0) if rows else np.zeros(len(matrix.keys))
        out.append(float(np.sqrt(np.mean(total**2))))
    return np.maximum(np.array(out), 1e-3)
