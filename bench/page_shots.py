"""Pictures of every screen, light and dark, for the docs: `python -m bench.page_shots FOLDER`. No `run`: not timed."""

import shutil
import sys
import tempfile
from pathlib import Path

from bench.page import FLAGS, serve

SCREENS = ("margins", "part", "air", "liquids", "bay", "compare", "test-day", "release")
SIZES = ((1440, 900, ("light", "dark")), (1024, 800, ("light",)))


def main() -> int:
    """Solves the demo once, tries its measures, then takes every picture."""
    from playwright.sync_api import sync_playwright

    from heatproof.doors.verbs.new import EXAMPLES

    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as room, sync_playwright() as p:
        folder = Path(shutil.copytree(EXAMPLES / "hatchback", Path(room) / "hatchback"))
        address, app, server = serve(folder)
        desk = app.state.start.need()
        desk.wait(600.0)
        desk.background = True
        with desk.changed:
            desk.changed.notify_all()
        while desk.state not in desk.matrices and desk.state not in desk.spreadless:
            desk.worker.join(timeout=1.0)
        browser = p.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        for width, height, themes in SIZES:
            for theme in themes:
                page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=theme)
                for screen in SCREENS:
                    page.goto(f"{address}/#/{screen}")
                    page.wait_for_selector("h1[data-full=true]", timeout=60_000)
                    page.wait_for_timeout(2500)
                    name = screen if width == 1440 else f"{screen}-{width}"
                    page.screenshot(path=str(out / f"{name}{'-dark' if theme == 'dark' else ''}.png"))
                page.close()
        browser.close()
        server.should_exit = True
    return 0


if __name__ == "__main__":
    sys.exit(main())
