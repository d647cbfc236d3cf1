"""Where one part's degrees come from: ledger by cause, heat by path, and what moves its margin most."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.kit.findings import Refused
from heatproof.kit.records.variant import Variant
from heatproof.network.ledger import split_rise
from heatproof.network.paths import paths_at
from heatproof.network.solve import Run
from heatproof.verdict.judged import Judged, called, judged, unknown_part
from heatproof.verdict.margins import Margin, hottest_mass, margin_in
from heatproof.verdict.names import mass_title

LEAST_HEAT = 1e-3  # W; paths with less are left out


@dataclass(frozen=True)
class HeatPath:
    """Heat (W) into the part from `origin`; negative where it leaves. title: of the origin, as people know it.
    kind: of the link, link: its name."""

    origin: str
    title: str
    heat: float
    kind: str
    link: str


@dataclass(frozen=True)
class Explanation:
    """One part at one instant. rise K over ambient; causes sum to it; paths sum to `storing` (W).

    margin: None for a mass without a limit. moves: (dotted path, K of margin per standard deviation), most
    first; empty where spreads were left out.
    """

    part: str
    title: str
    mass: str
    duty: str
    duty_name: str
    time: float
    temperature: float
    rise: float
    causes: tuple[tuple[str, float], ...]
    paths: tuple[HeatPath, ...]
    storing: float
    margin: Margin | None
    moves: tuple[tuple[str, float], ...] = ()


def find_part(variant: Variant, masses: tuple[str, ...], name: str) -> Judged | str:
    """The judged thing of that key or title, else the mass of that name. Refused with the nearest name."""
    parts = judged(variant)
    if found := called(parts, name):
        return found[0]
    if name in masses:
        return name
    titled = {key: one.title for key, one in variant.parts.items() if one.title}
    for key, title in titled.items():
        if title.lower() == name.strip().lower():
            return key
    raise Refused([unknown_part(parts, name, also=[*titled.values(), *masses])])


def worst_duty(part: Judged | str, solved: Mapping[str, Solved]) -> str:
    """Duty with the smallest margin, or the highest temperature of a mass without a limit."""
    if isinstance(part, str):
        return max(solved, key=lambda key: temperatures(solved[key].run, part).max())
    found = {key: margin_in(one.run, part) for key, one in solved.items()}
    return min((key for key, m in found.items() if m is not None), key=lambda key: margin_of(found[key]))


def margin_of(margin: Margin | None) -> float:
    """K; +∞ where there is none."""
    return margin.margin if margin is not None else float("inf")


def temperatures(run: Run, mass: str) -> np.ndarray:
    """(rows,) K."""
    return np.asarray(run.state[:, run.network.mass(mass)])


def explain_at(
    part: Judged | str, duty: str, solved: Solved, variant: Variant, *, time: float | None = None
) -> Explanation:
    """At `time` (s; the stored step nearest to it), or at the instant that decides its margin."""
    run = solved.run
    margin = None if isinstance(part, str) else margin_in(run, part)
    if time is not None:
        row = int(np.argmin(np.abs(run.time - time)))
    elif margin is not None:
        row = margin.row
    else:
        row = int(np.argmax(temperatures(run, part if isinstance(part, str) else part.mass)))
    mass = part if isinstance(part, str) else hottest_mass(run, part, row)
    T = temperatures(run, mass)
    ledger = split_rise(run, np.array([row]))
    rises = ledger.rise[0, :, run.network.mass(mass)]
    causes = [(c, float(r)) for c, r in zip(ledger.causes, rises, strict=True) if r != 0.0]
    paths = paths_of(run, row, mass, variant)
    return Explanation(
        part=part if isinstance(part, str) else part.part,
        title=mass_title(variant, part) if isinstance(part, str) else part.title,
        mass=mass,
        duty=duty,
        duty_name=solved.duty.name,
        time=float(run.time[row]),
        temperature=float(T[row]),
        rise=float(T[row] - run.around.temperature),
        causes=tuple(sorted(causes, key=lambda c: -abs(c[1]))),
        paths=paths,
        storing=sum(path.heat for path in paths),
        margin=margin,
    )


def paths_of(run: Run, row: int, mass: str, variant: Variant) -> tuple[HeatPath, ...]:
    """Heat into one mass, most first.

    What a stream carries on is no heat lost to where it comes from, so carried heat counts only at its end.
    """
    found = []
    for path in paths_at(run, row):
        if path.second == mass:
            found.append((path.first, path.heat, path))
        elif path.first == mass and path.kind != "carried":
            found.append((path.second, -path.heat, path))
    felt = sorted((one for one in found if abs(one[1]) >= LEAST_HEAT), key=lambda one: -abs(one[1]))
    return tuple(
        HeatPath(origin, mass_title(variant, origin), heat, path.kind, path.name)
        for origin, heat, path in felt
    )
