"""Many variants at once, over processes or a cluster: all sets of measures, a grid of values, or random draws."""

import csv
import io
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatproof._program_hash import answers_hash
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress
from heatproof.study.questions.check import variant_of
from heatproof.study.runs.cases import Case, Outcome, case, from_plain, run_plain
from heatproof.study.runs.spread_out import spread_out
from heatproof.study.search.measure_sets import MOST_ENUMERATED, choice_of
from heatproof.study.search.values import ranged, shown
from heatproof.verdict.uncertain import drawn, draws

MOST_RUNS = 200_000


@dataclass(frozen=True)
class Swept:
    """columns: what tells the variants apart; rows: its text for each; outcomes: what each gave."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    outcomes: tuple[Outcome, ...]
    in_order: bool = False
    """True where the rows have an order of their own: those of ranges."""

    @property
    def holding(self) -> int:
        """How many hold by their margins alone."""
        return sum(1 for one in self.outcomes if one.smallest > 0.0)


@dataclass(frozen=True)
class Plan:
    """Variants to run, with what tells them apart."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    variants: tuple[Variant, ...]
    in_order: bool = False


def all_sets(project: Project) -> Plan:
    """Every set of measures that may be fitted together. Refused where there are too many."""
    choice = choice_of(project.measures)
    if choice.size > MOST_ENUMERATED:
        raise too_many(2**choice.size)
    sets = list(itertools.islice(choice.all_sets(), MOST_RUNS + 1))
    refuse_many(len(sets))
    rows, variants = [], []
    for chosen in sets:
        try:
            variants.append(project.variant(choice.titles(chosen)))
        except Refused:
            continue  # a set the kit itself cannot build is no candidate
        rows.append((" ".join(choice.titles(chosen)),))
    return Plan(("measures",), tuple(rows), tuple(variants))


def grid(variant: Variant, ranges: Sequence[str]) -> Plan:
    """Every combination of `path=low..high:count`. Refused where a range is not understood."""
    axes = []
    for text in ranges:
        span, _, count = text.rpartition(":")
        if not span or not count.strip().isdigit() or int(count) < 2:
            raise Refused(
                [
                    Finding(
                        "error",
                        "range not understood",
                        got=text,
                        allowed="PATH=LOW..HIGH:COUNT, count from 2",
                    )
                ]
            )
        path, low, high, quantity = ranged(variant, span)
        axes.append((path, np.linspace(low, high, int(count)), quantity))
    refuse_many(int(np.prod([axis.size for _, axis, _ in axes])))
    rows, variants = [], []
    for values in itertools.product(*(axis for _, axis, _ in axes)):
        one = variant
        for (path, _, _), value in zip(axes, values, strict=True):
            one = one.with_value(path, float(value))
        variants.append(one)
        rows.append(tuple(shown(float(v), q) for (_, _, q), v in zip(axes, values, strict=True)))
    return Plan(tuple(path for path, _, _ in axes), tuple(rows), tuple(variants), in_order=True)


def random_draws(variant: Variant, count: int, seed: int) -> Plan:
    """All values with a spread, drawn at once."""
    refuse_many(count)
    paths, z = draws(variant, count, seed)
    rows = tuple(tuple(f"{value:.4f}" for value in row) for row in z)
    return Plan(paths, rows, tuple(drawn(variant, paths, row) for row in z))


def refuse_many(count: int) -> None:
    """Refused above MOST_RUNS."""
    if count > MOST_RUNS:
        raise too_many(count)


def too_many(count: int) -> Refused:
    """A refusal."""
    return Refused(
        [
            Finding(
                "error",
                "too many variants for one sweep",
                got=f"{count}",
                allowed=f"{MOST_RUNS}",
                next_step="narrow it",
            )
        ]
    )


def planned(
    project: Project,
    measures: Sequence[str] | Variant | None,
    *,
    sets: bool = False,
    ranges: Sequence[str] = (),
    count: int = 0,
    seed: int = 0,
) -> Plan:
    """Exactly one of sets, ranges, count. Refused otherwise."""
    if sum([sets, bool(ranges), count > 0]) != 1:
        what = "say one of --sets, --vary and --draws"
        raise Refused([Finding("error", what, next_step="--vary air.passages.vent.area=50 cm2..250 cm2:5")])
    if sets:
        return all_sets(project)
    variant, _ = variant_of(project, measures)
    return grid(variant, ranges) if ranges else random_draws(variant, count, seed)


def sweep(
    plan: Plan,
    duties: Mapping[str, Duty],
    *,
    workers: int = 2,
    cluster: str | None = None,
    resume: Path | str | None = None,
    progress: Progress | None = None,
) -> Swept:
    """Runs a plan. Raises SweepStopped and Refused; see `spread_out`."""
    cases: list[Case] = [case(variant, duties) for variant in plan.variants]
    plain = spread_out(
        run_plain,
        cases,
        workers=workers,
        cluster=cluster,
        resume=resume,
        progress=progress,
        label=answers_hash(),
    )
    return Swept(plan.columns, plan.rows, tuple(from_plain(one) for one in plain), plan.in_order)


def csv_text(swept: Swept) -> str:
    """One row a variant: what tells it apart, smallest margin, power, then every margin in K."""
    keys = tuple(dict.fromkeys(key for one in swept.outcomes for key in one.margins))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    head = [
        "smallest margin [K]",
        "power [kW]",
        "not solved",
        *(f"{part}, {duty} [K]" for part, duty in keys),
    ]
    writer.writerow([*swept.columns, *head])
    for row, one in zip(swept.rows, swept.outcomes, strict=True):
        margins = [f"{one.margins[key]:.3f}" if key in one.margins else "" for key in keys]
        smallest = "" if one.unsolved else f"{one.smallest:.3f}"
        writer.writerow([*row, smallest, f"{one.power / 1e3:.2f}", " ".join(one.unsolved), *margins])
    return out.getvalue()
