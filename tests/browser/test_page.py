"""The page in a browser: it opens clean, moves margins, takes names as text, and stays in step with a second tab."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from .conftest import Served

pytestmark = pytest.mark.browser
SCREENS = ("margins", "part", "air", "liquids", "bay", "compare", "test-day", "release")
AXE = Path(__file__).parents[2] / "web/node_modules/axe-core/axe.min.js"
READY = "h1[data-full=true]"


@pytest.fixture
def page(browser, served: Served) -> Iterator[object]:  # type: ignore[no-untyped-def]
    made = browser.new_page(viewport={"width": 1440, "height": 900})
    made.problems = []
    made.on("console", lambda m: made.problems.append(m.text) if m.type == "error" else None)
    made.on("pageerror", lambda e: made.problems.append(str(e)))
    made.on(
        "request",
        lambda r: (
            made.problems.append(r.url) if not r.url.startswith((served.address, "data:", "blob:")) else None
        ),
    )
    yield made
    made.close()


def opened(page, served: Served, screen: str = "margins"):  # type: ignore[no-untyped-def]
    page.goto(f"{served.address}/#/{screen}")
    page.wait_for_selector(READY, timeout=60_000)
    page.wait_for_selector(f"main#screen-{screen}")
    return page


def until(page, told: str, most: int) -> None:  # type: ignore[no-untyped-def]
    """Waits for a condition, most ms. (The browser's own waiting needs eval, which the page's policy forbids.)"""
    end = time.monotonic() + most / 1e3
    while not page.evaluate(told):
        assert time.monotonic() < end, told
        page.wait_for_timeout(30)


def test_every_screen_opens_clean(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    for screen in SCREENS:
        opened(page, served, screen)
        page.wait_for_timeout(250)
        assert page.locator("footer.cautions").is_visible()
    assert page.problems == []


def test_toggling_a_measure_moves_margins_and_undo_brings_them_back(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    opened(page, served)
    cell = page.locator('[data-margin="oil.sump"]')
    before, box = cell.inner_text(), page.locator('input[data-measure="oil_cooler"]')
    box.click()
    until(page, "document.querySelector('input[data-measure=oil_cooler]').checked", 5_000)
    page.wait_for_selector(READY, timeout=60_000)
    until(
        page,
        f"document.querySelector('[data-margin=\"oil.sump\"]').innerText !== {before!r}",
        60_000,
    )
    assert page.title().startswith("●")
    page.keyboard.press("z")
    until(page, "!document.querySelector('input[data-measure=oil_cooler]').checked", 5_000)
    until(
        page,
        f"document.querySelector('[data-margin=\"oil.sump\"]').innerText === {before!r}",
        60_000,
    )
    assert page.problems == []


def test_a_name_is_shown_as_text(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    for screen in ("margins", "part", "bay", "compare", "release"):
        opened(page, served, screen)
        page.wait_for_timeout(150)
        assert page.evaluate("window.hit === undefined")
    opened(page, served)
    assert page.locator("button.prow", has_text="<img src=x").count() == 1


def test_two_tabs_see_the_same(browser, page, served: Served) -> None:  # type: ignore[no-untyped-def]
    other = browser.new_page()
    opened(page, served)
    opened(other, served)
    page.locator('input[data-measure="cap_13"]').click()
    until(other, "!document.querySelector('input[data-measure=cap_13]').checked", 20_000)
    other.keyboard.press("z")
    until(page, "document.querySelector('input[data-measure=cap_13]').checked", 20_000)
    other.close()


def test_all_by_keyboard(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    opened(page, served)
    page.keyboard.press("3")
    page.wait_for_selector("main#screen-air")
    page.keyboard.press("1")
    page.wait_for_selector("main#screen-margins")
    first = page.locator("button.prow[data-part]").first
    first.focus()
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.dataset.part") != first.get_attribute("data-part")
    page.keyboard.press("Enter")
    page.wait_for_selector("main#screen-part")
    page.keyboard.press("/")
    page.wait_for_selector("section.find input")
    page.fill("section.find input", "rated power")
    page.wait_for_selector("section.find .value")
    page.keyboard.press("Escape")
    assert page.locator("section.find").count() == 0


def test_a_bad_value_says_what_is_allowed(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    opened(page, served)
    page.keyboard.press("/")
    page.fill("section.find input", "engine rated power")
    field = page.locator("section.find .value input").first
    field.fill("150 K")
    field.press("Enter")
    told = page.wait_for_selector("section.find .bad", timeout=15_000).inner_text()
    assert "power" in told
    assert served.desk.state.edits == ()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_serious_for_assistive_technology(browser, served: Served, scheme: str) -> None:  # type: ignore[no-untyped-def]
    # Rules: axe-core (Deque), WCAG 2 A and AA.
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm ci in web/")
    page = browser.new_page(viewport={"width": 1440, "height": 900}, color_scheme=scheme)
    found = []
    for screen in SCREENS:
        opened(page, served, screen)
        page.wait_for_timeout(300)
        page.evaluate(AXE.read_text(encoding="utf-8"))
        told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        found += [
            (screen, v["id"], v["nodes"][0]["html"][:160])
            for v in told["violations"]
            if v["impact"] in ("serious", "critical")
        ]
    page.close()
    assert found == []


def test_narrow_screens_lose_nothing(browser, served: Served) -> None:  # type: ignore[no-untyped-def]
    page = browser.new_page(viewport={"width": 1024, "height": 800})
    for screen in ("margins", "part", "air", "bay"):
        opened(page, served, screen)
        page.wait_for_timeout(150)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1"), screen
    page.locator("button.drawer-btn").click()
    page.close()


def test_first_run_offers_the_examples(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    made = Served(None, tmp_path)
    page = browser.new_page()
    page.goto(made.address)
    page.wait_for_selector("main.first button.choice")
    page.locator("button.choice", has_text="hatchback").first.click()
    page.wait_for_selector("h1[data-state]", timeout=60_000)
    assert (tmp_path / "hatchback" / "kit.yaml").is_file()
    page.close()
    made.stop()


def test_the_server_going_away_is_said_and_survived(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    made = Served(None, tmp_path)
    page = browser.new_page()
    page.goto(made.address)
    page.locator("button.choice", has_text="hatchback").first.click()
    page.wait_for_selector("h1[data-state]", timeout=60_000)
    made.stop()
    began = time.monotonic()
    page.wait_for_selector("text=Lost the program", timeout=20_000)
    assert time.monotonic() - began < 20
    page.close()
