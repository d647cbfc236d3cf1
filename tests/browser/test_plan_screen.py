"""The plan on the screen Test day: made by keyboard, read in both units, stopped, fit for narrow screens and axe-core."""

import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from .conftest import Served
from .test_page import AXE, opened, until

pytestmark = pytest.mark.browser
SMALL = Path(__file__).parents[1] / "kit" / "small"
THERE = "text=Sensors, in the order they help"
TEXT = "document.querySelector('section[aria-label=Plan]').innerText"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The tests' small car with its spreads."""
    from heatproof.study.questions.check import check

    root = tmp_path_factory.mktemp("plan")
    folder = Path(shutil.copytree(SMALL, root / "small", ignore=shutil.ignore_patterns("results")))
    check(folder)
    made = Served(folder, root)
    assert made.desk.wait(60.0) is not None
    yield made
    made.stop()


def made_plan(page: Any, shop: Served) -> None:
    """By keyboard alone, from the top of the screen."""
    opened(page, shop, "test-day")
    button = page.get_by_role("button", name="Make the plan").or_(
        page.get_by_role("button", name="Plan again")
    )
    until(page, "[...document.querySelectorAll('.btn.main')].some((b) => !b.disabled)", 20_000)
    button.focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(THERE, timeout=60_000)


def test_a_plan_is_made_and_its_card_given(browser: Any, shop: Served, tmp_path: Path) -> None:
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    problems: list[str] = []
    page.on("console", lambda m: problems.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: problems.append(str(e)))
    made_plan(page, shop)
    page.get_by_label("Ambient of the day").fill("22 degC")
    page.get_by_label("Has a sensor anyway").select_option("loom")
    page.get_by_role("button", name="Plan again").click()
    until(page, f"{TEXT}.includes('there anyway') && {TEXT}.includes('22 °C ambient')", 60_000)
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Test card").click()
    card = tmp_path / "card.html"
    waiting.value.save_as(card)
    assert waiting.value.suggested_filename == "test-card.html"
    assert "Break off and stand the car in free air" in card.read_text(encoding="utf-8")
    page.keyboard.press("u")
    until(page, f"{TEXT}.includes('72 °F ambient')", 20_000)
    until(page, f"!/\\d °C/.test({TEXT})", 20_000)
    page.get_by_role("button", name="Take out loom").click()
    assert page.get_by_role("button", name="Take out loom").count() == 0
    assert problems == []
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 1024])
def test_it_fits_and_nothing_is_serious(browser: Any, shop: Served, width: int, scheme: str) -> None:
    # Rules: axe-core (Deque), WCAG 2 A and AA.
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm ci in web/")
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    made_plan(page, shop)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1")
    spills = "[...document.querySelectorAll('section[aria-label=Plan] table')].filter((t) => t.scrollWidth > t.parentElement.clientWidth + 1).length"
    assert page.evaluate(spills) == 0
    page.evaluate(AXE.read_text(encoding="utf-8"))
    told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    serious = [v["id"] for v in told["violations"] if v["impact"] in ("serious", "critical")]
    page.close()
    assert serious == []


def test_it_stands_beside_a_log_whose_steady_stretches_are_shown(browser: Any, shop: Served) -> None:
    room = shop.folder / "logs"  # type: ignore[operator]
    room.mkdir()
    rows = [f"{t},2500,80,{40 + t / 12 if t < 600 else 90:.2f}" for t in range(1200)]
    head = "Time [s],RPM [rpm],Speed [km/h],Coolant temp [C]"
    (room / "warm.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    page = browser.new_page(viewport={"width": 1024, "height": 800})
    try:
        opened(page, shop, "test-day")
        page.wait_for_selector(".events button.steady", timeout=30_000)
        assert page.locator(".events button.steady").count() == 1
        assert "1 steady stretch" in page.locator("section[aria-label=Traces]").inner_text()
        page.get_by_role("button", name="Plan", exact=True).click()
        page.locator("section[aria-label=Plan] .btn.main").wait_for(timeout=20_000)
        assert page.locator("section[aria-label=Channels]").is_visible()
        assert page.locator("section[aria-label=Traces]").count() == 0
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1")
        page.get_by_role("button", name="Measured", exact=True).click()
        page.wait_for_selector(".u-over", timeout=20_000)
    finally:
        page.close()
        shutil.rmtree(room)


def test_it_is_stopped_on_the_screen(browser: Any, shop: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same work, each step held up until the button was seen."""
    from heatproof.doors.page import jobs

    real: Callable[..., dict[str, Any]] = jobs.WORK["plan"]

    def slow(project: Any, fitted: Any, options: Any, tell: Any) -> dict[str, Any]:
        def held(*told: Any) -> None:
            time.sleep(0.3)
            tell(*told)

        return real(project, fitted, options, held)

    monkeypatch.setitem(jobs.WORK, "plan", slow)
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    opened(page, shop, "test-day")
    until(page, "[...document.querySelectorAll('.btn.main')].some((b) => !b.disabled)", 20_000)
    page.locator("section[aria-label=Plan] .btn.main").click()
    page.locator("section[aria-label=Plan]").get_by_role("button", name="Stop").click(timeout=20_000)
    page.wait_for_selector("text=Stopped; nothing was changed.", timeout=20_000)
    assert page.locator("section[aria-label=Plan]").get_by_role("button", name="Stop").count() == 0
    assert page.locator("section[aria-label=Plan] .btn.main").is_enabled()
    page.close()


def test_while_spreads_are_not_there_it_says_so(browser: Any, served: Served) -> None:
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    opened(page, served, "test-day")
    switch = page.get_by_role("button", name="Plan", exact=True)
    told = page.get_by_text("Not yet: a plan needs the spreads of this variant")
    switch.or_(told).first.wait_for(timeout=20_000)
    if switch.count():  # a log is on file
        switch.click()
    told.wait_for(timeout=20_000)
    assert page.get_by_role("button", name="Make the plan").is_disabled()
    page.close()
