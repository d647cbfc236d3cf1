"""The answer: does every limit hold, in every duty, with the confidence asked for?"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from heatproof.assembly.duties.samples import plan_duty
from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Finding, Where
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Tell
from heatproof.units.results import HIDDEN, INLINE, K, Shown, degC, kg, s
from heatproof.verdict.cautions import cautions_for
from heatproof.verdict.draws import DRAWS
from heatproof.verdict.duty_facts import DutyFacts, duty_facts
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import Margin, margins_in
from heatproof.verdict.solving import solve_all
from heatproof.verdict.spread import Sensitivities, confidence, half_width, sensitivities
from heatproof.verdict.watch import run_findings, water_findings
from heatproof.verdict.words import count, margin_text, minutes, share, within

State = Literal["holds", "thin", "over"]
WORST_FIRST: dict[State, int] = {"over": 0, "thin": 1, "holds": 2}
SPREADS_LEFT_OUT = "spread.left_out"


@dataclass(frozen=True)
class Row:
    """One part in one duty. Temperatures K, time s. sd, half, confidence: None where spreads were left out."""

    part: str
    title: str
    duty: str
    duty_name: Annotated[str, HIDDEN]
    found: Annotated[Margin, INLINE]
    state: State
    sd: Annotated[float | None, K]
    half: Annotated[float | None, K, Shown("spread")]
    confidence: Annotated[float | None, Shown(label="Sure")]
    path: str
    caution: Annotated[str, HIDDEN] = "none"
    local_rise: Annotated[float | None, HIDDEN] = None
    """K by which the part's hottest place may be over what is judged (steady upper bound); None: not looked for."""

    @property
    def margin(self) -> float:
        """K."""
        return self.found.margin

    @property
    def local_peak(self) -> Annotated[float | None, degC]:
        """The most the part's hottest place may reach, K; None where it was not looked for."""
        return None if self.local_rise is None else self.found.peak + self.local_rise

    @property
    def left(self) -> float:
        """K after the spread: what rows are sorted by."""
        return self.margin - (self.half or 0.0)


@dataclass(frozen=True)
class Verdict:
    """All that a check found. rows: over, thin, holds; of each the least left after the spread first. required: confidence asked for."""

    project: str
    fitted: tuple[str, ...]
    state: Annotated[State, Shown("verdict")]
    sentence: str
    rows: Annotated[tuple[Row, ...], Shown("limits")]
    duties: tuple[DutyFacts, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    masses: int
    required: Annotated[float, Shown("required_confidence")]
    cost: float
    mass: Annotated[float, kg]
    labour: Annotated[float, s]
    currency: str
    sensitivities: Annotated[Sensitivities | None, HIDDEN] = None
    versions: Mapping[str, str] = field(default_factory=dict)
    project_hash: str = ""
    stored: bool = False
    """True where results of an unchanged project were used again."""

    @property
    def worst(self) -> Row:
        """The row the verdict depends on."""
        return headline(self.rows)

    @property
    def worst_rows(self) -> tuple[Row, ...]:
        """Each part once, in its worst duty, the row that its state depends on; over before thin before holds."""
        of: dict[str, list[Row]] = {}
        for row in self.rows:
            of.setdefault(row.part, []).append(row)
        return tuple(sorted((headline(tuple(rows)) for rows in of.values()), key=worst_first))

    def row(self, part: str, duty: str) -> Row:
        """KeyError where there is none."""
        for row in self.rows:
            if (row.part, row.duty) == (part, duty):
                return row
        raise KeyError((part, duty))

    def of_part(self, part: str) -> Row:
        """The part's worst row. KeyError where it is not judged."""
        rows = tuple(row for row in self.rows if row.part == part)
        if not rows:
            raise KeyError(part)
        return headline(rows)


def state_of(margin: float, half: float | None) -> State:
    """over: margin ≤ 0; thin: the band crosses 0; holds: margin less spread ≥ 0."""
    if margin <= 0.0:
        return "over"
    return "holds" if margin - (half or 0.0) >= 0.0 else "thin"


def judge(
    variant: Variant,
    duties: Mapping[str, Duty],
    *,
    spreads: bool | Sensitivities = True,
    jobs: int = 2,
    solved: Mapping[str, Solved] | None = None,
    tell: Tell | None = None,
) -> Verdict:
    """The verdict on one variant. DutyNotSolved or Refused where a duty cannot be solved or driven.

    spreads: True works sensitivities out, False leaves spreads out; sensitivities given are used as they are (rows they do
    not know stay without a spread). solved: runs of the same variant through the same duties.
    """
    runs = solved or solve_all(variant, duties, lay_network(variant), tell)
    parts = judged(variant)
    found = {(part, key): m for key, run in runs.items() for part, m in margins_in(run.run, parts).items()}
    matrix = spreads if isinstance(spreads, Sensitivities) else None
    if spreads is True:
        base = {key: margin.margin for key, margin in found.items()}
        lengths = {key: run.run.time.size for key, run in runs.items()}
        matrix = sensitivities(variant, duties, base, rows=lengths, jobs=jobs, tell=tell)
    rows = ranked(variant, duties, parts, found, matrix)
    facts = tuple(duty_facts(key, run, notes_of(variant, duties[key])) for key, run in runs.items())
    return Verdict(
        project=variant.name,
        fitted=variant.fitted,
        state=min((row.state for row in rows), key=WORST_FIRST.__getitem__, default="holds"),
        sentence=sentence(rows, facts, variant.confidence),
        rows=rows,
        duties=facts,
        findings=(
            *run_findings(runs),
            *water_findings(variant),
            *unfinished(rows),
            *spread_findings(matrix, rows),
        ),
        cautions=cautions_for({part.caution for part in parts}),
        masses=len(next(iter(runs.values())).run.network.masses) if runs else 0,
        required=variant.confidence,
        cost=variant.cost,
        mass=variant.mass,
        labour=variant.labour,
        currency=variant.head.currency,
        sensitivities=matrix,
    )


def notes_of(variant: Variant, duty: Duty) -> tuple[str, ...]:
    """What the drive has to say."""
    return plan_duty(duty, variant).notes


def ranked(
    variant: Variant,
    duties: Mapping[str, Duty],
    parts: tuple[Judged, ...],
    found: Mapping[tuple[str, str], Margin],
    matrix: Sensitivities | None,
) -> tuple[Row, ...]:
    """A row for every margin, worst state first, then least left."""
    by_key = {part.part: part for part in parts}
    sds = dict(zip(matrix.keys, matrix.sds(), strict=True)) if matrix is not None else {}
    rows = []
    for (key, duty), margin in found.items():
        sd = float(sds[key, duty]) if (key, duty) in sds else None
        half = half_width(sd, variant.confidence) if sd is not None else None
        rows.append(
            Row(
                part=key,
                title=by_key[key].title,
                duty=duty,
                duty_name=duties[duty].name,
                found=margin,
                state=state_of(margin.margin, half),
                sd=sd,
                half=half,
                confidence=confidence(margin.margin, sd) if sd is not None else None,
                path=by_key[key].path,
                caution=by_key[key].caution,
            )
        )
    return tuple(sorted(rows, key=order_of))


def order_of(row: Row) -> tuple[int, float, str, str]:
    """Rows are sorted by state first, then by what is left after the spread: nothing over hides behind a wide spread."""
    return WORST_FIRST[row.state], row.left, row.part, row.duty


def headline(rows: tuple[Row, ...]) -> Row:
    """The smallest margin where something is over; else the least left. ValueError where nothing is judged."""
    over = [row for row in rows if row.state == "over"]
    return min(over or rows, key=lambda row: row.margin if over else row.left)


def worst_first(row: Row) -> tuple[int, float, str, str]:
    """Key of an order in which what is over stands before what is thin, the row of the headline first."""
    return WORST_FIRST[row.state], row.margin if row.state == "over" else row.left, row.part, row.duty


def when(row: Row, facts: Mapping[str, DutyFacts]) -> str:
    """`6 min after key-off in track session`, `12 min into long hill`."""
    duty, time, name = facts[row.duty], row.found.time, within(row.duty_name)
    if duty.stops and time > duty.key_off:
        return f"{minutes(time - duty.key_off)} after key-off in {name}"
    return f"{minutes(time)} into {name}"


def sentence(rows: tuple[Row, ...], duties: tuple[DutyFacts, ...], required: float) -> str:
    """The finding first, then where and when."""
    if not rows:
        return "Nothing is judged: no part of this project has a limit."
    facts = {duty.key: duty for duty in duties}
    worst = headline(rows)
    name, place = within(worst.title), when(worst, facts)
    margin = margin_text(worst.margin, worst.half)
    if worst.state == "over":
        past = margin_text(abs(worst.margin), None).removeprefix("+")
        return f"Over: {name} passes its limit by {past}, {place}.{others(rows)}"
    if worst.state == "thin":
        sure = f", {share(worst.confidence)} sure to hold" if worst.confidence is not None else ""
        return f"Thin: {name} has {margin} left{sure}, {place}.{others(rows)}"
    sure = f", at {share(required)} confidence" if worst.half is not None else ", spreads left out"
    used = f"{count(len(duties))} {'duty' if len(duties) == 1 else 'duties'}"
    return f"Holds: every part, {used}{sure}. Closest: {name}, {margin}."


def others(rows: tuple[Row, ...]) -> str:
    """How many further parts do not hold."""
    first = headline(rows).part
    over = {row.part for row in rows if row.state == "over"} - {first}
    thin = {row.part for row in rows if row.state == "thin"} - over - {first}
    texts = [f"{count(len(group))} more {word}" for group, word in ((over, "over"), (thin, "thin")) if group]
    return f" Also {', '.join(texts)}." if texts else ""


def unfinished(rows: tuple[Row, ...]) -> list[Finding]:
    """Notes on parts still above their continuous limit, within the time allowed, when the duty ends."""
    return [
        Finding(
            "note",
            f"{row.duty_name}: {within(row.title)} is still above its continuous limit when the duty ends; "
            f"{minutes(row.found.over_time)} of the {minutes(row.found.allowed_time)} allowed are used so far",
            Where(f"duties/{row.duty}.yaml", 0, "soak"),
            next_step="lengthen the soak until it has cooled below the limit",
            code="limit.above_at_end",
        )
        for row in rows
        if row.found.ends_over and row.found.over_time < row.found.allowed_time
    ]


def spread_findings(matrix: Sensitivities | None, rows: tuple[Row, ...]) -> list[Finding]:
    """What the spreads do and do not cover."""
    if matrix is None:
        return [
            Finding(
                "note",
                "spreads left out: states say nothing of confidence",
                next_step="check without --no-spread",
                code=SPREADS_LEFT_OUT,
            )
        ]
    found = [
        Finding(
            "note",
            f"± from {len(matrix.paths)} values with a spread of their own, {matrix.assumed} assumed and {matrix.laws} families of "
            "laws, and from the model's own doubt",
            next_step="measure a value and give it its spread; correct the model with logs",
            code="spread.covers",
        )
    ]
    if matrix.drawn:
        told = {(row.part, row.duty): f"{within(row.title)} ({within(row.duty_name)})" for row in rows}
        parts = ", ".join(told[key] for key, _ in matrix.drawn)
        found.append(
            Finding(
                "note",
                f"values within their spread switch something that matters to {parts}: their ± comes from draws of all "
                "values at once, not from straight lines",
                next_step="heatproof check --sampling says what switches",
                code="spread.by_draws",
            )
        )
    if matrix.lost_draws:
        found.append(
            Finding(
                "warning",
                f"{matrix.lost_draws} of {DRAWS} joint draws were not solved and are left out of the ±",
                next_step="narrow the spreads of the most doubtful values",
                code="spread.lost_draws",
            )
        )
    for path in matrix.unsolved:
        found.append(
            Finding(
                "warning",
                f"the spread of {path} is left out: a duty did not solve with it moved",
                code="spread.unsolved",
            )
        )
    return found
