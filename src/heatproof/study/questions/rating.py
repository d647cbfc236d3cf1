"""The highest ambient at which the verdict still holds: by power level, use, altitude and air conditioning.

Every cell is found with the full model: the day is made hotter until the first limit, less its spread, is used
up. Spreads are those of the kit as it stands. Beside it stand the trade's own formulas, limiting ambient (LAT) and
air-to-boil (ATB), from one run on the duty's own day: they take one kelvin of coolant for one of ambient, so they
know nothing of a fan that switches, a thermostat that is not open yet, radiation or boiling.
"""

import dataclasses
import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from heatproof.kit.findings import Finding, Findings, Refused, listed
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.laws.vehicle import air_to_boil, limiting_ambient
from heatproof.numerics.at_once import Progress, at_once, counted
from heatproof.study.questions.check import check, variant_of
from heatproof.study.runs.cases import Outcome, case, run_case
from heatproof.study.runs.conditions import on_day, powered
from heatproof.study.runs.slack import Slack, half_widths
from heatproof.study.search.bracket import Edge, last_that_holds
from heatproof.units.si import degC
from heatproof.verdict.judged import called, judged, unknown_part

COLDEST, HOTTEST = degC(-20.0), degC(60.0)
WITHIN = 0.25  # K


@dataclass(frozen=True)
class Cell:
    """One cell. level: share of the kit's boost; altitude m, air_conditioning: None as in each duty.

    ambient K: highest that holds; None where none does (`never`). end: see bracket.Edge. part, duty: what runs
    out first. power W at that ambient. lat, atb K: by formula; None where no coolant limit is judged.
    """

    level: float
    use: str
    altitude: float | None
    air_conditioning: bool | None
    ambient: float | None
    end: str
    part: str
    duty: str
    power: float
    lat: float | None
    atb: float | None
    runs: int
    unsolved: str = ""


@dataclass(frozen=True)
class Rating:
    """All cells in the order level, use, altitude, air conditioning."""

    cells: tuple[Cell, ...]
    confidence: float
    spreads: bool
    titles: Mapping[str, str]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    without: tuple[str, ...] = ()


def rating(
    project: Project,
    variant: Iterable[str] | Variant | None = None,
    *,
    levels: Sequence[float] = (0.7, 0.85, 1.0),
    uses: Sequence[str] = (),
    altitudes: Sequence[float | None] = (None,),
    air_conditioning: Sequence[bool | None] = (None,),
    spreads: bool = True,
    without: Iterable[str] = (),
    jobs: int = 2,
    progress: Progress | None = None,
) -> Rating:
    """levels: shares of the boost (1 is the kit's); uses: of the duties, all where none is named; altitudes m.

    without: parts (key or title) that are not to bound the rating, e.g. one that a known fix is under way for.

    Raises Refused and DutyNotSolved.
    """
    by_use = duties_by_use(project, uses)
    refuse_levels(levels, altitudes)
    built, said = variant_of(project, variant)
    left_out = parts_named(built, without)
    slack = assumed_slack(project, built, spreads, jobs)
    grid = list(itertools.product(levels, by_use, altitudes, air_conditioning))
    tell = counted(progress, len(grid))
    cells = []
    for made in at_once(
        lambda at: cell(built, by_use[at[1]], at[0], at[1], at[2], at[3], slack, left_out), grid, jobs
    ):
        cells.append(made)
        tell(f"{made.use}, {100 * made.level:.0f} %")
    from heatproof.verdict.cautions import cautions_for

    return Rating(
        cells=tuple(cells),
        confidence=built.confidence,
        spreads=spreads,
        titles={part.part: part.title for part in judged(built)},
        cautions=cautions_for({part.caution for part in judged(built)}),
        findings=tuple(dict.fromkeys([*project.findings, *said, *left_out_finding(left_out)])),
        without=left_out,
    )


def parts_named(variant: Variant, names: Iterable[str]) -> tuple[str, ...]:
    """Keys of judged parts by key or title. Refused with the nearest where there is none."""
    parts = judged(variant)
    found: list[str] = []
    for name in names:
        keys = [part.part for part in called(parts, name)]
        if not keys:
            raise Refused([unknown_part(parts, name)])
        found += keys
    return tuple(dict.fromkeys(found))


def left_out_finding(left_out: tuple[str, ...]) -> list[Finding]:
    """That something does not bound this rating."""
    if not left_out:
        return []
    return [
        Finding(
            "warning",
            f"left out of this rating: {', '.join(left_out)}; the rating is worth nothing until their limits hold too",
            next_step="rate again without --without once they do",
        )
    ]


def duties_by_use(project: Project, uses: Sequence[str]) -> dict[str, dict[str, Duty]]:
    """Use → its duties. Refused where a named use has none."""
    found: dict[str, dict[str, Duty]] = {}
    for key, duty in project.duties.items():
        found.setdefault(duty.use, {})[key] = duty
    unknown = [use for use in uses if use not in found]
    if unknown:
        raise Refused(
            [
                Finding(
                    "error",
                    f"no duty stands for the use {use!r}",
                    allowed=listed(found),
                    next_step="name another",
                )
                for use in unknown
            ]
        )
    return {use: found[use] for use in (uses or found)}


def refuse_levels(levels: Sequence[float], altitudes: Sequence[float | None]) -> None:
    """Refused where a level or an altitude is out of range."""
    found = Findings()
    for level in levels:
        if not 0.1 <= level <= 2.0:
            found.append(
                Finding("error", "power level out of range", got=f"{100 * level:g} %", allowed="10 to 200 %")
            )
    for altitude in altitudes:
        if altitude is not None and not -430.0 <= altitude <= 6000.0:
            found.append(
                Finding("error", "altitude out of range", got=f"{altitude:g} m", allowed="−430 to 6000 m")
            )
    found.refuse_errors()


def assumed_slack(project: Project, built: Variant, spreads: bool, jobs: int) -> Slack:
    """Keeps free the spread of this variant on its own days; from stored results where there are any."""
    if not spreads:
        return Slack()
    return Slack(half_widths(check(project, built.fitted, spreads=True, jobs=jobs), built.confidence))


def cell(
    variant: Variant,
    duties: Mapping[str, Duty],
    level: float,
    use: str,
    altitude: float | None,
    air_conditioning: bool | None,
    slack: Slack,
    left_out: tuple[str, ...] = (),
) -> Cell:
    """One cell: every duty of the use on hotter and hotter days."""
    scaled = powered(variant, level)

    def at(ambient: float) -> tuple[float, Outcome]:
        days = {key: on_day(duty, ambient, altitude, air_conditioning) for key, duty in duties.items()}
        outcome = run_case(case(scaled, days))
        margins = {key: margin for key, margin in outcome.margins.items() if key[0] not in left_out}
        outcome = dataclasses.replace(outcome, margins=margins)
        return slack.least(outcome)[0], outcome

    own = min(duty.air.ambient for duty in duties.values())
    first: list[tuple[float, Outcome]] = []

    def noted(ambient: float) -> tuple[float, Outcome]:
        found = at(ambient)
        first.append((ambient, found[1]))
        return found

    edge = last_that_holds(
        noted, start=own, near=COLDEST, far=HOTTEST, slope=-1.0, slack_within=WITHIN, value_within=WITHIN
    )
    lat, atb = by_formula(scaled, *first[0])
    return described(edge, lat, atb, level, use, altitude, air_conditioning, slack)


def described(
    edge: Edge[Outcome],
    lat: float | None,
    atb: float | None,
    level: float,
    use: str,
    altitude: float | None,
    air_conditioning: bool | None,
    slack: Slack,
) -> Cell:
    """A cell from where the slack ran out."""
    part, duty = slack.least(edge.found)[1]
    unsolved = "; ".join((edge.beyond or edge.found).unsolved.values())
    return Cell(
        level=level,
        use=use,
        altitude=altitude,
        air_conditioning=air_conditioning,
        ambient=edge.value if edge.slack >= 0.0 else None,
        end=edge.end,
        part=part,
        duty=duty,
        power=edge.found.power,
        lat=lat,
        atb=atb,
        runs=edge.steps,
        unsolved=unsolved,
    )


def by_formula(variant: Variant, ambient: float, outcome: Outcome) -> tuple[float | None, float | None]:
    """LAT and ATB (K) of the least favourable coolant limit in one run at `ambient` (K)."""
    lat, atb = [], []
    parts = {part.part: part for part in judged(variant)}
    for (key, _), margin in outcome.margins.items():
        if not key.startswith("coolant.") or key not in parts:
            continue
        if parts[key].boil:
            # Margin counts from the distance to boiling asked for, so boiling lies that much further.
            to_boil = margin + (parts[key].limit.boil_margin or 0.0)
            atb.append(air_to_boil(to_boil, 0.0, ambient))
        else:
            lat.append(limiting_ambient(margin, 0.0, ambient))
    return min(lat, default=None), min(atb, default=None)
