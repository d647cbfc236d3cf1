"""Variants side by side: what each leaves at every part, what it gives and costs, and what changed why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Finding, Refused, unknown
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.network.ledger import split_rise
from heatproof.numerics.at_once import Progress
from heatproof.study.questions.check import variant_of
from heatproof.study.questions.spool import time_to_boost
from heatproof.study.runs.cases import charge_temperature
from heatproof.study.search.measure_sets import choice_of
from heatproof.verdict.judged import Judged, judged
from heatproof.verdict.margins import hottest_mass, margin_in
from heatproof.verdict.solving import solve_all
from heatproof.verdict.verdict import Row, Verdict, judge

AS_FITTED, BASE, ALL = "as fitted", "base", "all"
LEAST_CHANGE = 0.05  # K of a cause's part in a rise that is worth a row


@dataclass(frozen=True)
class Compared:
    """One variant. power W, charge K, time_to_boost s (None without a turbo or where boost never comes)."""

    name: str
    verdict: Verdict
    power: float
    charge: float
    time_to_boost: float | None


@dataclass(frozen=True)
class Change:
    """One part's rise in one duty, in the first variant and another. rises K over ambient, at each one's own
    deciding instant; causes: (cause, K in the first, K in the other), largest change first; they sum to the rises."""

    part: str
    title: str
    duty: str
    first: str
    other: str
    rise_first: float
    rise_other: float
    causes: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True)
class Comparison:
    """variants in the order asked for; changes: from the first to every other."""

    variants: tuple[Compared, ...]
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]

    def titles(self) -> dict[str, str]:
        """Part to title, in the order of least margin in the first variant that has it."""
        return {row.part: row.title for one in self.variants for row in one.verdict.worst_rows}


def compare(
    project: Project,
    variants: Sequence[tuple[str, Sequence[str] | Variant | None]],
    *,
    duties: Mapping[str, Duty] | None = None,
    parts: Sequence[str] = (),
    most_parts: int = 3,
    spreads: bool = False,
    jobs: int = 2,
    progress: Progress | None = None,
) -> Comparison:
    """variants: (name, measures); None for the kit as it stands. parts: whose changes are explained; the
    `most_parts` whose margin changes most where left out. Raises Refused and DutyNotSolved."""
    used = dict(duties or project.duties)
    built: list[tuple[str, Variant]] = []
    findings: list[Finding] = [*project.findings]
    for name, measures in variants:
        variant, said = variant_of(project, measures)
        built.append((name, variant))
        findings += said
    for name in parts:
        refuse_unjudged(name, [variant for _, variant in built])
    solved, compared = [], []
    for k, (name, variant) in enumerate(built):
        runs = solve_all(variant, used, lay_network(variant))
        verdict = judge(variant, used, spreads=spreads, jobs=jobs, solved=runs)
        solved.append(runs)
        compared.append(figures(name, variant, verdict, runs))
        if progress is not None:
            progress(k + 1, len(built), name)
    changes = []
    for k in range(1, len(built)):
        pair = (compared[0], compared[k])
        for key in explained(pair, parts, most_parts):
            changes.append(change(key, pair, (built[0][1], built[k][1]), (solved[0], solved[k])))
    return Comparison(tuple(compared), tuple(changes), tuple(dict.fromkeys(findings)))


def figures(name: str, variant: Variant, verdict: Verdict, runs: Mapping[str, Solved]) -> Compared:
    """What a variant gives."""
    return Compared(
        name=name,
        verdict=verdict,
        power=max((duty.power for duty in verdict.duties), default=0.0),
        charge=max((charge_temperature(one) for one in runs.values()), default=0.0),
        time_to_boost=time_to_boost(variant, runs.values()),
    )


def named_variant(project: Project, text: str) -> tuple[str, Sequence[str] | None]:
    """`base`, `all`, `as fitted`, a list of measures `a,b`, or any of these with a name: `cheap=a,b`; a measure
    with `+` or `-` before it counts from the kit as it stands. Refused where a name is not known."""
    name, sign, rest = text.partition("=")
    wanted = rest.strip() if sign else text.strip()
    shown = name.strip()
    if wanted.lower() in (AS_FITTED, AS_FITTED.replace(" ", "_"), AS_FITTED.replace(" ", "-")):
        return shown, None
    if wanted.lower() in (BASE, "none", ""):
        return shown, ()
    if wanted.lower() == ALL:
        choice = choice_of(project.measures)
        return shown, choice.titles(choice.fullest())
    names = [one.strip() for one in wanted.split(",") if one.strip()]
    changed = all(one[0] in "+-" for one in names)
    start = list(project.fitted) if changed else []
    known(project, [one.lstrip("+-") if changed else one for one in names])
    for one in names:
        if changed and one[0] == "-":
            start = [m for m in start if m != one[1:]]
        else:
            start.append(one.lstrip("+"))
    return shown, tuple(dict.fromkeys(start))


def known(project: Project, names: Sequence[str]) -> None:
    """Refused where one is no measure."""
    wrong = [name for name in names if name not in project.measures]
    if wrong:
        words = [BASE, ALL, AS_FITTED, *project.measures]
        raise Refused(
            [
                unknown(
                    f"no variant or measure {name!r}",
                    name,
                    words,
                    next_step="write NAME=measure,measure, or +measure,-measure to change the kit as it stands",
                )
                for name in wrong
            ]
        )


# --- what changed and why ---------------------------------------------------------------------------------
def explained(pair: tuple[Compared, Compared], parts: Sequence[str], most: int) -> list[tuple[str, str]]:
    """(part, duty) of the changes worth explaining: those named, else where the margin changes most."""
    rows = {(row.part, row.duty): row for row in pair[0].verdict.rows}
    other = {(row.part, row.duty): row for row in pair[1].verdict.rows}
    both = [key for key in rows if key in other]
    if parts:
        return [worst_of(rows, both, name) for name in parts]
    first: dict[str, tuple[str, str]] = {}
    for key in sorted(both, key=lambda k: -abs(other[k].margin - rows[k].margin)):
        if abs(other[key].margin - rows[key].margin) >= LEAST_CHANGE:
            first.setdefault(key[0], key)
    return list(first.values())[:most]


def refuse_unjudged(name: str, variants: Sequence[Variant]) -> None:
    """Refused, before anything is solved, where a part is not judged in every variant."""
    for variant in variants:
        titles = {part.part: part.title for part in judged(variant)}
        if not any(name.lower() in (key.lower(), title.lower()) for key, title in titles.items()):
            what = f"no part {name!r} that all variants judge"
            raise Refused([unknown(what, name, [*titles, *titles.values()], next_step="name a judged part")])


def worst_of(
    rows: Mapping[tuple[str, str], Row], both: Sequence[tuple[str, str]], name: str
) -> tuple[str, str]:
    """The duty in which the named part has least margin. Refused where both variants do not judge it."""
    keys = [key for key in both if name.lower() in (key[0].lower(), rows[key].title.lower())]
    if not keys:
        known_parts = list(dict.fromkeys(key[0] for key in both))
        raise Refused(
            [
                unknown(
                    f"no part {name!r} that both variants judge",
                    name,
                    known_parts,
                    next_step="name a part by its key",
                )
            ]
        )
    return min(keys, key=lambda key: rows[key].margin)


def change(
    key: tuple[str, str],
    pair: tuple[Compared, Compared],
    variants: tuple[Variant, Variant],
    solved: tuple[Mapping[str, Solved], Mapping[str, Solved]],
) -> Change:
    """Ledgers of both at their own deciding instants, cause by cause."""
    part, duty = key
    ledgers = [ledger(variant, part, runs[duty]) for variant, runs in zip(variants, solved, strict=True)]
    names = dict.fromkeys([*ledgers[0], *ledgers[1]])
    causes = [(name, ledgers[0].get(name, 0.0), ledgers[1].get(name, 0.0)) for name in names]
    return Change(
        part=part,
        title=next(row.title for row in pair[0].verdict.rows if row.part == part),
        duty=duty,
        first=pair[0].name,
        other=pair[1].name,
        rise_first=sum(ledgers[0].values()),
        rise_other=sum(ledgers[1].values()),
        causes=tuple(sorted(causes, key=lambda c: -abs(c[2] - c[1]))),
    )


def ledger(variant: Variant, part: str, solved: Solved) -> dict[str, float]:
    """Cause to K of the rise at the instant that decides the margin."""
    run = solved.run
    one: Judged = next(j for j in judged(variant) if j.part == part)
    margin = margin_in(run, one)
    own = [run.network.mass(name) for name in one.masses_in(run.network.masses)]
    row = margin.row if margin is not None else int(np.argmax(run.state[:, own].max(axis=1)))
    mass = run.network.mass(hottest_mass(run, one, row))
    split = split_rise(run, np.array([row]))
    return {cause: float(rise) for cause, rise in zip(split.causes, split.rise[0, :, mass], strict=True)}
