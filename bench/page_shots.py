"""Pictures of every screen, light and dark, for the docs: `python -m bench.page_shots FOLDER`. No `run`: not timed."""

import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from bench.invented_log import write_invented_log
from bench.page import FLAGS, serve

SCREENS = ("margins", "part", "air", "liquids", "bay", "compare", "test-day", "release")
ASKED: dict[str, Any] = {"ambient": "22 degC", "places": ["coolant.engine_out"]}
SIZES = ((1440, 900, ("light", "dark")), (1024, 800, ("light",)))


def main() -> int:
    """Solves the demo once, tries its measures, lays an invented log over it, then takes every picture."""
    from playwright.sync_api import sync_playwright

    from heatproof.kit.examples import EXAMPLES
    from heatproof.kit.read import read_project

    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as room, sync_playwright() as p:
        folder = Path(shutil.copytree(EXAMPLES / "hatchback", Path(room) / "hatchback"))
        write_invented_log(read_project(folder), "long_hill", folder / "logs" / "hill run.csv")
        address, app, server = serve(folder)
        desk = app.state.start.need()
        desk.wait(600.0)
        desk.background = True
        with desk.changed:
            desk.changed.notify_all()
        while desk.state not in desk.results.matrices and desk.state not in desk.results.spreadless:
            time.sleep(1.0)
        lay_over(app.state.start.jobs, desk)
        plan(app.state.start.jobs, desk)
        browser = p.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        for width, height, themes in SIZES:
            for theme in themes:
                page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=theme)
                for screen in SCREENS:
                    name = screen if width == 1440 else f"{screen}-{width}"
                    taken(page, address, screen, out / f"{name}{'-dark' if theme == 'dark' else ''}.png")
                name = "plan" if width == 1440 else f"plan-{width}"
                taken_plan(page, address, out / f"{name}{'-dark' if theme == 'dark' else ''}.png")
                page.close()
        us = browser.new_context(viewport={"width": 1440, "height": 900})
        us.add_init_script("localStorage.setItem('units', 'us')")
        taken(us.new_page(), address, "margins", out / "margins-us.png")
        browser.close()
        server.should_exit = True
    return 0


def taken(page: Any, address: str, screen: str, path: Path) -> None:
    """One picture."""
    page.goto(f"{address}/#/{screen}")
    page.wait_for_selector("h1[data-full=true]", timeout=60_000)
    page.wait_for_timeout(2500)
    page.screenshot(path=str(path))


def taken_plan(page: Any, address: str, path: Path) -> None:
    """The plan beside the log, all of it."""
    page.goto(f"{address}/#/test-day")
    page.get_by_role("button", name="Plan", exact=True).click()
    page.wait_for_selector("text=Sensors, in the order they help", timeout=60_000)
    page.get_by_label("Ambient of the day").fill(ASKED["ambient"])
    page.get_by_label("Has a sensor anyway").select_option(ASKED["places"][0])
    page.evaluate("document.activeElement.blur()")
    page.wait_for_timeout(800)
    page.screenshot(path=str(path), full_page=True)


def lay_over(jobs: Any, desk: Any) -> None:
    """The invented log over the prediction, as the button does."""
    done(jobs, desk, {"kind": "against", "logs": ["hill run.csv"]})


def plan(jobs: Any, desk: Any) -> None:
    """A plan for a cool day, as the button makes it."""
    done(jobs, desk, {"kind": "plan", **ASKED})


def done(jobs: Any, desk: Any, asked: dict[str, Any]) -> None:
    """One piece of long work, waited for."""
    from heatproof.doors.page.bodies import Work

    work = Work(**asked)
    job = jobs.begin(desk, work.kind, work.model_dump(exclude={"kind"}))
    while job.state == "running":
        time.sleep(0.2)


if __name__ == "__main__":
    sys.exit(main())
