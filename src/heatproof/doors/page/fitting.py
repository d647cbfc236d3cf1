"""Fitting a measure or leaving it out, and what must go with it."""

from collections.abc import Iterable, Mapping

from heatproof.kit.findings import Refused, Where, unknown
from heatproof.kit.records.measure import Measure


def refitted(
    measures: Mapping[str, Measure], fitted: Iterable[str], fit: Iterable[str], leave: Iterable[str]
) -> tuple[tuple[str, ...], list[str]]:
    """Measures fitted afterwards, in the kit's order, and what went along with it, in words. Refused."""
    fit, leave = list(fit), list(leave)
    refuse_unknown(measures, [*fit, *leave])
    have, said = set(fitted) - set(leave), []

    def named(one: str) -> str:
        return measures[one].title or one

    for name in fit:
        for other in with_needs(name, measures):
            out = {o for o in have if o in measures[other].excludes or other in measures[o].excludes}
            said += [f"{named(o)} is left out: it cannot be fitted with {named(other)}" for o in sorted(out)]
            if other != name and other not in have:
                said.append(f"{named(other)} is fitted too: {named(name)} needs it")
            have = (have - out) | {other}
    for name in leave:
        for other in sorted(have):
            if name in with_needs(other, measures):
                have.discard(other)
                said.append(f"{named(other)} is left out too: it needs {named(name)}")
    return tuple(name for name in measures if name in have), said


def with_needs(name: str, measures: Mapping[str, Measure]) -> list[str]:
    """The measure and all it needs, itself first."""
    found: list[str] = []
    todo = [name]
    while todo:
        one = todo.pop()
        if one in measures and one not in found:
            found.append(one)
            todo += measures[one].needs
    return found


def refuse_unknown(measures: Mapping[str, Measure], names: Iterable[str]) -> None:
    """Refused at the first name that is no measure."""
    for name in names:
        if name not in measures:
            known = list(measures)
            finding = unknown(f"unknown measure {name!r}", name, known, Where("kit.yaml", 0, "measures"))
            raise Refused([finding])
