"""The page as a person feels it: edit to margins, zoom of a log, scrub of the bay, first load.

Headless Chromium draws in software here; the server runs in this process. One run; other work on the machine shows.
"""

import shutil
import socket
import statistics
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

Row = tuple[str, float, str]
# What the browser falls back to on a machine without a graphics card: pages and WebGL drawn by the processor.
FLAGS = ["--no-sandbox", "--enable-unsafe-swiftshader"]
MEASURES = ("loom_sleeve", "fan_run_on", "downpipe_coating", "undertray_cut_out")
FRAMES = """async ([part, seconds]) => {
  const times = []; let last = performance.now(); const end = last + seconds * 1000; let k = 0;
  const act = { still: () => {}, zoom: () => { const o = document.querySelector('.u-over'); o.dispatchEvent(new WheelEvent('wheel', {deltaY: k % 24 < 12 ? -100 : 100, offsetX: 0, clientX: o.getBoundingClientRect().left + 200, bubbles: true, cancelable: true})); },
    scrub: () => { const r = document.querySelector('[data-scrub]'); r.value = String((k * 37) % Number(r.max)); r.dispatchEvent(new Event('input', {bubbles: true})); } }[part];
  return await new Promise((done) => { const step = () => { const now = performance.now(); times.push(now - last); last = now; k++; if (now > end) done(times.slice(2)); else { act(); requestAnimationFrame(step); } }; requestAnimationFrame(step); });
}"""
# The box and all margins are drawn from one reply, so that the box turning is the margins' time as well; a margin
# itself may move by less than shows.
EDIT = """async (name) => {
  const box = () => document.querySelector(`input[data-measure="${name}"]`);
  const before = box().checked, began = performance.now();
  box().click();
  while (box().checked === before && performance.now() - began < 5000) await new Promise(requestAnimationFrame);
  await new Promise(requestAnimationFrame);
  return performance.now() - began;
}"""


def p95(values: list[float]) -> float:
    """95th percentile."""
    return sorted(values)[min(len(values) - 1, int(0.95 * len(values)))]


def big_log(path: Path, rows: int = 50_000) -> None:
    """Four invented channels of 50 000 rows."""
    import numpy as np

    t = np.arange(rows) / 20.0
    noise = np.random.default_rng(1).normal(0.0, 1.0, (rows, 4))
    waves = [60 + 20 * np.sin(t / (40 + 9 * k)) + noise[:, k] for k in range(4)]
    names = "time [s],coolant temp [degC],oil temp [degC],intake temp [degC],bay temp [degC]"
    np.savetxt(path, np.column_stack([t, *waves]), fmt="%.2f", delimiter=",", header=names, comments="")


def serve(folder: Path) -> tuple[str, Any, Any]:
    """Address, app, server."""
    import uvicorn

    from heatproof.doors.page.app import make_app

    app = make_app(folder, background=False)
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical", timeout_graceful_shutdown=1))
    threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True).start()
    return f"http://127.0.0.1:{listener.getsockname()[1]}", app, server


def run() -> list[Row]:
    """Rows of the bench; nothing where there is no Chromium."""
    chromium = shutil.which("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        return []
    if chromium is None:
        return []
    from heatproof.kit.examples import EXAMPLES

    with tempfile.TemporaryDirectory() as room, sync_playwright() as p:
        folder = Path(shutil.copytree(EXAMPLES / "hatchback", Path(room) / "demo"))
        (folder / "logs").mkdir(exist_ok=True)
        big_log(folder / "logs" / "bench.csv")
        address, app, server = serve(folder)
        browser = p.chromium.launch(executable_path=chromium, args=FLAGS)
        try:
            return measured(browser, address, app.state.start.need())
        finally:
            browser.close()
            server.should_exit = True


def measured(browser: Any, address: str, desk: Any) -> list[Row]:
    """All figures of one browser."""
    from heatproof.doors.page.answers import margins_only

    desk.wait(300.0)
    solved = desk.wait(300.0).seconds
    for name in MEASURES:  # what the background would have tried by now
        other = desk.toggled(desk.state, name)
        desk.results.tried[other] = margins_only(
            desk.project_of(other), desk.variant_of(other), lambda _: None
        )
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    began = time.perf_counter()
    page.goto(address)
    page.wait_for_selector("h1[data-full=true]", timeout=60_000)
    rows = [("page: first load to margins drawn", 1e3 * (time.perf_counter() - began), "ms")]
    quick, full, kept = edits(page, desk)
    rows += [
        (f"edit to margins, quick answer, p50 of {len(quick)}", statistics.median(quick), "ms"),
        (f"edit to margins, quick answer, p95 of {len(quick)}", p95(quick), "ms"),
        (f"edit to full answer of all duties, new state, p50 of {len(full)}", statistics.median(full), "s"),
        (f"edit to full answer, state seen before, p50 of {len(kept)}", statistics.median(kept), "s"),
        ("all duties solved, first answer", solved, "s"),
    ]
    rows += frames(page, address, "release", "main#screen-release", "still", "floor: a page at rest")
    rows += frames(page, address, "test-day", ".u-over", "zoom", "zoom of 4 x 50 000 points")
    page.set_viewport_size({"width": 1440, "height": 900})
    return rows + frames(
        page, address, "bay", "[data-scene=ready]", "scrub", "scrub of the bay, demo's triangles"
    )


def edits(page: Any, desk: Any) -> tuple[list[float], list[float], list[float]]:
    """Times of toggles there and back: to the quick answer (ms), to the full one (s) of a state that has to be solved,
    and of one whose answer is still there."""
    quick: list[float] = []
    full: list[float] = []
    kept: list[float] = []
    for _ in range(5):
        for name in MEASURES:
            for _ in range(2):
                known = desk.toggled(desk.state, name) in desk.results.answers
                began = time.perf_counter()
                quick.append(page.evaluate(EDIT, name))
                desk.wait(60.0)
                (kept if known else full).append(time.perf_counter() - began)
                page.wait_for_selector("h1[data-full=true]", timeout=60_000)
    return quick, full, kept


def frames(page: Any, address: str, screen: str, ready: str, act: str, label: str) -> list[Row]:
    """Frame times of one screen under constant input, ms."""
    page.goto(f"{address}/#/{screen}")
    page.wait_for_selector(ready, timeout=60_000)
    page.wait_for_timeout(1500)
    times = page.evaluate(FRAMES, [act, 4])
    return [
        (f"{label}, frame p50 of {len(times)}", statistics.median(times), "ms"),
        (f"{label}, frame p95", p95(times), "ms"),
    ]
