"""The program is killed, an editor writes a file, a log is bad, a shape changes: nothing is lost, stale or blocked."""

import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from .conftest import Served
from .test_page import READY, opened, until

pytestmark = pytest.mark.browser


@pytest.fixture
def project(tmp_path: Path) -> Path:
    from heatproof.kit.examples import EXAMPLES

    return Path(
        shutil.copytree(EXAMPLES / "hatchback", tmp_path / "demo", ignore=shutil.ignore_patterns("results"))
    )


@pytest.fixture
def served(project: Path) -> Iterator[Served]:
    made = Served(project, project.parent)
    assert made.desk.wait(180.0) is not None
    yield made
    made.stop()


def test_a_killed_program_comes_back_with_the_edits_and_takes_clicks(
    browser, served: Served, project: Path
) -> None:  # type: ignore[no-untyped-def]
    page = opened(browser.new_page(viewport={"width": 1440, "height": 900}), served)
    page.locator('input[data-measure="loom_sleeve"]').click()
    until(page, "document.querySelector('input[data-measure=loom_sleeve]').checked", 10_000)
    port = int(served.address.rpartition(":")[2])
    served.stop()
    again = Served(project, project.parent, port)
    assert again.desk.wait(180.0) is not None
    page.wait_for_selector("text=the edits that were not saved are back", timeout=30_000)
    page.wait_for_selector(READY, timeout=60_000)
    assert page.locator('input[data-measure="loom_sleeve"]').is_checked()
    page.locator('input[data-measure="fan_run_on"]').click()  # a click of the old page on the new program
    until(page, "document.querySelector('input[data-measure=fan_run_on]').checked", 10_000)
    page.keyboard.press("z")
    page.keyboard.press("z")  # undo goes back beyond the end of the first run
    until(page, "!document.querySelector('input[data-measure=loom_sleeve]').checked", 10_000)
    page.close()
    again.stop()


def test_what_an_editor_writes_is_noticed_and_reading_it_keeps_the_edits(
    browser, served: Served, project: Path
) -> None:  # type: ignore[no-untyped-def]
    page = opened(browser.new_page(viewport={"width": 1440, "height": 900}), served)
    page.locator('input[data-measure="loom_sleeve"]').click()
    until(page, "document.querySelector('input[data-measure=loom_sleeve]').checked", 10_000)
    kit = project / "kit.yaml"
    kit.write_text(kit.read_text(encoding="utf-8").replace("Draft 7", "Draft 9"), encoding="utf-8")
    page.wait_for_selector("text=kit.yaml changed on disk", timeout=10_000)
    page.get_by_role("button", name="Read it again").click()
    page.wait_for_selector("text=your unsaved edits are laid over them", timeout=20_000)
    assert page.locator('input[data-measure="loom_sleeve"]').is_checked()
    assert "Draft 9" in page.locator(".what").inner_text()
    assert page.locator("text=kit.yaml changed on disk").count() == 0
    page.close()


def test_a_bad_log_leaves_the_others_open_and_no_figure_stands_under_another_name(
    browser, served: Served, project: Path
) -> None:  # type: ignore[no-untyped-def]
    room = project / "logs"
    room.mkdir(exist_ok=True)
    lines = [f"{k / 2:.1f},{3000},{60},{40 + k % 7}" for k in range(600)]
    (room / "a-good.csv").write_text(
        "Time [s],RPM [rpm],MAP [kPa],IAT [C]\n" + "\n".join(lines), encoding="utf-8"
    )
    (room / "z-bad.csv").write_bytes(b"\x00\x01\x02nothing of a log\n" * 20)
    page = opened(browser.new_page(viewport={"width": 1440, "height": 900}), served, "test-day")
    page.wait_for_selector("text=z-bad.csv could not be read", timeout=20_000)
    page.get_by_label("Log", exact=True).select_option("a-good.csv")
    page.wait_for_selector(".channels", timeout=20_000)
    page.get_by_label("Log", exact=True).select_option("z-bad.csv")
    page.wait_for_selector("text=z-bad.csv could not be read", timeout=20_000)
    assert page.locator(".channels").count() == 0
    page.close()


def test_the_bay_stays_drawn_when_a_shape_changes(browser, served: Served, project: Path) -> None:  # type: ignore[no-untyped-def]
    from .test_page import picture

    page = opened(browser.new_page(viewport={"width": 1440, "height": 900}), served, "bay")
    until(page, "document.querySelector('.view')?.dataset.scene === 'ready'", 20_000)
    before = picture(page)
    car = project / "car.yaml"
    text = car.read_text(encoding="utf-8")
    size = "shape: {kind: box, size: [260 mm, 175 mm, 200 mm]"
    assert size in text
    car.write_text(text.replace(size, size.replace("260 mm", "230 mm")), encoding="utf-8")
    served.desk.reread(served.desk.version)
    assert served.desk.wait(180.0) is not None
    time.sleep(2.0)
    after = picture(page)
    assert before.std() > 5.0  # something is drawn
    assert after.std() > 0.7 * before.std()
    page.close()
