"""Who is connected with whom."""

from collections import deque
from collections.abc import Iterable


def reached(start: Iterable[str], edges: Iterable[tuple[str, str]]) -> set[str]:
    """Names that can be reached from `start` along edges, either way; `start` included."""
    neighbours: dict[str, list[str]] = {}
    for a, b in edges:
        neighbours.setdefault(a, []).append(b)
        neighbours.setdefault(b, []).append(a)
    seen = set(start)
    queue = deque(seen)
    while queue:
        for name in neighbours.get(queue.popleft(), ()):
            if name not in seen:
                seen.add(name)
                queue.append(name)
    return seen


def islands(names: Iterable[str], edges: Iterable[tuple[str, str]]) -> list[set[str]]:
    """Connected groups, in the order of their first name."""
    edges, groups, seen = list(edges), [], set()
    for name in names:
        if name not in seen:
            group = reached([name], edges)
            groups.append(group)
            seen |= group
    return groups
