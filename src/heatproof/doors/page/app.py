"""The HTTP interface: every action of the page, and a JSON twin of every screen. Documented at /docs."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse
from fastapi.staticfiles import StaticFiles

from heatproof._version import __version__
from heatproof.doors.page.apidocs import docs_page
from heatproof.doors.page.bodies import Begin
from heatproof.doors.page.desk import ChangedOnDisk, Stale
from heatproof.doors.page.guard import guard
from heatproof.doors.page.routes.edits import add_edits
from heatproof.doors.page.routes.plain import told
from heatproof.doors.page.routes.screens import add_screens
from heatproof.doors.page.routes.work import add_files, add_jobs
from heatproof.doors.page.start import Start
from heatproof.doors.page.units import finding_view
from heatproof.kit.findings import Finding, More, Refused, Where
from heatproof.shapes.errors import ShapeError

STATIC = Path(__file__).parent / "static"


def make_app(folder: Path | None = None, *, root: Path | None = None, background: bool = True) -> FastAPI:
    """The app for one project, or for none yet: then projects are made or opened below `root`. Refused."""
    start = Start(root or Path.cwd(), folder, background)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        yield
        start.close()

    app = FastAPI(
        title="heatproof",
        version=__version__,
        summary="Every action of the page over HTTP.",
        lifespan=life,
        docs_url=None,
        redoc_url=None,
    )
    app.state.start = start
    app.middleware("http")(guard)
    add_errors(app)
    add_start(app, start)
    add_screens(app, start)
    add_edits(app, start)
    add_jobs(app, start)
    add_files(app, start)
    add_docs(app)
    add_static(app)
    return app


def add_errors(app: FastAPI) -> None:
    """Every error as data that says what, where and what to do next."""

    @app.exception_handler(Refused)
    async def refused(request: Request, error: Refused) -> JSONResponse:
        found = [finding_view(f) for f in error.findings]
        return told({"what": error.findings[0].what if error.findings else "refused", "findings": found}, 422)

    @app.exception_handler(RequestValidationError)
    async def misread(request: Request, error: RequestValidationError) -> JSONResponse:
        """Without what was sent: it may be anything, also what no reply can hold."""
        detail = [{key: one[key] for key in ("loc", "msg", "type")} for one in error.errors()]
        what = "the request is not understood"
        return told({"what": what, "detail": detail, "next_step": "see /docs"}, 422)

    @app.exception_handler(ShapeError)
    async def misshapen(request: Request, error: ShapeError) -> JSONResponse:
        more: More = {"got": error.got, "allowed": error.allowed, "next_step": error.next_step}
        finding = Finding("error", error.what, Where(path=error.where), **more)
        return told({"what": error.what, "findings": [finding_view(finding)]}, 422)

    @app.exception_handler(Stale)
    async def stale(request: Request, error: Stale) -> JSONResponse:
        return JSONResponse(
            {
                "what": "another tab has changed this project; your last edit was not made and nothing else is lost",
                "next_step": "make the edit again",
                "kind": "stale",
            },
            409,
        )

    @app.exception_handler(ChangedOnDisk)
    async def changed(request: Request, error: ChangedOnDisk) -> JSONResponse:
        return JSONResponse(
            {
                "what": f"{', '.join(error.names)} changed on disk since it was read; nothing was written",
                "files": list(error.names),
                "next_step": "read it again, keep yours, or look at the difference",
                "kind": "changed on disk",
            },
            409,
        )

    @app.exception_handler(OSError)
    async def disk(request: Request, error: OSError) -> JSONResponse:
        return JSONResponse(
            {
                "what": error.strerror or str(error),
                "next_step": "check the disk and its permissions; nothing is half-written",
            },
            507,
        )


def add_start(app: FastAPI, start: Start) -> None:
    """First run."""

    @app.get("/api/start", tags=["start"])
    def examples() -> dict[str, Any]:
        """Whether a project is open, and the examples one may start from."""
        return start.view()

    @app.post("/api/start", tags=["start"])
    def begin(body: Begin) -> dict[str, Any]:
        """Makes a project from an example, or opens a folder, below the folder the program was started in."""
        start.begin(body.example, body.folder)
        return start.view()


def add_docs(app: FastAPI) -> None:
    """The interface as a page of this program's own: the usual ones fetch scripts from elsewhere."""

    @app.get("/docs", include_in_schema=False)
    def docs() -> HTMLResponse:
        return HTMLResponse(docs_page(app.openapi()))


def add_static(app: FastAPI) -> None:
    """The built page; a note on how to build it where it is missing."""
    if not (STATIC / "index.html").is_file():

        @app.get("/", include_in_schema=False)
        def missing() -> HTMLResponse:
            return HTMLResponse(
                "<p>The page is not built. Run <code>make web</code>; the interface: <a href='/docs'>/docs</a>.</p>"
            )

        return

    @app.get("/", include_in_schema=False)
    def index() -> FileResponse:
        return FileResponse(STATIC / "index.html", headers={"Cache-Control": "no-cache"})

    app.mount("/", StaticFiles(directory=STATIC), name="static")
