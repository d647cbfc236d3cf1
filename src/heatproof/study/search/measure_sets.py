"""Sets of measures: which may be fitted together, and what they come to."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from heatproof.kit.records.measure import Measure

Set = frozenset[int]
"""Places of the measures in `Choice.names`."""
MOST_ENUMERATED = 22


@dataclass(frozen=True)
class Choice:
    """Measures to choose from. price (n,): what is minimised, per measure. inside, outside: not open to choice."""

    names: tuple[str, ...]
    price: np.ndarray
    needs: tuple[tuple[int, int], ...]
    excludes: tuple[tuple[int, int], ...]
    inside: Set = frozenset()
    outside: Set = frozenset()

    @property
    def size(self) -> int:
        """How many measures."""
        return len(self.names)

    def admissible(self, chosen: Set) -> bool:
        """Whether exclusions, prerequisites and what is given are met."""
        return (
            self.inside <= chosen
            and not self.outside & chosen
            and all(b in chosen for a, b in self.needs if a in chosen)
            and not any(a in chosen and b in chosen for a, b in self.excludes)
        )

    def order(self, chosen: Set) -> tuple[float, int, tuple[int, ...]]:
        """What is cheaper comes first; of the same price fewer measures, then the order of the file."""
        return (round(float(sum(self.price[i] for i in chosen)), 9), len(chosen), tuple(sorted(chosen)))

    def with_needs(self, chosen: Iterable[int]) -> Set:
        """With all prerequisites."""
        out = set(chosen)
        while more := {b for a, b in self.needs if a in out} - out:
            out |= more
        return frozenset(out)

    def without(self, chosen: Set, gone: int) -> Set:
        """Without one measure and all that need it."""
        out = set(chosen) - {gone}
        while lost := {a for a, b in self.needs if a in out and b not in out}:
            out -= lost
        return frozenset(out)

    def brought_in(self, chosen: Set, new: int) -> Set:
        """With one more measure and what it needs; what these exclude leaves, with all that needs it."""
        wanted = self.with_needs({new})
        out = chosen
        for a, b in self.excludes:
            for here, there in ((a, b), (b, a)):
                if here in wanted and there in out and there not in wanted:
                    out = self.without(out, there)
        return self.with_needs(out | wanted)

    def base(self) -> Set:
        """Only what must be fitted."""
        return self.with_needs(self.inside)

    def fullest(self) -> Set:
        """As many as go together, taken in the order of the file."""
        out = self.base()
        for i in range(self.size):
            wider = self.with_needs(out | {i})
            if self.admissible(wider):
                out = wider
        return out

    def all_sets(self) -> Iterator[Set]:
        """Every admissible set, by counting. ValueError above MOST_ENUMERATED open measures."""
        bits, _ = self.counted()
        for one in bits:
            yield self.set_of(int(one))

    def counted(self) -> tuple[np.ndarray, np.ndarray]:
        """Every admissible set as bits, and its price; in counting order. ValueError as for `all_sets`."""
        open_ = [i for i in range(self.size) if i not in self.inside and i not in self.outside]
        if len(open_) > MOST_ENUMERATED:
            raise ValueError(f"too many measures to count through: {len(open_)}")
        bits = np.array([sum(1 << i for i in self.inside)], dtype=np.int64)
        price = np.array([float(sum(self.price[i] for i in self.inside))])
        for i in open_:
            bits = np.concatenate([bits, bits | (1 << i)])
            price = np.concatenate([price, price + self.price[i]])
        good = np.ones(bits.size, dtype=bool)
        for a, b in self.needs:
            good &= ((bits >> a) & 1 == 0) | ((bits >> b) & 1 == 1)
        for a, b in self.excludes:
            good &= ((bits >> a) & 1 == 0) | ((bits >> b) & 1 == 0)
        return bits[good], price[good]

    def set_of(self, bits: int) -> Set:
        """The set of a number's bits."""
        return frozenset(i for i in range(self.size) if bits >> i & 1)

    def titles(self, chosen: Set) -> tuple[str, ...]:
        """Names in the order of the file."""
        return tuple(self.names[i] for i in sorted(chosen))


def choice_of(
    measures: Mapping[str, Measure],
    *,
    cost: float = 1.0,
    mass: float = 0.0,
    labour: float = 0.0,
    keep: Iterable[str] = (),
    leave: Iterable[str] = (),
) -> Choice:
    """From a project's measures; cost, mass, labour: price per unit of currency, kg and minute."""
    names = tuple(measures)
    at = {name: i for i, name in enumerate(names)}
    price = np.array([cost * m.cost + mass * m.mass + labour * m.labour / 60.0 for m in measures.values()])
    return Choice(
        names=names,
        price=price,
        needs=tuple((at[n], at[o]) for n, m in measures.items() for o in m.needs if o in at),
        excludes=tuple((at[n], at[o]) for n, m in measures.items() for o in m.excludes if o in at),
        inside=frozenset(at[name] for name in keep),
        outside=frozenset(at[name] for name in leave),
    )
