"""Where the degrees of several parts come from: every duty replayed once for all its parts."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from heatproof.assembly.model import Solved
from heatproof.kit.records.variant import Variant
from heatproof.network.ledger import split_rise
from heatproof.report.evidence import Limit
from heatproof.verdict.judged import judged


@dataclass(frozen=True)
class Ledger:
    """Rise (K) of one part over ambient at the instant (s) that decides its margin; causes add up to it."""

    part: str
    title: str
    duty: str
    duty_name: str
    time: float
    temperature: float
    rise: float
    causes: tuple[tuple[str, float], ...]


def ledgers(variant: Variant, solved: Mapping[str, Solved], limits: Iterable[Limit]) -> list[dict[str, Any]]:
    """Plain data of a Ledger for each predicted limit, in order."""
    wanted = [one for one in limits if one.row is not None]
    parts = {part.part: part for part in judged(variant)}
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for key in dict.fromkeys(one.duty for one in wanted):
        run = solved[key].run
        own = [one for one in wanted if one.duty == key]
        rows = [one.row.found.row for one in own if one.row is not None]
        split = split_rise(run, np.array(sorted(set(rows))))
        for one, row in zip(own, rows, strict=True):
            mass = run.network.mass(parts[one.part].mass_in(run.network.masses))
            rises = split.rise[sorted(set(rows)).index(row), :, mass]
            causes = [[c, float(r)] for c, r in zip(split.causes, rises, strict=True) if r != 0.0]
            T = float(run.state[row, mass])
            found[one.part, key] = {
                "part": one.part,
                "title": one.title,
                "duty": key,
                "duty_name": one.duty_title,
                "time": float(run.time[row]),
                "temperature": T,
                "rise": T - float(run.around.temperature),
                "causes": sorted(causes, key=lambda c: -abs(c[1])),
            }
    return [found[one.part, one.duty] for one in wanted]


def from_plain(data: Mapping[str, Any]) -> Ledger:
    """The Ledger again."""
    return Ledger(**{**data, "causes": tuple((cause, rise) for cause, rise in data["causes"])})
