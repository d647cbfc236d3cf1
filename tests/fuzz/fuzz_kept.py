"""What the program keeps for itself: release records, stored results, finished runs of a sweep, ray files."""

import json
import random
import shutil

import fuzz_mutators as M
import numpy as np
from fuzz_projects import SMALL, told
from fuzz_readers import Reader, Told

from heatproof.doors.page.papers import papers_view
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.report import release, verify
from heatproof.report.changes import changes
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.record import FORMAT
from heatproof.shapes.scene import Body, Scene
from heatproof.shapes.tracing import RayStore, Settings
from heatproof.study import store
from heatproof.study.questions.check import check, versions
from heatproof.study.runs.cases import case as case_of
from heatproof.study.runs.cases import from_plain, run_plain
from heatproof.units.results import plain


class Kitchen(Reader):
    """The small project with its result stored."""

    may_change = ("results",)

    def start(self) -> None:
        shutil.copytree(SMALL, self.inputs, dirs_exist_ok=True)
        self.project = read_project(self.inputs)
        self.verdict = check(self.project, spreads=True)
        self.results = self.inputs / "results"
        self.stored = {p: p.read_bytes() for p in self.results.glob("*.json")}


class Records(Kitchen):
    """A release record that is verified, compared with, and listed on the page."""

    def start(self) -> None:
        super().start()
        rows = self.verdict.rows
        record = {
            "format": FORMAT, "day": "2026-01-31", "released": True, "verdict": self.verdict.state, "cost": 100.0,
            "currency": "EUR", "mass_kg": 5.0, "cautions": ["ask a qualified person"], "versions": versions(),
            "kit": {"name": "T1", "revision": "Draft 7", "fitted": list(self.verdict.fitted)},
            "inputs": [{"file": "car.yaml", "sha256": "0" * 64}, {"file": "kit.yaml", "sha256": "1" * 64}],
            "measures": [{"name": "blanket", "title": "Blanket"}], "values": {"parts.loom.mass": "0.5 kg"},
            "limits": [
                {"part": r.part, "duty": r.duty, "title": r.title, "duty_title": r.duty_name, "margin_K": r.margin,
                 "state": r.state, "predicted": {"peak_degC": r.found.peak - 273.15, "margin_K": r.margin}}
                for r in rows
            ],
        }  # fmt: skip
        self.record = record
        self.seed = json.dumps(record).encode()
        (self.inputs / "releases").mkdir()
        verify.check = lambda *_, **__: self.verdict  # type: ignore[assignment]

    def put(self, dice: random.Random) -> None:
        self.path = self.inputs / "releases" / "release-t1.json"
        self.path.write_bytes(M.json_bytes(self.seed, dice))

    def read(self) -> None:
        assert all(one is not None for one in papers_view(self.project))
        now = self.record | {"inputs": []}
        earlier = release.previous(self.path.parent, now)
        if earlier is not None:
            assert changes(now, earlier, ReaderUnits("metric")).items is not None
        try:
            found = verify.verify(self.project, verify.read_record(self.path))
            assert found.sentence
        except Refused as refused:
            raise told(refused) from None


class Results(Kitchen):
    """A stored verdict, and an answer kept for documents: used whole or solved again."""

    def start(self) -> None:
        super().start()
        whole = store.VerdictStore(self.project, self.verdict.fitted, spreads=True).load()
        assert whole is not None
        self.good = plain(whole)

    def put(self, dice: random.Random) -> None:
        path, data = next(iter(self.stored.items()))
        path.write_bytes(M.json_bytes(data, dice))
        self.other = self.results / "x-k.json"
        good = {"format": store.FORMAT, "key": "k", "data": {"a": [1.0, 2.0], "b": "text"}}
        self.other.write_bytes(M.json_bytes(json.dumps(good).encode(), dice))

    def read(self) -> None:
        store.Shelf(self.results, "x-").load("k")
        answers = store.VerdictStore(self.project, self.verdict.fitted, spreads=True)
        found = answers.load()
        if found is None:
            assert answers.notes
            raise Told(str(answers.notes[0]), good=True)
        assert plain(found) == self.good, "a damaged result was used"


class Swept(Kitchen):
    """One finished run of a sweep."""

    def start(self) -> None:
        super().start()
        outcome = run_plain(case_of(self.project.variant(), self.project.duties))
        self.shelf, self.key = store.Shelf(self.inputs / "results" / "sweep"), "a" * 32
        self.shelf.save(self.key, outcome)
        self.seed, self.outcome = self.shelf.path(self.key).read_bytes(), from_plain(outcome)

    def put(self, dice: random.Random) -> None:
        self.shelf.path(self.key).write_bytes(M.json_bytes(self.seed, dice))

    def read(self) -> None:
        found = self.shelf.load(self.key)
        if found is None:
            raise Told("run again", good=True)
        assert from_plain(found) == self.outcome, "a damaged run was used"


class Rays(Reader):
    """Ray counts and ends of rays."""

    may_change = ("cache",)

    def start(self) -> None:
        import trimesh

        ball = trimesh.creation.icosphere(subdivisions=0)
        part = Body("ball", np.asarray(ball.vertices), np.asarray(ball.faces))
        self.scene = Scene((part,))
        self.store = RayStore(self.inputs / "cache", Settings(6, 1, "x"))
        from heatproof.shapes.tracing import Ended

        rays = 64 * len(part.faces)
        self.rays = rays
        self.ended = Ended(np.full(rays, -1, np.int32), np.ones(rays, np.float32))
        self.store.keep_ended(self.scene, part, self.ended)
        shape = self.counts_shape()
        self.good = np.arange(np.prod(shape), dtype=np.int64).reshape(shape)
        self.store.keep_counts(self.scene, self.good)
        self.seeds = {p: p.read_bytes() for p in (self.inputs / "cache").glob("*.npz")}
        assert len(self.seeds) == 2

    def counts_shape(self) -> tuple[int, ...]:
        return (len(self.scene.parts[0].faces), len(self.scene.parts[0].faces) + 1)

    def put(self, dice: random.Random) -> None:
        for path, data in self.seeds.items():
            path.write_bytes(M.binary(data, dice))

    def read(self) -> None:
        self.store.notes.clear()
        ended = self.store.ended(self.scene, self.scene.parts[0], self.rays)
        counts = self.store.counts(self.scene, self.good.shape)
        if ended is not None:
            assert np.array_equal(ended.ended.hit, self.ended.hit)
        if counts is not None:
            assert np.array_equal(counts, self.good)
        if ended is None and counts is None:
            raise Told("; ".join(self.store.notes) or "not there", good=True)


READERS = {"record": Records, "results": Results, "sweep": Swept, "rays": Rays}
