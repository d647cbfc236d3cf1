"""Everything of a variant that has a limit: where it stands, which mass it is, and when it is judged."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from heatproof.assembly.bay.lumps import masses_of
from heatproof.assembly.covers import insulates
from heatproof.kit.findings import Finding, Where, listed, nearest
from heatproof.kit.records.parts import Limit
from heatproof.kit.records.variant import Variant

When = Literal["always", "running"]


@dataclass(frozen=True)
class Judged:
    """One limited thing.

    part: key, unique in a variant; mass: its name in the network, the first of `mass` and `fallback` that is
    laid; path: of the limit; caution: which usual caution it brings; when: `running` counts only while the
    engine runs; boil: True where the limit is the distance to boiling, False where it is a temperature.
    """

    part: str
    title: str
    mass: str
    limit: Limit
    path: str
    caution: str = "none"
    when: When = "always"
    boil: bool = False
    fallback: str = ""
    further: tuple[str, ...] = ()
    """More masses of the same body, where it is split into patches or has two skins: the hottest is judged."""

    def masses_in(self, masses: tuple[str, ...]) -> tuple[str, ...]:
        """All masses of it that are laid. KeyError where the first is not."""
        return (self.mass_in(masses), *(name for name in self.further if name in masses))

    def mass_in(self, masses: tuple[str, ...]) -> str:
        """The mass that is laid. KeyError where neither is."""
        for name in (self.mass, self.fallback):
            if name in masses:
                return name
        raise KeyError(self.mass)


def judged(variant: Variant) -> tuple[Judged, ...]:
    """All limited things, in the order of the files; a liquid with both kinds of limit gives two."""
    return tuple(part for part in _all(variant) if not part.boil or part.limit.boil_margin is not None)


def called(parts: Iterable[Judged], name: str) -> list[Judged]:
    """Those of that key or title, whatever its case; a part with two limits stands there twice."""
    wanted = name.strip().lower()
    return [part for part in parts if wanted in (part.part.lower(), part.title.lower())]


def unknown_part(parts: Iterable[Judged], name: str, also: Iterable[str] = ()) -> Finding:
    """That nothing of that name is judged, with the nearest of keys, titles and other names."""
    known = [text for part in parts for text in (part.part, part.title)]
    return Finding(
        "error",
        f"no part {name!r} in this variant",
        Where("car.yaml", 0, "parts"),
        allowed=listed(part.part for part in parts),
        nearest=nearest(name, [*known, *also]),
        next_step="name a part by its key or title",
    )


def _all(variant: Variant) -> Iterator[Judged]:
    yield from _parts(variant)
    for path in variant.liquids:
        yield from _liquid(variant, path)
    yield from _charge(variant)


def _parts(variant: Variant) -> Iterator[Judged]:
    for key, part in variant.parts.items():
        title = part.title or key
        bodies = masses_of(variant, key)
        if part.limit is not None:
            path = f"parts.{key}.limit"
            yield Judged(key, title, key, part.limit, path, part.caution, further=bodies[1:])
        cover = part.cover
        if cover is not None and cover.limit is not None:
            # A coating or film has no skin of its own: it is as hot as the part.
            skins = tuple(f"{body}.skin" for body in bodies) if insulates(cover) else bodies
            named = cover.title or f"{title}, {cover.kind}"
            path = f"parts.{key}.cover.limit"
            yield Judged(f"{key}.skin", named, skins[0], cover.limit, path, part.caution, further=skins[1:])


def _liquid(variant: Variant, section: str) -> Iterator[Judged]:
    record = variant.liquids[section]
    caution = "oil" if section == "oil" else "coolant"
    for key, junction in record.junctions.items():
        if junction.limit is not None:
            one = Judged(
                f"{section}.{key}",
                junction.title or key,
                f"{section}.{key}",
                junction.limit,
                f"{section}.junctions.{key}.limit",
                caution,
            )
            yield from _both(one)
    for key, line in record.lines.items():
        if line.limit is not None:
            one = Judged(
                f"{section}.{key}",
                line.title or key,
                f"{section}.{key}.fluid",
                line.limit,
                f"{section}.lines.{key}.limit",
                caution,
                fallback=f"{section}.{line.to}",
            )
            yield from _both(one)


def _both(one: Judged) -> Iterator[Judged]:
    """As a temperature, as a distance to boiling, or both."""
    limit = one.limit
    if limit.continuous is not None or limit.short is not None:
        yield one
    if limit.boil_margin is not None:
        yield Judged(
            f"{one.part}.boiling",
            f"{one.title}, to boiling",
            one.mass,
            limit,
            one.path,
            one.caution,
            boil=True,
            fallback=one.fallback,
        )


def _charge(variant: Variant) -> Iterator[Judged]:
    """Air temperatures count only while the engine breathes: after key-off nothing draws that air."""
    for key in ("inlet", "plenum"):
        place = getattr(variant.charge, key)
        if place.limit is not None:
            path = f"charge.{key}.limit"
            yield Judged(
                f"charge.{key}", place.title or key, f"charge.{key}", place.limit, path, when="running"
            )
