"""The plan of a test day: what it can be asked for, and what was found, in the reader's units."""

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.units import reader
from heatproof.doors.plan_card import day_text, how_text
from heatproof.doors.plan_text import (
    BANDS,
    between_text,
    doubt,
    kind_text,
    length_text,
    mark_text,
    response_text,
    sentence,
)
from heatproof.doors.planned import Planned
from heatproof.logs.planning.acceptance import Expected, place_cautions, undecided_after
from heatproof.logs.planning.plan import reachable
from heatproof.logs.predicting.places import Place, places
from heatproof.verdict.words import clock, number


def asking_view(answer: Answer | None, missing: tuple[str, str], *, stopped: bool) -> dict[str, Any]:
    """What a plan may be asked for. missing: why it cannot be made yet, and what to do; stopped: whether the background
    is, which would bring it."""
    why = {"missing": list(missing), "stopped": stopped}
    if answer is None:
        return {**why, "duties": [], "places": []}
    network = next(iter(answer.solved.values())).run.network
    known = told_apart(reachable(answer.variant, places(answer.variant, network)).values())
    return {
        **why,
        "duties": [
            {"key": key, "name": duty.name, "ambient": reader().temperature(duty.air.ambient)}
            for key, duty in answer.project.duties.items()
        ],
        "places": [
            {"place": name, "title": title}
            for name, title in sorted(known.items(), key=lambda item: (item[1].lower(), item[0]))
        ],
    }


def told_apart(known: Iterable[Place]) -> dict[str, str]:
    """Place to its title, with its key where another place has the same title."""
    every = list(known)
    often = Counter(one.title for one in every)
    return {one.mass: f"{one.title} ({one.mass})" if often[one.title] > 1 else one.title for one in every}


def planned_view(found: Planned) -> dict[str, Any]:
    """Everything that was found, as texts."""
    plan = found.plan
    titles = told_apart([*(s.place for s in plan.sensors), *(place for place, _, _ in plan.others)])
    return {
        "sentence": sentence(plan, reader()),
        "day": day_text(plan, reader()),
        "bands": BANDS,
        "sensors": list(sensor_rows(found)),
        "start": doubt(plan.start, reader()),
        "others": [
            {"title": titles[place.mass], "left": doubt(left, reader())} for place, _, left in plan.others
        ],
        "runs": list(run_rows(found)),
        "margins": [margin_view(found, *one) for one in plan.doubtful],
        "tests": [
            {
                "duty": plan.duties[key].name,
                "rows": [reading_view(found, one) for one in found.readings if one.duty == key],
            }
            for key in plan.runs
        ],
    }


def sensor_rows(found: Planned) -> Iterator[dict[str, Any]]:
    """In the order they were chosen: each with what it takes away from what those before it left."""
    plan = found.plan
    lefts = [plan.start, *(sensor.left for sensor in plan.sensors)]
    for k, (sensor, (before, left)) in enumerate(zip(plan.sensors, pairwise(lefts), strict=True), start=1):
        yield {
            "number": k,
            "place": sensor.place.mass,
            "title": sensor.place.title,
            "kind": kind_text(sensor),
            "response": response_text(sensor),
            "brings": doubt(before - left, reader()),
            "left": doubt(left, reader()),
            "there": sensor.place.mass in found.wanted.fitted,
            "mind": list(place_cautions(found.variant, sensor)),
        }


def run_rows(found: Planned) -> Iterator[dict[str, Any]]:
    """In the order they were chosen; how to drive stands at the first of its duty."""
    plan, seen = found.plan, set()
    for k, (key, left) in enumerate(plan.run_steps, start=1):
        yield {
            "number": k,
            "duty": plan.duties[key].name,
            "length": length_text(plan, key),
            "left": doubt(left, reader()),
            "how": "" if key in seen else how_text(plan.duties[key], reader()),
        }
        seen.add(key)


def margin_view(found: Planned, row: Any, before: float, after: float) -> dict[str, Any]:
    """A margin in doubt with two standard deviations, before and after the test."""
    half = reader().difference_value(2.0 * after)
    on_it = {found.plan.number(one.sensor) for one in found.readings if one.part == row.part}
    return {
        "part": row.part,
        "title": row.title,
        "duty": row.duty_name,
        "before": reader().margin(row.margin, 2.0 * before),
        "after": f"± {number(half, 1)} {reader().step}",
        "sensor": min(on_it, default=None),
        "undecided": undecided_after(row, after, found.variant.confidence),
    }


def reading_view(found: Planned, one: Expected) -> dict[str, Any]:
    """What one sensor should read at its highest in one duty, and what counts as pass."""
    return {
        "number": found.plan.number(one.sensor),
        "title": one.sensor.place.title,
        "peak": reader().temperature(one.peak),
        "between": between_text(one, reader()),
        "at": clock(one.time),
        "passes": mark_text(one.passes, reader()),
        "fails": mark_text(one.fails, reader()),
    }
