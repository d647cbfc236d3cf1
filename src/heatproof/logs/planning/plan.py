"""Which sensors, where, and how many runs of which duty, so that the margins in doubt shrink most.

Every candidate is one kind of thermocouple at one place. What it would tell is its Fisher information on the
uncertain values (information.py), from the model's derivatives in the test duties at the test's ambient. Sensors
are added one by one, each time the one that leaves the least sum of the doubtful margins' standard deviations;
then runs likewise; then every chosen sensor is tried against every other until no exchange helps.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from heatproof.assembly.model import lay_network
from heatproof.kit.findings import Refused, unknown
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.information import run_information, variances
from heatproof.logs.correcting.parameters import Parameter, parameters_of
from heatproof.logs.correcting.responses import Response, respond
from heatproof.logs.planning.sensor_kinds import SensorKind, doubt_at, kinds_for, proportional, response_s
from heatproof.logs.planning.sensor_search import Candidate, Search
from heatproof.logs.predicting.lag import shown
from heatproof.logs.predicting.places import Place, places
from heatproof.logs.reading.records import Floats
from heatproof.network.laid import Network
from heatproof.network.solve import Run
from heatproof.numerics.at_once import Tell
from heatproof.verdict.judged import judged
from heatproof.verdict.solving import solve_duty_of
from heatproof.verdict.spread import Sensitivities
from heatproof.verdict.spread_runs import Key
from heatproof.verdict.verdict import Row, Verdict

GRID_S, BLOCK = 20.0, 9
"""Readings every 20 s, in means of nine: steps of the integrator and switching fans give every value a signature
of its own within seconds, which no real test would recognise."""
STEP = 1.0
"""Standard deviations of a difference quotient, as in a verdict."""
MOST_PARAMETERS = 24
FELT = 0.003
"""Share of a doubtful margin's variance below which a value is not followed."""
INSIDE = ("exhaust.ports", "exhaust.tailpipe", "charge.filter", "other surfaces of the bay")
"""Masses where no probe can stand."""
MOST_DOUBTFUL = 8


@dataclass(frozen=True)
class ChosenSensor:
    """One sensor of the plan, in the order they were chosen. left: sum of the doubtful margins' standard
    deviations with this and all before it, K."""

    place: Place
    kind: SensorKind
    response: float
    left: float
    simpler: SensorKind | None = None
    """A kind that is easier to fit and leaves at most 3 % more."""


@dataclass(frozen=True, eq=False)
class Plan:
    """sensors in order; others: the next best places with what they would leave instead of the last; runs: duty
    to number; lengths: duty to s until key-off and until the end; doubtful: rows of the verdict with sd before and
    expected after (K); start, end: their sums."""

    sensors: tuple[ChosenSensor, ...]
    others: tuple[tuple[Place, SensorKind, float], ...]
    runs: dict[str, int]
    run_steps: tuple[tuple[str, float], ...]
    doubtful: tuple[tuple[Row, float, float], ...]
    start: float
    end: float
    parameters: tuple[Parameter, ...]
    response: Response
    duties: dict[str, Duty]
    change: dict[Key, Floats]
    lengths: dict[str, tuple[float, float]]

    def number(self, sensor: ChosenSensor) -> int:
        """Number of one of its sensors, from 1, in the order they were chosen."""
        return next(k for k, one in enumerate(self.sensors, start=1) if one is sensor)

    def without_runs(self) -> "Plan":
        """The same without the runs behind it, which weigh a hundred times as much as what was found."""
        bare = replace(self.response, runs=[], moved=[None] * len(self.parameters))
        return replace(self, response=bare)


def doubtful_rows(verdict: Verdict, most: int = MOST_DOUBTFUL) -> list[Row]:
    """Margins in doubt: thin ones and those over whose band reaches 0, and what holds with least to spare where
    fewer than three are in doubt. One row a part."""
    rows = [r for r in verdict.worst_rows if r.sd is not None and r.sd > 0.05]
    doubt = [r for r in rows if abs(r.margin) < (r.half or 0.0) * 1.5]
    rest = sorted((r for r in rows if r not in doubt), key=lambda r: abs(r.margin) / (r.sd or 1.0))
    return (doubt + rest[: max(3 - len(doubt), 0)])[:most]


def margin_changes(matrix: Sensitivities, parameters: Sequence[Parameter]) -> dict[Key, Floats]:
    """Margin to its change (K) per standard deviation of every parameter."""
    column = {path: k for k, path in enumerate(matrix.paths)}
    table = np.array(
        [
            np.sum([matrix.change[:, column[p]] for p in one.paths if p in column], axis=0)
            for one in parameters
        ]
    )
    return {key: table[:, k] for k, key in enumerate(matrix.keys)}


def drawn_share(matrix: Sensitivities, rows: Sequence[Row]) -> Floats:
    """(rows, 1): standard deviation that the verdict gives a margin over that of straight lines; 1 but where they do
    not do and the verdict's comes from draws."""
    at = [matrix.keys.index((row.part, row.duty)) for row in rows]
    straight = np.maximum(matrix.first_order_sds()[at], 1e-12)
    return np.asarray(matrix.value_sds()[at] / straight)[:, None]


def felt_parameters(variant: Variant, matrix: Sensitivities, rows: Sequence[Row]) -> tuple[Parameter, ...]:
    """The values that make up the doubtful margins' variance."""
    every = parameters_of(variant)
    change = margin_changes(matrix, every)
    table = np.array([change[row.part, row.duty] for row in rows]) ** 2
    share = np.max(table / np.maximum(table.sum(axis=1, keepdims=True), 1e-12), axis=0)
    order = [k for k in np.argsort(-share) if share[k] >= FELT][:MOST_PARAMETERS]
    return tuple(every[k] for k in sorted(order))


def at_ambient(duty: Duty, ambient: float | None) -> Duty:
    """The duty on the day of the test."""
    if ambient is None:
        return duty
    return duty.model_copy(update={"air": duty.air.model_copy(update={"ambient": ambient})})


def make_plan(
    variant: Variant,
    duties: Mapping[str, Duty],
    verdict: Verdict,
    *,
    ambient: float | None = None,
    sensors: int = 6,
    runs: int = 4,
    fitted: Sequence[str] = (),
    jobs: int = 2,
    tell: Tell | None = None,
) -> Plan:
    """The plan. verdict: with sensitivities, of the same variant. duties: those that can be driven as tests.

    fitted: places that have a sensor anyway. Refused where one is none; ValueError where the verdict has no spreads
    or no margin a doubt.
    """
    if verdict.sensitivities is None:
        raise ValueError("a plan needs a verdict with spreads")
    rows = doubtful_rows(verdict)
    if not rows:
        raise ValueError("no margin has a spread: there is nothing that a test could shrink")
    known = reachable(variant, places(variant, lay_network(variant)))
    refuse_unknown(fitted, known)
    parameters = felt_parameters(variant, verdict.sensitivities, rows)
    tests = {key: at_ambient(duty, ambient) for key, duty in duties.items()}

    def solve(moved: Variant, network: Network) -> list[Run]:
        return [solve_duty_of(moved, key, duty, network).run for key, duty in tests.items()]

    response = respond(variant, parameters, np.zeros(len(parameters)), solve, step=STEP, jobs=jobs, tell=tell)
    change = margin_changes(verdict.sensitivities, parameters)
    wanted = np.array([change[row.part, row.duty] for row in rows]) * drawn_share(verdict.sensitivities, rows)
    kinds = {mass: candidates_at(place, response, tests) for mass, place in known.items()}
    search = Search(wanted, [some[0] for some in kinds.values() if some], len(tests))
    chosen = search.sensors(sensors, fitted)
    counts, steps = search.runs(chosen, runs)
    chosen = search.exchanged(chosen, counts, sum(c.place.mass in fitted for c in chosen))
    lefts = search.lefts(chosen, counts)
    after = np.sqrt(variances(search.covariance(chosen, counts), wanted))
    before = np.sqrt(np.sum(wanted**2, axis=1))
    keys = list(tests)
    return Plan(
        sensors=tuple(
            ChosenSensor(
                c.place, c.kind, c.response, one, search.simpler(chosen, k, kinds[c.place.mass], counts)
            )
            for k, (c, one) in enumerate(zip(chosen, lefts, strict=True))
        ),
        others=search.others(chosen, counts),
        runs={keys[k]: n for k, n in enumerate(counts) if n},
        run_steps=tuple((keys[k], one) for k, one in steps),
        doubtful=tuple((r, float(b), float(a)) for r, b, a in zip(rows, before, after, strict=True)),
        start=float(before.sum()),
        end=float(after.sum()),
        parameters=parameters,
        response=response,
        duties=tests,
        change=change,
        lengths={
            key: (run.duty.key_off, run.duty.duration) for key, run in zip(keys, response.runs, strict=True)
        },
    )


def refuse_unknown(fitted: Sequence[str], known: Mapping[str, Place]) -> None:
    """Refused where a place that has a sensor anyway is none of the model's."""
    for name in fitted:
        if name not in known:
            step = "name a place as `heatproof log` with --places lists it"
            raise Refused([unknown(f"no sensor can sit at {name!r}", name, known, next_step=step)])


def reachable(variant: Variant, known: Mapping[str, Place]) -> dict[str, Place]:
    """Places for a probe: not inside the engine, and of the liquid in lines only where it is judged."""
    limited = {part.mass for part in judged(variant)}
    return {
        name: place
        for name, place in known.items()
        if name not in INSIDE and (not name.endswith(".fluid") or name in limited)
    }


def candidates_at(place: Place, response: Response, tests: Mapping[str, Duty]) -> list[Candidate]:
    """Every kind that may stand at a place, best first, with what one run of each test duty would tell."""
    peak = max(float(run.state[:, run.network.mass(place.mass)].max()) for run in response.runs)
    out = []
    for kind in kinds_for(place):
        tau = response_s(kind, place, peak)
        reader = reading(place.mass, tau)
        runs = []
        for k, duty in enumerate(tests.values()):
            excess = reader(response.runs[k], k) - duty.air.ambient
            S = response.of(reader, k)
            mean = float(excess.mean())
            doubt = doubt_at(kind, mean + duty.air.ambient, mean)
            runs.append(run_information(S, GRID_S * BLOCK, doubt, mounting=proportional(kind) * excess))
        out.append(Candidate(place, kind, tau, peak, tuple(runs)))
    return out


def reading(mass: str, tau: float) -> Callable[[Run, int], Floats]:
    """What a probe shows, in block means."""

    def read(run: Run, _: int) -> Floats:
        at = np.arange(0.0, counted_s(run, mass), GRID_S)
        values = shown(run.time, run.state[:, run.network.mass(mass)], tau, at)
        starts = np.arange(0, values.size, BLOCK)
        return np.asarray(np.add.reduceat(values, starts) / np.diff(np.append(starts, values.size)))

    return read


def counted_s(run: Run, mass: str) -> float:
    """s for which a place is read: gas that stands still after key-off is not what a probe in the stream sees."""
    flows = mass.startswith(("exhaust.", "charge."))
    return float(run.duty.key_off if flows else run.duty.duration)
