"""The demo served on a free port of this machine, and one headless Chromium for all tests."""

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("fastapi")
uvicorn = pytest.importorskip("uvicorn")
playwright = pytest.importorskip("playwright.sync_api")

FLAGS = [
    "--no-sandbox",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
]
NASTY = "<img src=x onerror=window.hit=1><script>window.hit=1</script>"


class Served:
    """A running page: its address and its desk."""

    def __init__(self, folder: Path | None, root: Path, port: int = 0) -> None:
        from heatproof.doors.page.app import make_app

        self.folder = folder
        self.app = make_app(folder, root=root, background=False)
        listener = socket.socket()
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(("127.0.0.1", port))
        self.address = f"http://127.0.0.1:{listener.getsockname()[1]}"
        self.server = uvicorn.Server(
            uvicorn.Config(self.app, log_level="critical", timeout_graceful_shutdown=1)
        )
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [listener]}, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.02)

    @property
    def desk(self):  # type: ignore[no-untyped-def]
        """The desk of the open project."""
        return self.app.state.start.need()

    def stop(self) -> None:
        """Ends the server."""
        self.server.should_exit = True
        self.thread.join(timeout=10.0)


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The demo, solved, with one name that would be script if a page took it for one."""
    from heatproof.kit.examples import EXAMPLES

    root = tmp_path_factory.mktemp("browser")
    folder = Path(
        shutil.copytree(EXAMPLES / "hatchback", root / "demo", ignore=shutil.ignore_patterns("results"))
    )
    car = folder / "car.yaml"
    text = car.read_text(encoding="utf-8")
    car.write_text(text.replace("title: Loom at bulkhead", f'title: "{NASTY}"'), encoding="utf-8")
    made = Served(folder, root)
    assert made.desk.wait(180.0) is not None
    yield made
    made.stop()


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """Debian's Chromium, headless."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        pytest.skip("no chromium on this machine: apt-get install chromium")
    with playwright.sync_playwright() as p:
        made = p.chromium.launch(executable_path=path, args=FLAGS)
        yield made
        made.close()
