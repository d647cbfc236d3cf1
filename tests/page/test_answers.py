"""Quick answers against full ones: a measure that was tried, two at once, and a value by its slope."""

import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from heatproof.doors.page.answers import NONE_YET, margins_only, verdict_of
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.worker import Worker
from heatproof.kit.examples import EXAMPLES
from heatproof.study.questions.check import check
from heatproof.units.results import plain
from heatproof.verdict.verdict import SPREADS_LEFT_OUT, Verdict, state_of


@pytest.fixture
def tried(folder: Path) -> Iterator[Desk]:
    """A desk with its answer and two measures tried, as the background would."""
    desk = Desk(folder, background=False)
    worker = Worker(desk)
    assert desk.wait(120.0) is not None
    for name in ("loom_sleeve", "fan_run_on"):
        other = desk.toggled(desk.state, name)
        desk.results.tried[other] = margins_only(
            desk.project_of(other), desk.variant_of(other), lambda _: None
        )
    yield desk
    worker.close()


def test_a_tried_measure_is_answered_at_once_and_exactly(tried: Desk) -> None:
    began = time.perf_counter()
    tried.edit(tried.version, fit=["loom_sleeve"])
    quick = tried.quick()
    spent = time.perf_counter() - began
    assert quick is not None
    rows, whole = quick
    assert whole
    assert spent < 2.0, "the quick answer must not wait for the solver"
    full = tried.wait(120.0)
    assert full is not None
    assert {(r.part, r.duty): r.margin for r in rows} == {
        key: pytest.approx(margin, abs=1e-6)
        for key, margin in full.margins.items()
        if key in dict.fromkeys((r.part, r.duty) for r in rows)
    }


def test_two_measures_add_up_nearly(tried: Desk) -> None:
    # First order: effects add; room for curvature is 2 K and a tenth of what a margin moves (a sleeve leaves the fan
    # less to cool).
    base = tried.answer()
    assert base is not None
    tried.edit(tried.version, fit=["loom_sleeve", "fan_run_on"])
    quick = tried.quick()
    assert quick is not None
    rows, whole = quick
    full = tried.wait(120.0)
    assert whole
    assert full is not None
    for r in rows:
        key = r.part, r.duty
        assert abs(r.margin - full.margins[key]) < 2.0 + 0.1 * abs(r.margin - base.margins[key]), key


def test_a_measure_never_tried_says_so(tried: Desk) -> None:
    with tried.lock:
        tried.edit(tried.version, fit=["bonnet_vents"])
        quick = tried.quick()
    assert quick is not None
    assert not quick[1]


def test_states_follow_margin_and_half_width() -> None:
    assert [state_of(-1.0, 2.0), state_of(1.0, 2.0), state_of(3.0, 2.0)] == ["over", "thin", "holds"]


def said(verdict: Verdict) -> dict[str, Any]:
    """All of a verdict's JSON, whether or not it was stored."""
    return {key: value for key, value in plain(verdict).items() if key != "stored"}


@pytest.mark.parametrize("example", ["hatchback", "pickup"])
def test_the_page_says_what_check_says(example: str, tmp_path: Path) -> None:
    """Row by row, findings of the files, of the runs and of the bay included; with spreads and before they are there."""
    folder = shutil.copytree(EXAMPLES / example, tmp_path / example, ignore=shutil.ignore_patterns("results"))
    short = sorted((folder / "duties").iterdir(), key=lambda path: path.name)[:1]
    for path in set((folder / "duties").iterdir()) - set(short):
        path.unlink()
    bare, whole = (
        check(folder, spreads=False),
        said(check(folder)),
    )  # the second is stored: the page takes its spreads up
    desk = Desk(folder, background=False)
    worker = Worker(desk)
    answer = desk.wait(120.0)
    worker.close()
    assert answer is not None
    assert answer.own_spread
    assert said(answer.verdict) == whole
    yet = said(verdict_of(answer.project, answer.state.fitted, answer.solved, None, own=True))
    assert SPREADS_LEFT_OUT in {finding.code for finding in bare.findings}
    expected = said(bare)
    for finding in expected["findings"]:
        if finding["code"] == SPREADS_LEFT_OUT:
            finding["what"], finding["next_step"] = NONE_YET, ""
    assert [f["what"] for f in yet["findings"]] == [f["what"] for f in expected["findings"]]
    assert yet["limits"] == expected["limits"]
