"""Release: what is in it, what stands in its way, and whether a record still holds.

Checked against the project's own verdict (same figures on paper as in `check`), against hashlib and against the PDF
as poppler reads it; there is no outside source for what a shop's paper must say (common practice, no source).
"""

import hashlib
import json
import shutil
import subprocess
import time
from pathlib import Path

import pytest

from heatproof.doors import cli
from heatproof.kit.findings import Refused
from heatproof.kit.read import read_project
from heatproof.report.gathered import gather
from heatproof.report.record import record
from heatproof.report.release import Built, build, write
from heatproof.report.release_doc import headline
from heatproof.report.verify import read_record, verify
from heatproof.verdict.words import temperature

DEVIATION = """format: heatproof deviations 1
deviations:
  - part: loom
    duty: hill
    margin: {margin} K
    revision: "{revision}"
    who: Responsible engineer (invented)
    when: {when}
    why: Invented for a test.
"""


@pytest.fixture
def over_folder(paper_folder: Path, tmp_path: Path) -> Path:
    """The same project with a limit that is passed."""
    folder = tmp_path / "over"
    shutil.copytree(paper_folder, folder, ignore=shutil.ignore_patterns("results", "releases"))
    text = (folder / "car.yaml").read_text()
    old = "continuous: 125 degC, short: 150 degC, short_time: 60 min"
    assert text.count(old) == 1
    (folder / "car.yaml").write_text(text.replace(old, "continuous: 60 degC"))
    return folder


def sign(folder: Path, *, margin: str = "-60", revision: str = "", when: str = "2026-01-30") -> None:
    (folder / "deviations.yaml").write_text(
        DEVIATION.format(margin=margin, revision=revision or "A", when=when)
    )


def text_of(pdf: bytes, folder: Path) -> str:
    """Text of a PDF as poppler reads it."""
    (folder / "paper.pdf").write_bytes(pdf)
    done = subprocess.run(
        ["pdftotext", "-layout", str(folder / "paper.pdf"), "-"], capture_output=True, text=True, check=True
    )
    return done.stdout


# --- contents ---------------------------------------------------------------------------------------------
def test_a_kit_that_holds_is_released(built: Built) -> None:
    assert built.released
    assert built.record["verdict"] == "holds"
    assert built.name == "release-small-kit-invented"


def test_record_has_the_figures_of_the_verdict(built: Built) -> None:
    verdict = built.gathered.verdict
    assert len(built.record["limits"]) == len(verdict.rows) == 1
    row, one = verdict.rows[0], built.record["limits"][0]
    assert one["margin_K"] == row.margin
    assert one["predicted"]["spread_K"] == row.half
    assert one["evidence"] == "predicted"
    total = sum(cause["rise_K"] for cause in built.record["ledgers"][0]["causes"])
    assert total == pytest.approx(built.record["ledgers"][0]["rise_K"], abs=1e-6)


def test_inputs_are_hashed(built: Built, paper_folder: Path) -> None:
    found = {one["file"]: one["sha256"] for one in built.record["inputs"]}
    assert set(found) == {"car.yaml", "kit.yaml", "duties/hill.yaml"}
    for name, digest in found.items():
        assert digest == hashlib.sha256((paper_folder / name).read_bytes()).hexdigest()
    assert built.fingerprint == hashlib.sha256(built.json).hexdigest()


def test_every_model_and_table_used_names_its_source(built: Built) -> None:
    sources = built.record["sources"]
    assert len(sources) > 20
    assert all(one["source"] for one in sources)
    models = {one["model"] for one in sources}
    assert "engine.taylor_toong_coefficient" in models
    assert not any(model.startswith("turbo.") for model in models)  # this car has none
    assert not any("fin_surfaces" in model for model in models)  # its core is rated, not built up


def test_each_measure_has_a_reason(built: Built) -> None:
    reasons = {one["name"]: one for one in built.record["measures"]}
    assert set(reasons) == {"sleeve", "shield", "moved"}
    assert reasons["shield"]["fitted"]
    assert reasons["shield"]["change"] < 0.0  # without the shield the loom has less left
    assert reasons["sleeve"]["change"] > 0.0
    assert "moved" in reasons["moved"]["name"]


def test_pdf_is_tagged_and_its_text_can_be_read(built: Built, tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler is not installed")
    text = text_of(built.pdf, tmp_path)
    info = subprocess.run(
        ["pdfinfo", str(tmp_path / "paper.pdf")], capture_output=True, text=True, check=True
    ).stdout
    assert "Tagged:" in info
    assert info.split("Tagged:")[1].split()[0] == "yes"
    row = built.gathered.verdict.rows[0]
    for wanted in (
        "Released: Small kit (invented)",
        "Loom",
        temperature(row.found.peak),
        "Sign-off",
        "Never open a hot",
    ):
        assert wanted.lower() in text.lower()
    assert built.record["inputs"][0]["sha256"] in text.replace("\n", "").replace(" ", "")


def test_html_says_the_same(built: Built) -> None:
    page = built.html.decode()
    for caution in built.gathered.verdict.cautions:
        assert caution in page
    assert page.count("<svg") >= 6
    assert "http://www.w3.org" in page
    assert 'src="http' not in page
    assert 'href="http' not in page.replace('xlink:href="http', "")


def test_made_in_ten_seconds_once_the_verdict_is_there(built: Built, paper_folder: Path) -> None:
    start = time.process_time()
    again = build(read_project(paper_folder), day="2026-01-31")
    assert time.process_time() - start < 10.0
    assert again.fingerprint == built.fingerprint


# --- deviations -------------------------------------------------------------------------------------------
def test_over_is_not_released(over_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["release", str(over_folder), "--no-rating", "--date", "2026-01-31"]) == 1
    said = capsys.readouterr().out
    assert "NOT RELEASED" in said
    assert "nobody has signed for it" in said
    kept = read_record(next((over_folder / "releases").glob("review-*.json")))
    assert not kept["released"]


def test_a_signed_deviation_releases_until_it_gets_worse(over_folder: Path) -> None:
    kit = (over_folder / "kit.yaml").read_text()
    (over_folder / "kit.yaml").write_text(kit.replace("name: Small kit", "revision: A\nname: Small kit"))
    sign(over_folder)
    one = gather(read_project(over_folder), with_rating=False)
    assert one.released
    plain = record(one)
    assert plain["limits"][0]["signed"]["who"] == "Responsible engineer (invented)"
    assert "deviations.yaml" in {i["file"] for i in plain["inputs"]}
    assert headline(one)[0].startswith("Released with deviations")
    sign(over_folder, margin="-0.1")
    worse = gather(read_project(over_folder), with_rating=False)
    assert not worse.released
    assert "signed down to" in worse.blocks[0].unsigned
    sign(over_folder, revision="B")
    other = gather(read_project(over_folder), with_rating=False)
    assert "revision" in other.blocks[0].unsigned


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"when": "yesterday"}, "YYYY-MM-DD"),
        ({"margin": "+4"}, "margin"),
    ],
)
def test_a_deviation_that_cannot_be_used_is_refused(
    over_folder: Path, change: dict[str, str], says: str
) -> None:
    sign(over_folder, **change)
    with pytest.raises(Refused) as refused:
        gather(read_project(over_folder), with_rating=False)
    assert says in str(refused.value)
    assert "deviations.yaml:" in str(refused.value)


def test_without_a_limit_there_is_no_paper(over_folder: Path) -> None:
    text = (over_folder / "car.yaml").read_text()
    (over_folder / "car.yaml").write_text(text.replace(", limit: {continuous: 60 degC}", ""))
    with pytest.raises(Refused, match="nothing is judged"):
        gather(read_project(over_folder), with_rating=False, spreads=False)


def test_a_car_without_a_kit_can_be_put_on_paper(over_folder: Path) -> None:
    (over_folder / "kit.yaml").unlink()
    found = gather(read_project(over_folder), with_rating=False, spreads=False)
    assert headline(found)[0].startswith("NOT RELEASED")
    assert record(found)["kit"]["fitted"] == []


# --- evidence ---------------------------------------------------------------------------------------------
def test_a_test_is_named_and_can_stand_in_the_way(paper_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "tested"
    shutil.copytree(paper_folder, folder, ignore=shutil.ignore_patterns("releases"))
    (folder / "logs").mkdir()
    (folder / "logs" / "run_1.csv").write_text("time,loom\n0,20\n")
    tested = (
        "format: heatproof tested 1\ntests:\n"
        "  - {part: loom, duty: hill, log: run_1.csv, peak: 60 degC, when: 2026-01-20}\n"
        "  - {part: drive shaft seal, duty: hill, log: run_1.csv, peak: 150 degC, limit: 120 degC, when: 2026-01-20}\n"
    )
    (folder / "tested.yaml").write_text(tested)
    one = gather(read_project(folder), with_rating=False)
    plain = record(one)
    by_part = {entry["part"]: entry for entry in plain["limits"]}
    assert by_part["loom"]["evidence"] == "both"
    assert by_part["loom"]["tests"][0]["log"] == "run_1.csv"
    assert by_part["drive shaft seal"]["evidence"] == "tested"
    assert [limit.part for limit in one.blocks] == ["drive shaft seal"]
    assert "logs/run_1.csv" in {i["file"] for i in plain["inputs"]}


# --- verify and changes -----------------------------------------------------------------------------------
def test_a_record_holds_on_another_copy(built: Built, paper_folder: Path, tmp_path: Path) -> None:
    pdf, html, written = write(built, tmp_path / "out")
    assert pdf.read_bytes().startswith(b"%PDF")
    copy = tmp_path / "clone"
    shutil.copytree(paper_folder, copy, ignore=shutil.ignore_patterns("results", "releases"))
    found = verify(read_project(copy), read_record(html))
    assert found.holds
    assert found.compared == 1
    assert found.largest <= 0.1
    assert read_record(written) == json.loads(built.json)


def test_a_changed_input_is_named(
    built: Built, paper_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    *_, written = write(built, tmp_path / "out")
    copy = tmp_path / "changed"
    shutil.copytree(paper_folder, copy, ignore=shutil.ignore_patterns("results", "releases"))
    car = (copy / "car.yaml").read_text()
    (copy / "car.yaml").write_text(car.replace("distance: 150 mm", "distance: 120 mm"))
    duty = (copy / "duties" / "hill.yaml").read_text()
    (copy / "duties" / "hill.yaml").write_text(duty + "# looked at again\n")
    assert cli.run(["release", str(copy), "--verify", str(written)]) == 1
    said = capsys.readouterr().out
    assert "car.yaml changed" in said
    assert "duties/hill.yaml changed" in said
    assert "kit.yaml changed" not in said


def test_a_figure_that_moved_is_told(built: Built, paper_folder: Path) -> None:
    kept = json.loads(built.json)
    kept["limits"][0]["predicted"]["peak_degC"] += 0.2
    found = verify(read_project(paper_folder), kept)
    assert not found.holds
    assert not found.changed_inputs
    assert found.differences[0].what == "peak"
    assert found.largest == pytest.approx(0.2, abs=0.02)


def test_changes_against_the_earlier_release(built: Built, over_folder: Path, tmp_path: Path) -> None:
    *_, written = write(built, tmp_path / "out")
    later = build(
        read_project(over_folder), ["sleeve", "shield"], day="2026-02-28", against=written, with_rating=False
    )
    assert later.changes is not None
    told = "\n".join(later.changes.items)
    assert "Fitted now: Sleeve on the loom." in told
    assert "parts.loom.limit.continuous: 125 degC → 60 degC." in told
    assert "Input car.yaml changed." in told
    assert "loom, Hill: margin +" in told
    assert "Cost: 130 → 139 EUR." in told


def test_no_record_is_refused(tmp_path: Path, paper_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "other.json").write_text('{"format": "something else"}')
    assert cli.run(["release", str(paper_folder), "--verify", str(tmp_path / "other.json")]) == 2
    assert "no release record" in capsys.readouterr().err
    assert cli.run(["release", str(paper_folder), "--units", "metrick"]) == 2
    assert "metric" in capsys.readouterr().err
