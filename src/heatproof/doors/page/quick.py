"""The quick answer: margins moved by what is known of each change, without a solve."""

from collections.abc import Callable
from typing import Generic, TypeVar

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.edits import State
from heatproof.doors.page.results import Results
from heatproof.kit.records.variant import Variant
from heatproof.verdict.spread_runs import Key

Moves = dict[Key, float]
"""(part, duty) to change of its margin, K."""
Toggled = Callable[[State, str], State]
"""State and measure to the state with that measure fitted or left out."""
V = TypeVar("V")


class Newest(Generic[V]):
    """What was made last, kept until it is asked for with another key."""

    def __init__(self) -> None:
        self._kept: tuple[tuple[object, ...], V] | None = None

    def of(self, key: tuple[object, ...], make: Callable[[], V]) -> V:
        """Made anew where the key is another one."""
        if self._kept is None or not same(self._kept[0], key):
            self._kept = key, make()
        return self._kept[1]


def same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    """Equal where the pieces are; big ones only where they are the same object."""
    pairs = zip(one, other, strict=True)
    return all(a is b or (isinstance(a, int | State) and a == b) for a, b in pairs)


def moves_to(
    results: Results, base: Answer, wanted: State, variant: Variant, toggled: Toggled
) -> tuple[Moves, bool]:
    """What leads from an answer to the wanted state, and whether every change is in it."""
    start = base.margins
    known = results.tried.get(wanted)
    if known is not None:
        return {key: known[key] - start[key] for key in known.keys() & start.keys()}, True
    moves: Moves = {}
    whole = True
    for name in sorted(set(wanted.fitted) ^ set(base.state.fitted)):
        effect = effect_of(results, base.state, name, toggled)
        whole = whole and effect is not None
        for key, change in (effect or {}).items():
            if key in start:
                moves[key] = moves.get(key, 0.0) + change
    return moves, add_values(base, wanted, variant, moves) and whole


def effect_of(results: Results, state: State, name: str, toggled: Toggled) -> Moves | None:
    """What toggling a measure does to margins: from this state, else from the newest other one where it was tried."""
    for start in (state, *reversed(results.tried)):
        if (name in start.fitted) == (name in state.fitted) and start in results.tried:
            after = results.tried.get(toggled(start, name))
            if after is not None:
                before = results.tried[start]
                return {key: after[key] - before[key] for key in after.keys() & before.keys()}
    return None


def add_values(base: Answer, wanted: State, variant: Variant, moves: Moves) -> bool:
    """Adds what edited values do, from sensitivities; False where one has none."""
    matrix = base.verdict.sensitivities
    known = True
    for _, path, _ in set(wanted.edits) ^ set(base.state.edits):
        bare = variant_path(path)
        if matrix is None or bare not in matrix.paths:
            known = False
            continue
        try:
            step = float(variant.value(bare)) - float(base.variant.value(bare))
        except (KeyError, TypeError, ValueError):
            known = False
            continue
        for key in matrix.keys:
            moves[key] = moves.get(key, 0.0) + matrix.slope(key, bare) * step
    return known


def gains_from(results: Results, base: Answer, toggled: Toggled) -> dict[str, Moves]:
    """Measure to what fitting it (or leaving it out, where fitted) does to every margin."""
    start = base.margins
    found: dict[str, Moves] = {}
    for name in base.project.measures:
        tried = results.tried.get(toggled(base.state, name))
        if tried is not None:
            found[name] = {k: tried[k] - start[k] for k in tried.keys() & start.keys()}
    return found


def variant_path(path: str) -> str:
    """Path in a variant of a path in a file: without `changes.` and without a measure's name and heading."""
    keys = path.removesuffix(".value").split(".")
    if keys[0] == "changes":
        return ".".join(keys[1:])
    if keys[0] == "measures" and len(keys) > 3 and keys[2] in ("set", "add"):
        return ".".join(keys[3:])
    return ".".join(keys)
