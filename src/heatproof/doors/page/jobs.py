"""Long work asked for by the user: one job at a time, with progress, and it stops when told."""

import contextvars
import itertools
import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from heatproof.doors.page.desk import ChangedOnDisk, Desk
from heatproof.doors.page.papers import make_release
from heatproof.doors.page.planning import plan_tests, refuse_without_spreads
from heatproof.doors.page.progress import Stopped
from heatproof.doors.page.trials import correct_by, lay_over
from heatproof.doors.page.units import finding_view, reader
from heatproof.doors.page.views.head import labour_text, money
from heatproof.kit.findings import Finding, Refused, listed
from heatproof.kit.project import Project
from heatproof.numerics.at_once import Progress
from heatproof.study.questions.choose import Chosen, PricedSet, choose
from heatproof.study.questions.rating import Rating, rating
from heatproof.verdict.names import spaced
from heatproof.verdict.solving import DutyNotSolved
from heatproof.verdict.words import number

LOG = logging.getLogger("heatproof.page")
MOST_KEPT = 12


@dataclass
class Job:
    """state: running, done, stopped or failed. version: of the session it was asked for. Entries of a result that begin
    with a stroke below are for the program, not shown; `_told` says the rest anew in the units of whoever asks."""

    id: int
    kind: str
    version: int
    state: str = "running"
    done: int = 0
    steps: int = 0
    detail: str = ""
    began: float = field(default_factory=time.monotonic)
    ended: float | None = None
    result: dict[str, Any] | None = None
    error: dict[str, Any] | None = None
    stop: bool = False

    def view(self) -> dict[str, Any]:
        """As data."""
        spent = (self.ended or time.monotonic()) - self.began
        known = 0 < self.done < self.steps and self.state == "running"
        left = spent / self.done * (self.steps - self.done) if known else None
        kept = ("id", "kind", "version", "state", "done", "steps", "detail", "error")
        return {
            **{name: getattr(self, name) for name in kept},
            "result": self.shown(),
            "seconds": spent,
            "seconds_left": left,
        }

    def shown(self) -> dict[str, Any] | None:
        """The result as data."""
        if self.result is None:
            return None
        told = self.result["_told"]() if "_told" in self.result else {}
        return {**{k: v for k, v in self.result.items() if not k.startswith("_")}, **told}


class Jobs:
    """The jobs of one desk, newest last."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.kept: dict[int, Job] = {}
        self.numbers = itertools.count(1)

    def begin(self, desk: Desk, kind: str, options: dict[str, Any]) -> Job:
        """Starts one. Refused while another runs."""
        with self.lock:
            if any(job.state == "running" for job in self.kept.values()):
                raise Refused(
                    [Finding("error", "a search is running already", next_step="wait for it or stop it")]
                )
            with desk.lock:
                if kind in FROM_FILES:
                    refuse_unsaved(desk)
                project, job = desk.project_of(desk.state), Job(next(self.numbers), kind, desk.version)
                fitted = desk.state.fitted
                if kind == "plan":
                    refuse_without_spreads(desk)
                options = {**options, "folder": desk.folder, "answer": desk.answer()}
            self.kept[job.id] = job
            while len(self.kept) > MOST_KEPT:
                del self.kept[next(iter(self.kept))]
        asked = contextvars.copy_context()  # the reader's units
        args = (run, desk, job, WORK[kind], project, fitted, options)
        threading.Thread(target=asked.run, args=args, daemon=True).start()
        return job

    def end_all(self) -> None:
        """Tells every job to stop."""
        for job in self.kept.values():
            job.stop = True


def run(
    desk: Desk,
    job: Job,
    work: Callable[..., dict[str, Any]],
    project: Project,
    fitted: tuple[str, ...],
    options: dict[str, Any],
) -> None:
    """Runs one; the background of the desk rests meanwhile."""

    def tell(done: int, steps: int, detail: str) -> None:
        if job.stop:
            raise Stopped
        job.done, job.steps, job.detail = done, steps, detail
        desk.tell()

    resting, desk.skip_background = desk.skip_background, True
    try:
        job.result = work(project, fitted, options, tell)
        job.state = "done"
    except Stopped:
        job.state = "stopped"
    except Refused as refused:
        job.state, job.error = (
            "failed",
            {"findings": [finding_view(f) for f in refused.findings], "what": str(refused)},
        )
    except DutyNotSolved as error:
        job.state, job.error = "failed", {"what": str(error), "findings": []}
    except Exception as error:
        LOG.exception("a job failed")
        job.state, job.error = "failed", {"what": f"a fault in the program: {error}", "findings": []}
    job.ended = time.monotonic()
    with desk.changed:
        desk.skip_background = resting
        desk.tell()
        desk.changed.notify_all()


def refuse_unsaved(desk: Desk) -> None:
    """Papers and corrections are made from files: Refused with unsaved edits, ChangedOnDisk where they moved."""
    if desk.dirty:
        raise Refused(
            [
                Finding(
                    "error",
                    "edits are not saved, and this works on the files",
                    got=listed(sorted(desk.save_edits())),
                    next_step="save them first (S)",
                )
            ]
        )
    if away := desk.changed_files():
        raise ChangedOnDisk(tuple(sorted(away)))


def choose_view(
    project: Project, fitted: tuple[str, ...], options: dict[str, Any], tell: Progress
) -> dict[str, Any]:
    """The cheapest set that holds, the runners-up, and the front between price and what is left."""
    found = choose(
        project, by=options["by"], keep=options["keep"], leave=options["leave"], jobs=1, progress=tell
    )
    first = [found.best] if found.best is not None else []
    return {
        "holds": found.best is not None,
        "by": found.by,
        "proved": proof(found),
        "sets": [set_view(project, fitted, one, found.currency) for one in [*first, *found.runners_up][:4]],
        "closest": set_view(project, fitted, found.closest, found.currency),
        "front": [{"cost": one.cost, "left": one.slack, "holds": one.holds} for one in found.front],
        "runs": f"{number(found.full_runs)} runs of all duties",
    }


def proof(found: Chosen) -> str:
    """How sure it is that nothing cheaper holds."""
    if found.best is None:
        return "no admissible set was found that holds; the closest stands below"
    if found.proved:
        return "every cheaper set has failed in the full model"
    return "cheaper sets are ruled out by the bound only"


def set_view(project: Project, fitted: tuple[str, ...], one: PricedSet, currency: str) -> dict[str, Any]:
    """One set: what it adds to and takes out of the present one."""

    def named(names: list[str]) -> list[dict[str, str]]:
        found = [(name, project.measures[name]) for name in names]
        return [
            {
                "name": name,
                "title": m.title or name,
                "cost": money(m.cost, currency),
                "mass": reader().mass(m.mass),
                "labour": number(m.labour / 60),
            }
            for name, m in found
        ]

    return {
        "fit": named([n for n in one.measures if n not in fitted]),
        "leave": named([n for n in fitted if n not in one.measures]),
        "cost": money(one.cost, currency),
        "mass": reader().mass(one.mass),
        "labour": labour_text(one.labour),
        "holds": one.holds,
        "left": f"{reader().difference(one.slack)} after the spread at {spaced(one.part).lower()}",
    }


def rating_view(
    project: Project, fitted: tuple[str, ...], options: dict[str, Any], tell: Progress
) -> dict[str, Any]:
    """Highest ambient that holds, by share of the boost and use."""
    found: Rating = rating(project, fitted, jobs=1, spreads=False, progress=tell)
    cells = [
        {
            "level": f"{number(100 * c.level)} % of the boost",
            "power": reader().power(c.power),
            "use": spaced(c.use),
            "ambient": "never" if c.ambient is None else reader().temperature(c.ambient),
            "part": found.titles.get(c.part, c.part),
            "unsolved": c.unsolved,
        }
        for c in found.cells
    ]
    return {"cells": cells, "confidence": found.confidence, "spreads": found.spreads}


WORK: dict[str, Callable[..., dict[str, Any]]] = {
    "choose": choose_view,
    "rating": rating_view,
    "release": make_release,
    "against": lay_over,
    "correct": correct_by,
    "plan": plan_tests,
}
FROM_FILES = ("release", "correct", "plan")
"""Kinds that work on the files as saved."""
