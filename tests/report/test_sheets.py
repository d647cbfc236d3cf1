"""Sheets: what each reader is told, drawings true to scale, numbers in the reader's units.

Unit conversions are checked against the definitions of NIST SP 811 (inch, pound, US gallon, horsepower); the physics
against the verdict itself. What a sheet must say is common practice, no source.
"""

import re
import shutil
from pathlib import Path

import pytest

from heatproof.doors import cli
from heatproof.kit.read import read_project
from heatproof.network.fluids import CP_AIR
from heatproof.report.blocks import Facts, Figure, Heading, Table
from heatproof.report.core_duty import core_duties
from heatproof.report.gathered import Gathered, gather
from heatproof.report.kit_items import kit_items
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.release import Built
from heatproof.report.sheets.build import READERS, allowed, sheets
from heatproof.report.sheets.installer import installer_sheet
from heatproof.report.templates import Outline, template
from heatproof.study.questions.check import check

HATCHBACK = Path(cli.__file__).parents[1] / "examples" / "hatchback"


@pytest.fixture(scope="module")
def hatchback(tmp_path_factory: pytest.TempPathFactory) -> Gathered:
    """The shipped example in its shortest duties, without what is not the subject here."""
    folder = tmp_path_factory.mktemp("hatchback") / "project"
    shutil.copytree(HATCHBACK, folder, ignore=shutil.ignore_patterns("results", "logs"))
    for path in (folder / "duties").glob("*.yaml"):
        if path.stem not in ("ten_pulls", "flat_out"):
            path.unlink()
    quick = {"with_rating": False, "with_reasons": False, "spreads": False}
    return gather(read_project(folder), day="2026-01-31", **quick)


def texts(document: object) -> str:
    """Everything a document says."""
    return repr(document)


def test_a_sheet_for_every_reader(built: Built) -> None:
    made = sheets(built.gathered, with_tolerance=False)
    assert [one.reader for one in made] == list(READERS)
    for one in made:
        assert one.pdf.startswith(b"%PDF")
        assert "A prediction is not proof" in one.html.decode()
        assert built.gathered.variant.head.name in one.html.decode()


def test_installer_reads_lines_shields_and_clearances(hatchback: Gathered) -> None:
    sheet = installer_sheet(hatchback, None)
    heads = [block.text for block in sheet.blocks if isinstance(block, Heading)]
    assert "Lines: where they run and how they must rise" in heads
    assert "Clearances to check" in heads
    assert "Fill and bleed" in heads
    assert "Check drive" in heads
    lines = {one.key: one for one in kit_items(hatchback.project, hatchback.variant).lines}
    assert "turbo_return" in lines
    junctions = hatchback.variant.coolant.junctions
    one = lines["turbo_return"]
    assert one.rise == pytest.approx(junctions[one.line.to].height - junctions[one.line.from_].height)
    assert one.slope == pytest.approx(one.rise / one.line.length)


def test_installer_reads_allowances(hatchback: Gathered) -> None:
    rows = [
        {
            "title": "Gap round radiator area",
            "nominal": "15 cm²",
            "allowed": "at most 22 cm²",
            "how": "Measure it.",
        }
    ]
    assert "at most 22 cm²" in texts(installer_sheet(hatchback, rows))
    assert "Not computed for this sheet" in texts(installer_sheet(hatchback, None))


def test_allowances_come_from_the_tolerance_study(paper_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "tight"
    shutil.copytree(paper_folder, folder, ignore=shutil.ignore_patterns("results", "releases"))
    quick = {"with_rating": False, "with_reasons": False, "spreads": False}
    worst = check(read_project(folder)).rows[0]
    assert worst.half is not None
    # The tolerance study keeps the whole band, so the limit stands 1.5 K past the band's end.
    tight = worst.found.peak - 273.15 + worst.half + 1.5
    car = (folder / "car.yaml").read_text()
    old = "continuous: 125 degC, short: 150 degC, short_time: 60 min"
    (folder / "car.yaml").write_text(car.replace(old, f"continuous: {tight:.2f} degC"))
    rows = {one["title"]: one for one in allowed(gather(read_project(folder), **quick), 1, None)}
    area = rows["Manifold to shield area"]
    assert area["nominal"] == "200 cm²"
    assert area["allowed"].startswith(
        "at most "
    )  # more of it takes up more; a face 30 mm off sees nearly all already
    assert 200 < int(area["allowed"].split()[2]) < 400
    assert "steel rule" in area["how"]


def test_what_is_not_released_says_so_on_every_sheet(hatchback: Gathered) -> None:
    if hatchback.released:
        pytest.skip("the example holds as it stands")
    for one in sheets(hatchback, with_tolerance=False):
        assert one.document.draft
        assert "Not for use: this revision is not released" in one.html.decode()


def test_core_duty_keeps_the_first_law(hatchback: Gathered) -> None:
    duties = {one.core: one for one in core_duties(hatchback.variant, hatchback.solved)}
    assert {"radiator", "charge_cooler"} <= set(duties)
    cooler = duties["charge_cooler"]
    assert cooler.heat == pytest.approx(cooler.hot_flow * CP_AIR * (cooler.hot_in - cooler.hot_out), rel=1e-9)
    # No core brings the hot side below what enters on the cold side (second law).
    for one in duties.values():
        assert one.cold_in < one.hot_out < one.hot_in
        assert one.hot_loss > 0.0
        assert one.cold_loss > 0.0


def test_suppliers_read_envelope_and_temperatures(hatchback: Gathered) -> None:
    cores, blankets = sheets(hatchback, ["cores", "blankets"])
    facts = [row for block in cores.document.blocks if isinstance(block, Facts) for row in block.rows]
    assert any(label == "Envelope of the core" and "550 mm × 180 mm" in value for label, value in facts)
    rows = [row for block in blankets.document.blocks if isinstance(block, Table) for row in block.rows]
    assert any(row[0] == "Skin, highest" and "°C" in row[1] for row in rows)


@pytest.mark.parametrize(
    ("width", "height", "scale"), [(0.12, 0.08, "1:1"), (0.2, 0.3, "1:2"), (0.55, 0.18, "1:5")]
)
def test_templates_are_true_to_scale(width: float, height: float, scale: str) -> None:
    drawing = template(Outline("Blank", width, height), "a", "b")
    assert drawing.scale == scale
    rect = re.search(r'<rect [^>]*width="([\d.]+)" height="([\d.]+)"', drawing.svg)
    assert rect is not None
    shrink = 1.0 / float(scale.split(":")[1])
    assert float(rect[1]) == pytest.approx(1e3 * width * shrink, abs=1e-3)
    assert float(rect[2]) == pytest.approx(1e3 * height * shrink, abs=1e-3)
    size = re.search(r'width="([\d.]+)mm"', drawing.svg)
    box = re.search(r'viewBox="0 0 ([\d.]+) ', drawing.svg)
    assert size is not None
    assert box is not None
    assert (
        float(size[1]) == float(box[1]) == pytest.approx(drawing.width, abs=1e-3)
    )  # one unit is one millimetre


def test_templates_stand_behind_the_sign_off(hatchback: Gathered) -> None:
    blocks = installer_sheet(hatchback, None).blocks
    figures = [block for block in blocks if isinstance(block, Figure) and block.to_scale]
    assert figures
    assert blocks[-1] is figures[-1]


def test_us_units() -> None:
    # NIST SP 811: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, 1 US gal = 3.785411784 L, 1 hp = 745.6999 W.
    us = ReaderUnits("us")
    assert us.temperature(373.15) == "212 °F"
    assert us.difference(10.0) == "+18 F°"
    assert us.length(0.0254) == "1.00 in"
    assert us.mass(0.45359237) == "1.0 lb"
    assert us.power(745.6999e2) == "100 hp"
    assert us.volume_flow(3.785411784e-3 / 60.0 * 5.0) == "5.0 gal/min"
    assert us.pressure(6894.757 * 15.0) == "15.0 psi"
    assert us.rounded_down(310.0) == pytest.approx((98.0 - 32.0) / 1.8 + 273.15)
    assert us.rounded_down(310.0) <= 310.0


def test_a_sheet_in_us_units(built: Built) -> None:
    found = Gathered(**{**vars(built.gathered), "units": ReaderUnits("us")})
    (sheet,) = sheets(found, ["customer"])
    page = sheet.html.decode()
    assert "°F" in page
    assert "°C" not in page.split("</style>")[1]


def test_unknown_reader_is_refused(paper_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["sheets", str(paper_folder), "--for", "instaler"]) == 2
    assert "nearest: installer" in capsys.readouterr().err
