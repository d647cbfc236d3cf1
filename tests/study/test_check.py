"""Checks of a project: stored results are used again, never trusted blindly, never needed."""

import json
import os
import shutil
from pathlib import Path

import numpy as np
import pytest

import heatproof
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.study.questions import check as study_check
from heatproof.study.questions.check import check
from heatproof.study.questions.explain import explain
from heatproof.study.store import MOST_VERDICTS, decoded, seal, unseal
from heatproof.units.results import stored

SMALL = Path(__file__).parents[1] / "kit" / "small"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(SMALL, tmp_path / "small", ignore=shutil.ignore_patterns("results"))
    return tmp_path / "small"


@pytest.fixture
def solves(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """One entry each time something is solved."""
    calls: list[str] = []
    real = study_check.judge

    def counted(*arguments, **options):  # type: ignore[no-untyped-def]
        calls.append("solved")
        return real(*arguments, **options)

    monkeypatch.setattr(study_check, "judge", counted)
    return calls


def test_unchanged_project_is_not_solved_again(folder: Path, solves: list[str]) -> None:
    first = check(folder, spreads=False)
    second = check(folder, spreads=False)
    assert solves == ["solved"]
    assert (first.stored, second.stored) == (False, True)
    assert second.rows == first.rows
    assert second.sentence == first.sentence
    assert second.project_hash == first.project_hash == read_project(folder).hash()


def test_stored_result_keeps_everything(folder: Path) -> None:
    found = check(folder)
    again = decoded(json.loads(json.dumps(stored(found))))
    assert found.sensitivities is not None
    assert again.sensitivities is not None
    assert np.array_equal(again.sensitivities.change, found.sensitivities.change)
    assert again.sensitivities.keys == found.sensitivities.keys
    assert again.rows == found.rows
    assert again.duties == found.duties
    assert again.findings == found.findings


def test_any_change_is_solved_again(folder: Path, solves: list[str]) -> None:
    before = check(folder, spreads=False)
    car = folder / "car.yaml"
    car.write_text(car.read_text().replace("surface: 500 cm2", "surface: 300 cm2"))
    after = check(folder, spreads=False)
    assert not after.stored
    assert after.worst.margin != before.worst.margin
    assert len(solves) == 2
    check(folder, ["sleeve", "shield"], spreads=False)
    check(folder)
    check(folder, spreads=False, fresh=True)
    assert len(solves) == 5


@pytest.mark.parametrize("damage", ["", "{", "[]", "null", '{"format": "x"}', "\x00\xff", "cut"])
def test_damaged_result_is_ignored_and_said(folder: Path, damage: str) -> None:
    check(folder, spreads=False)
    (stored,) = (folder / "results").glob("check-*.json")
    text = stored.read_text()
    stored.write_text(text[: len(text) // 2] if damage == "cut" else damage, encoding="latin-1")
    again = check(folder, spreads=False)
    assert not again.stored
    assert any("stored result" in finding.what for finding in again.findings)
    assert stored.read_text() == text


def test_a_result_with_another_number_in_it_is_not_taken(folder: Path) -> None:
    """JSON in every respect, but not what was stored."""
    check(folder, spreads=False)
    (stored,) = (folder / "results").glob("check-*.json")
    text = stored.read_text()
    at = text.index('"peak": ') + len('"peak": ')
    stored.write_text(text[:at] + "9" + text[at + 1 :])
    json.loads(stored.read_text())
    again = check(folder, spreads=False)
    assert not again.stored
    assert stored.read_text() == text


def test_result_of_another_key_is_not_taken(folder: Path) -> None:
    check(folder, spreads=False)
    (stored,) = (folder / "results").glob("check-*.json")
    data = unseal(stored.read_bytes())
    data["key"] = "0" * 24
    stored.write_bytes(seal(data))
    assert not check(folder, spreads=False).stored


def test_works_where_nothing_can_be_written(folder: Path) -> None:
    """A file stands where the folder should be: true for any user, also one who may write anywhere."""
    (folder / "results").write_text("taken")
    found = check(folder, spreads=False)
    assert found.state == "holds"
    assert any("could not be stored" in finding.what for finding in found.findings)
    assert (folder / "results").read_text() == "taken"


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_works_in_a_read_only_folder(folder: Path) -> None:
    folder.chmod(0o555)
    try:
        assert check(folder, spreads=False).state == "holds"
    finally:
        folder.chmod(0o755)


def test_no_half_written_file_is_left(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fails)
    found = check(folder, spreads=False)
    assert any("No space left" in finding.what for finding in found.findings)
    assert list((folder / "results").iterdir()) == []


def test_old_results_are_dropped_other_files_stay(folder: Path) -> None:
    results = folder / "results"
    results.mkdir()
    (results / "mine.txt").write_text("keep")
    for k in range(MOST_VERDICTS + 3):
        path = results / f"check-{k:024d}.json"
        path.write_text("{}")
        os.utime(path, (k, k))
    check(folder, spreads=False)
    assert len(list(results.glob("check-*.json"))) == MOST_VERDICTS
    assert (results / "mine.txt").exists()
    assert not (results / f"check-{0:024d}.json").exists()


def test_progress_counts_up_to_its_end(folder: Path) -> None:
    seen: list[tuple[int, int]] = []
    check(folder, progress=lambda done, steps, what: seen.append((done, steps)))
    assert [done for done, _ in seen] == list(range(1, seen[-1][1] + 1))


def test_variant_by_measures_or_ready_made(folder: Path) -> None:
    project = read_project(folder)
    bare, shielded = check(project, [], spreads=False), check(project, ["shield"], spreads=False)
    assert bare.of_part("loom").margin < shielded.of_part("loom").margin
    ready = check(project, project.variant([]), spreads=False)
    assert ready.rows == bare.rows


def test_unknown_and_clashing_measures_are_refused(folder: Path) -> None:
    with pytest.raises(Refused, match="sleeve"):
        check(folder, ["sleve"])
    with pytest.raises(Refused, match="exclude each other"):
        check(folder, ["shield", "moved"])


def test_from_the_package_itself(folder: Path) -> None:
    assert heatproof.check(folder, spreads=False).rows == check(folder, spreads=False).rows
    with pytest.raises(AttributeError, match="nothing"):
        heatproof.nothing  # noqa: B018


def test_explain_takes_stored_sensitivities_or_makes_its_own(folder: Path) -> None:
    project = read_project(folder)
    own = explain(project, "loom")
    check(project)
    kept = explain(project, "loom")
    assert own.moves == kept.moves
    assert own.moves[0][1] != 0.0


def test_explain_refuses_what_is_not_there(folder: Path) -> None:
    project = read_project(folder)
    for options, text in (
        ({"part": "lom"}, "no part"),
        ({"part": "loom", "duty": "hil"}, "no duty"),
        ({"part": "loom", "time": 1e6}, "outside the duty"),
    ):
        with pytest.raises(Refused, match=text):
            explain(project, spreads=False, **options)  # type: ignore[arg-type]
