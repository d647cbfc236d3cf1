"""Choosing on the full model: equal to counting through all sets. The project is invented."""

import json
from pathlib import Path

import pytest

from heatproof.doors.cli import run
from heatproof.kit.examples import EXAMPLES
from heatproof.kit.findings import Refused
from heatproof.kit.project import Project
from heatproof.kit.read import read_project
from heatproof.kit.records.duty import Duty
from heatproof.study.questions.choose import Choosing, Chosen, choose
from heatproof.study.runs.cases import case, run_cases
from heatproof.study.search.measure_sets import choice_of
from heatproof.study.search.set_search import NEAR, SetRuns
from heatproof.verdict.spread_runs import LONG, Key

LEFT_OUT = ("coating", "radiator", "box_moved", "vent", "loom_moved", "hose_sleeve")
HILL = "hill"
FITTED = ("turbo_shield", "stronger_manifold", "seal_strips", "airbox_lid", "fan_run_on")
OPEN = (
    "downpipe_coating",
    "steering_boot_sleeve",
    "loom_sleeve",
    "brake_line_sleeve",
    "gas_side_coating",
    "insulated_shield",
    "undertray_cut_out",
    "after_run_pump",
    "cap_13",
    "bonnet_vents",
)


@pytest.fixture(scope="module")
def one_duty(choice_project: Project) -> dict[str, Duty]:
    """A search in one duty is half the work."""
    return {HILL: choice_project.duties[HILL]}


@pytest.fixture(scope="module")
def plain(choice_project: Project, one_duty: dict[str, Duty]) -> Chosen:
    """One search that several tests look at."""
    return choose(choice_project, leave=LEFT_OUT[:3], spreads=False, duties=one_duty, prove=0)


def enumerated(
    project: Project,
    leave: tuple[str, ...],
    duties: dict[str, Duty] | None = None,
    keep: tuple[str, ...] = (),
) -> tuple[tuple[str, ...] | None, int]:
    """The cheapest set by running every one, and how many there are."""
    choice = choice_of(project.measures, keep=keep, leave=leave)
    sets = list(choice.all_sets())
    used = duties or project.duties
    outcomes = run_cases([case(project.variant(choice.titles(s)), used) for s in sets])
    holding = [s for s, outcome in zip(sets, outcomes, strict=True) if outcome.smallest >= 0.0]
    best = min(holding, key=choice.order, default=None)
    return None if best is None else choice.titles(best), len(sets)


def same(chosen: Chosen, truth: tuple[str, ...] | None) -> bool:
    return (chosen.best is None and truth is None) or (
        chosen.best is not None and chosen.best.measures == truth
    )


def test_equals_enumeration_and_is_proved(choice_project: Project, one_duty: dict[str, Duty]) -> None:
    truth, _ = enumerated(choice_project, LEFT_OUT, one_duty)
    chosen = choose(choice_project, leave=LEFT_OUT, spreads=False, prove=1000, duties=one_duty)
    assert truth is not None
    assert same(chosen, truth)
    assert chosen.proved


@pytest.mark.slow
def test_ten_measures_with_five_times_fewer_runs(choice_project: Project) -> None:
    leave = ("radiator", "coating")
    truth, sets = enumerated(choice_project, leave)
    chosen = choose(choice_project, leave=leave, spreads=False)
    assert same(chosen, truth)
    assert chosen.sets == sets
    assert chosen.full_runs * 5 <= sets


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_ten_measures_of_the_demo() -> None:
    """The shipped example with ten of its measures left open: the search finds what running every set finds."""
    project = read_project(EXAMPLES / "hatchback")
    leave = tuple(m for m in project.measures if m not in (*OPEN, *FITTED))
    truth, sets = enumerated(project, leave, keep=FITTED)
    chosen = choose(project, keep=FITTED, leave=leave, spreads=False, prove=1000)
    print(f"{sets} sets, {chosen.full_runs} full runs, best {truth}")
    assert truth is not None
    assert same(chosen, truth)
    assert chosen.full_runs * 5 <= sets


def test_confidence_costs_more_and_is_confirmed(
    choice_project: Project, plain: Chosen, one_duty: dict[str, Duty]
) -> None:
    sure = choose(choice_project, leave=LEFT_OUT[:3], confidence=0.95, duties=one_duty, prove=0)
    assert plain.best is not None
    assert sure.best is not None
    assert sure.best.price > plain.best.price
    left = {(row.part, row.duty): row.confidence for row in sure.verdict.rows}
    assert all(c is not None and c >= 0.95 for c in left.values())


def test_spreads_assumed_too_large_are_learnt(
    choice_project: Project, one_duty: dict[str, Duty], monkeypatch: pytest.MonkeyPatch
) -> None:
    def far_too_large(choosing: Choosing) -> None:
        choosing.search.kept_free.other = 60.0

    monkeypatch.setattr(Choosing, "assume_spreads", far_too_large)
    found = choose(choice_project, leave=LEFT_OUT[:3], confidence=0.95, duties=one_duty, prove=0)
    assert found.best is not None
    assert all(row.confidence is not None and row.confidence >= 0.95 for row in found.verdict.rows)


def test_keep_and_leave_are_kept(choice_project: Project, one_duty: dict[str, Duty]) -> None:
    leave = ["loom_sleeve", *LEFT_OUT]
    chosen = choose(choice_project, keep=["box_gasket"], leave=leave, spreads=False, duties=one_duty, prove=0)
    shown = chosen.best or chosen.closest
    assert {"box_gasket", "box_foil"} <= set(shown.measures)
    assert "loom_sleeve" not in shown.measures


def test_runners_up_hold_and_are_not_more_of_the_same(plain: Chosen) -> None:
    chosen = plain
    assert chosen.best is not None
    assert chosen.runners_up
    prices = [chosen.best.price, *(one.price for one in chosen.runners_up)]
    assert prices == sorted(prices)
    for one in chosen.runners_up:
        assert one.holds
        assert not set(chosen.best.measures) <= set(one.measures)


def test_nothing_holds_is_said(choice_project: Project) -> None:
    leave = [name for name in choice_project.measures if name not in ("box_foil", "coating")]
    chosen = choose(choice_project, leave=leave, spreads=False)
    assert chosen.best is None
    assert chosen.proved  # all four sets were run
    assert chosen.closest.slack < 0.0
    assert chosen.verdict.state == "over"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"by": "beauty"}, "nothing of that name"),
        ({"keep": ["wrapp"]}, "unknown measure 'wrapp'"),
        ({"confidence": 0.2}, "confidence out of range"),
        ({"keep": ["wrap", "coating"]}, "exclude each other"),
    ],
)
def test_wrong_options_are_refused(choice_project: Project, options: dict, said: str) -> None:
    with pytest.raises(Refused, match=said):
        choose(choice_project, **options)


def test_command_line(choice_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plot = tmp_path / "front.png"
    arguments = ["choose", str(choice_folder), "--no-spread", "--json", "--plot", str(plot)]
    assert run([*arguments, "--leave", ",".join(LEFT_OUT), "--duty", HILL, "--prove", "0"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["verdict"] == "holds"
    assert set(data) >= {"measures", "cost", "verdict", "proved", "runners_up"}
    assert data["cost"] == 100 + sum(
        {"loom_sleeve": 9, "box_foil": 6, "hose_moved": 4, "wider_under": 5}.get(m, 1000)
        for m in data["measures"]
    )
    assert plot.read_bytes()[:4] == b"\x89PNG"
    assert run(["choose", str(choice_folder), "--by", "beauty"]) == 2


def test_coarse_runs_decide_nothing_near_the_line(choice_project: Project, one_duty: dict[str, Duty]) -> None:
    """A duty taken for a long one is run coarsely; where that comes within NEAR of the line, finely again."""
    choice = choice_of(choice_project.measures)
    fine = run_cases([case(choice_project.variant(()), one_duty)])[0].margins
    least = min(fine.values())

    def margins(need: float) -> tuple[dict[Key, float], int]:
        runs = SetRuns(choice_project, choice, one_duty, lambda key, m: m - need, jobs=1)
        runs.rows = {HILL: LONG}
        (found,) = runs.evaluate([(frozenset(), None)])
        return dict(found or {}), runs.fine

    near, again = margins(least)
    assert again == 1
    assert near == fine
    far, once = margins(least - 40.0)
    assert once == 0
    assert far != fine
    assert max(abs(far[key] - fine[key]) for key in fine) < NEAR


def test_a_search_is_the_same_every_time(choice_project: Project, one_duty: dict[str, Duty]) -> None:
    one, two = (
        choose(choice_project, leave=LEFT_OUT, spreads=False, duties=one_duty, prove=0, jobs=jobs)
        for jobs in (1, 2)
    )
    assert one.best == two.best
    assert one.front == two.front
    assert one.full_runs == two.full_runs
