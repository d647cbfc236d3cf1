"""The page in a browser: it opens clean, moves margins, takes names as text, and stays in step with a second tab."""

import io
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

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


def test_units_change_every_figure_and_stay_changed(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    opened(page, served)
    cell = page.locator('[data-margin="oil.sump"]')
    before = cell.inner_text()
    page.keyboard.press("u")
    until(page, f"document.querySelector('[data-margin=\"oil.sump\"]').innerText !== {before!r}", 10_000)
    assert page.evaluate("document.querySelector('#screen-margins').innerText.includes('degrees F left')")
    for screen in ("part", "air", "liquids", "bay"):
        opened(page, served, screen)
        until(page, f"document.querySelector('#screen-{screen}').innerText.includes('°F')", 20_000)
        assert not page.evaluate(f"/\\d °C/.test(document.querySelector('#screen-{screen}').innerText)"), (
            screen
        )
    page.keyboard.press("u")
    until(page, "!document.querySelector('main').innerText.includes('°F')", 20_000)
    assert page.problems == []


def test_a_log_is_read_named_and_drawn(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    room = served.folder / "logs"
    room.mkdir(exist_ok=True)
    lines = [f"{k / 2:.1f},{3000},{210 if 80 < k < 120 else 60},{40 + k % 7},{95}" for k in range(600)]
    (room / "run.csv").write_text(
        "Time [s],RPM [rpm],MAP [kPa],IAT [C],T7 [C]\n" + "\n".join(lines), encoding="utf-8"
    )
    opened(page, served, "test-day")
    page.wait_for_selector(".u-over", timeout=30_000)
    assert page.locator(".events button").count() == 1
    page.get_by_label("What T7 [C] means").select_option("oil_temperature")
    page.wait_for_selector("text=Kept in logs/run.yaml", timeout=15_000)
    assert "oil_temperature" in (room / "run.yaml").read_text(encoding="utf-8")
    assert page.problems == []


def test_a_variant_is_kept_compared_with_and_forgotten(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    opened(page, served, "compare")
    page.get_by_label("Name for the variant as it is now").fill("As bought")
    page.keyboard.press("Enter")
    page.wait_for_selector("button:has-text('Compare with')", timeout=15_000)
    page.click("button:has-text('Compare with')")
    page.wait_for_selector("text=are against As bought", timeout=15_000)
    assert served.desk.against == "As bought"
    page.click("button:has-text('Forget')")
    page.wait_for_selector("text=None yet. Keep the variant", timeout=15_000)
    assert page.problems == []


STILL = "document.querySelector('.view canvas.still')"


def picture(page) -> np.ndarray:  # type: ignore[no-untyped-def]
    """(rows, columns, 3) of the bay as seen once it has come to rest."""
    last = b""
    for _ in range(20):
        page.wait_for_timeout(400)
        shot = page.locator(".view").screenshot(animations="disabled")
        if shot == last:
            break
        last = shot
    return np.asarray(Image.open(io.BytesIO(last)).convert("RGB"), dtype=float)


def test_recoloured_frames_show_what_is_drawn_in_space(page, served: Served) -> None:  # type: ignore[no-untyped-def]
    """A time scrubbed to is a look-up in the kept view; turned away and back, the same instant is drawn anew."""
    opened(page, served, "bay")
    until(page, "document.querySelector('.view')?.dataset.scene === 'ready'", 20_000)
    for share in (0.2, 0.9, 0.5, 0.8):
        page.evaluate(
            "(share) => { const r = document.querySelector('[data-scrub]'); r.value = String(share * r.max);"
            " r.dispatchEvent(new Event('input', {bubbles: true})); }",
            share,
        )
        page.wait_for_timeout(120)
    until(page, f"{STILL} && !{STILL}.hidden", 20_000)
    quick = picture(page)
    page.get_by_role("button", name="Front", exact=True).click()
    until(page, f"{STILL}.hidden", 20_000)
    other = picture(page)
    page.get_by_role("button", name="From left", exact=True).click()
    drawn = picture(page)
    assert page.evaluate(f"{STILL}.hidden")
    off = np.abs(quick - drawn).max(axis=2)
    assert np.abs(other - drawn).max(axis=2).mean() > 10.0  # the comparison can tell pictures apart
    assert off.mean() < 1.0
    assert np.quantile(off, 0.99) <= 12.0
