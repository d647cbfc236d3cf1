"""Answers kept for the variants asked about last: laying one network asks for its scene hundreds of times."""

from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import Any, TypeVar

from heatproof.kit.records.variant import Variant

MOST = 16  # variants
T = TypeVar("T")


def per_variant(ask: Callable[[Variant], T]) -> Callable[[Variant], T]:
    """Remembers `ask(variant)` by the variant's assembly, which is never changed in place."""
    kept: OrderedDict[tuple[int, str], tuple[Any, T]] = OrderedDict()
    lock = Lock()

    @wraps(ask)
    def remembered(variant: Variant) -> T:
        key = (id(variant.assembly), variant.folder)
        with lock:
            known = kept.get(key)
        if known is not None:
            return known[1]
        answer = ask(variant)
        with lock:
            # Holding the assembly keeps its identity from being given to another.
            kept[key] = (variant.assembly, answer)
            while len(kept) > MOST:
                kept.popitem(last=False)
        return answer

    remembered.clear = kept.clear  # type: ignore[attr-defined]
    return remembered
