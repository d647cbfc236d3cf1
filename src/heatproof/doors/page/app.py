"""The HTTP interface: every action of the page, and a JSON twin of every screen. Documented at /docs."""

import asyncio
import json
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import FastAPI, HTTPException, Query, Request, UploadFile
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, StreamingResponse
from fastapi.staticfiles import StaticFiles
from pydantic import BaseModel, Field

from heatproof import __version__
from heatproof.doors.console import finding_data
from heatproof.doors.page import logbook, papers, trials
from heatproof.doors.page.answers import Answer
from heatproof.doors.page.apidocs import docs_page
from heatproof.doors.page.desk import ChangedOnDisk, Desk, Stale
from heatproof.doors.page.guard import LARGEST_UPLOAD, guard
from heatproof.doors.page.start import Start
from heatproof.doors.page.views import compare, head, logs, margins, part, release, values
from heatproof.doors.page.views.air import air_view
from heatproof.doors.page.views.bay import bay_view, clearance_view, hot_spots_view
from heatproof.doors.page.views.liquids import liquids_view
from heatproof.kit.findings import Refused
from heatproof.shapes.ramp import colours, ramp_data

STATIC = Path(__file__).parent / "static"
LOG = logging.getLogger("heatproof.page")
Text = Annotated[str, Field(max_length=200)]
Seconds = Annotated[float | None, Query(ge=0.0, le=1e6, allow_inf_nan=False)]
Duty = Annotated[str | None, Query(max_length=100)]


class NewValue(BaseModel):
    """A value as it is written in a file, with its unit."""

    file: Text
    path: Text
    text: Text


class Edit(BaseModel):
    """One undoable step: measures to fit and to leave out, values to set. version: the one on screen."""

    version: int
    fit: list[Text] = Field(default=[], max_length=200)
    leave: list[Text] = Field(default=[], max_length=200)
    values: list[NewValue] = Field(default=[], max_length=200)


class At(BaseModel):
    """The version on screen."""

    version: int


class Kept(At):
    """A variant kept by name."""

    name: Text


class Against(BaseModel):
    """The kept variant to compare with; empty: the one as saved."""

    name: Text = ""


class Save(At):
    """keep_mine: lay the edits over files that changed on disk."""

    keep_mine: bool = False


class Work(BaseModel):
    """choose: by, keep and leave (measures fixed in or out). release (from the files as saved): rating, sheets,
    tolerance, units. against and correct: logs of the project, the day they were driven on; correct: paths of the
    values to move, else those that the logs tell most of."""

    kind: Literal["choose", "rating", "release", "against", "correct"]
    by: Literal["cost", "mass", "labour"] = "cost"
    keep: list[Text] = Field(default=[], max_length=200)
    leave: list[Text] = Field(default=[], max_length=200)
    rating: bool = True
    sheets: bool = False
    tolerance: bool = False
    units: Literal["metric", "us"] = "metric"
    logs: list[Text] = Field(default=[], max_length=8)
    paths: list[Text] = Field(default=[], max_length=60)
    ambient: Text = ""
    sun: Text = "0 W/m2"
    altitude: Text = "0 m"


class NamedChannel(BaseModel):
    """What a column of a log means; an empty text leaves it to the reader again."""

    column: Text
    quantity: Text = ""
    unit: Text = ""
    sensor: Text = ""
    place: Text = ""
    time_constant_s: Annotated[float, Field(ge=0.0, lt=3600.0)] | None = None
    ignore: bool = False


class Named(BaseModel):
    """Columns to name; what a row does not mention stays."""

    rows: list[NamedChannel] = Field(max_length=200)


class Begin(BaseModel):
    """A shipped example to start from (or empty: the folder is a project already) and a folder's bare name."""

    example: Text = ""
    folder: Text


def make_app(folder: Path | None = None, *, root: Path | None = None, background: bool = True) -> FastAPI:
    """The app for one project, or for none yet: then projects are made or opened below `root`. Refused."""
    start = Start(
        root or Path.cwd(), Desk(folder, background=background) if folder is not None else None, background
    )

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


def plain(data: dict[str, Any]) -> JSONResponse:
    """Data that is plain already: not looked through once more."""
    return JSONResponse(data)


def add_errors(app: FastAPI) -> None:
    """Every error as data that says what, where and what to do next."""

    @app.exception_handler(Refused)
    async def refused(request: Request, error: Refused) -> JSONResponse:
        found = [finding_data(f) for f in error.findings]
        return JSONResponse(
            {"what": error.findings[0].what if error.findings else "refused", "findings": found}, 422
        )

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


def add_screens(app: FastAPI, start: Start) -> None:
    """The JSON twin of every screen."""
    desk = start.need

    def answered() -> Answer:
        found = desk().base()
        if found is None:
            raise HTTPException(503, "not computed yet; ask again when /api/head says full")
        return found

    screen: dict[str, Any] = {"tags": ["screens"]}

    @app.get("/api/head", **screen)
    def head_() -> dict[str, Any]:
        """Project, verdict, figures, progress, cautions."""
        return head.head_view(desk())

    @app.get("/api/margins", **screen)
    def margins_() -> JSONResponse:
        """Measures, every part against its limit in every duty, gains of every measure."""
        return plain(margins.margins_view(desk()))

    @app.get("/api/parts/{key}", **screen)
    def part_(key: str, duty: Duty = None, short: bool = False) -> dict[str, Any]:
        """One part: ledger, heat paths, history, buys, spread. short: row and history alone."""
        view: Callable[..., dict[str, Any]] = part.short_view if short else part.part_view
        return view(desk(), answered(), key, duty)

    @app.get("/api/air", **screen)
    def air_(duty: Duty = None, time: Seconds = None) -> dict[str, Any]:
        """Air flows, temperatures and pressures at one instant of a duty."""
        return air_view(answered(), duty, time)

    @app.get("/api/liquids", **screen)
    def liquids_(duty: Duty = None, time: Seconds = None, after: Seconds = None) -> dict[str, Any]:
        """Coolant and oil at two instants: running, and after key-off."""
        return liquids_view(answered(), duty, time, after)

    @app.get("/api/bay", **screen)
    def bay_(duty: Duty = None) -> JSONResponse:
        """Shapes, and every part's temperature over a duty; beside it that of the variant compared with."""
        one = desk()
        return plain(bay_view(answered(), duty, one.answers.get(one.reference), one.against or "saved"))

    @app.get("/api/hotspots", **screen)
    def hotspots_(duty: Duty = None, time: Seconds = None) -> dict[str, Any]:
        """Places hotter than their part's mean, at one instant."""
        return hot_spots_view(answered(), duty, time)

    @app.get("/api/clearance", **screen)
    def clearance_(
        first: Annotated[str, Query(max_length=100)], second: Annotated[str, Query(max_length=100)]
    ) -> dict[str, Any]:
        """Shortest distance between two parts with shapes."""
        return clearance_view(answered(), first, second)

    @app.get("/api/compare", **screen)
    def compare_() -> dict[str, Any]:
        """Variants solved so far, side by side."""
        return compare.compare_view(desk())

    @app.get("/api/release", **screen)
    def release_() -> dict[str, Any]:
        """What a release would say, what stands in the way, the evidence, and papers made so far."""
        return release.release_view(desk())

    @app.get("/api/ramp", **screen)
    def ramp_() -> dict[str, Any]:
        """The heat ramp as 256 colours for each theme."""
        data = ramp_data()
        stops = [k / 255 for k in range(256)]
        return {
            theme: [
                f"#{r:02x}{g:02x}{b:02x}"
                for r, g, b in (colours(stops, data[theme], stops=data["stops"]) * 255 + 0.5)
                .astype(int)
                .tolist()
            ]
            for theme in ("light", "dark")
        }

    @app.get("/api/find", **screen)
    def find_(text: Annotated[str, Query(min_length=1, max_length=100)]) -> dict[str, Any]:
        """Parts, measures and values by words."""
        return values.find_view(desk(), text)

    @app.get("/api/values/{path}", **screen)
    def value_(path: str) -> dict[str, Any]:
        """One value with unit, range, meaning, spread and source."""
        return values.one_value(desk(), path)

    @app.get("/api/events", **screen)
    async def events(request: Request) -> StreamingResponse:
        """Server-sent events: one line whenever something changed."""
        return StreamingResponse(pulses(desk(), request), media_type="text/event-stream")


async def pulses(desk: Desk, request: Request) -> AsyncIterator[str]:
    """Version, pulse and progress whenever they change, at most 20 a second; a comment every 15 s."""
    loop, changed = asyncio.get_running_loop(), asyncio.Event()

    def heard() -> None:
        loop.call_soon_threadsafe(changed.set)

    desk.listeners.append(heard)
    try:
        while True:
            with desk.lock:
                p = desk.progress
                data = {
                    "version": desk.version,
                    "pulse": desk.pulse,
                    "full": desk.answer() is not None,
                    "answer": head.answer_name(desk),
                    "what": p.what,
                    "done": p.done,
                    "steps": p.steps,
                    "text": head.progress_text(desk, desk.answer()),
                }
            yield f"data: {json.dumps(data)}\n\n"
            changed.clear()
            try:
                await asyncio.wait_for(changed.wait(), 15.0)
                await asyncio.sleep(0.05)
            except TimeoutError:
                yield ": still here\n\n"
    finally:
        desk.listeners.remove(heard)


def add_edits(app: FastAPI, start: Start) -> None:
    """What changes the session. Nothing is written to the project but by save."""
    desk = start.need
    edit: dict[str, Any] = {"tags": ["edits"]}

    @app.post("/api/edit", **edit)
    def edit_(body: Edit) -> JSONResponse:
        """One undoable step; the reply is the margins screen with the quick answer."""
        one, new = desk(), [(v.file, v.path, v.text) for v in body.values]
        with one.lock:
            said = one.edit(body.version, body.fit, body.leave, new)
            return plain({"said": said, **margins.margins_view(one)})

    @app.post("/api/undo", **edit)
    def undo(body: At) -> JSONResponse:
        """One step back."""
        desk().undo(body.version)
        return plain(margins.margins_view(desk()))

    @app.post("/api/redo", **edit)
    def redo(body: At) -> JSONResponse:
        """One step forward again."""
        desk().redo(body.version)
        return plain(margins.margins_view(desk()))

    @app.post("/api/save", **edit)
    def save(body: Save) -> JSONResponse:
        """Writes the edits into the project's files, each whole or not at all."""
        written = desk().save(body.version, keep_mine=body.keep_mine)
        return plain({"written": written, **margins.margins_view(desk())})

    @app.post("/api/reread", **edit)
    def reread(body: At) -> JSONResponse:
        """Takes the files as they are on disk; edits not saved are dropped."""
        desk().reread(body.version)
        return plain(margins.margins_view(desk()))

    @app.get("/api/difference", **edit)
    def difference() -> dict[str, Any]:
        """Files that changed on disk since they were read, line by line."""
        return start.difference()

    @app.post("/api/variants", **edit)
    def keep(body: Kept) -> JSONResponse:
        """Keeps the present variant under a name, in `variants.yaml`, at once."""
        said = f"kept as {desk().keep(body.version, body.name)}, in variants.yaml"
        return plain({"said": [said], **margins.margins_view(desk())})

    @app.delete("/api/variants/{name}", **edit)
    def drop(name: str) -> dict[str, Any]:
        """Forgets a kept variant."""
        desk().drop(name)
        return head.head_view(desk())

    @app.post("/api/against", **edit)
    def against(body: Against) -> JSONResponse:
        """Compares with a kept variant from now on; an empty name is the variant as saved."""
        desk().compare_with(body.name)
        return plain(margins.margins_view(desk()))

    @app.post("/api/take", **edit)
    def take(body: Kept) -> JSONResponse:
        """Puts a kept variant on the desk, as one undoable step."""
        desk().take_up(body.version, body.name)
        return plain(margins.margins_view(desk()))

    @app.post("/api/background", **edit)
    def background(on: bool) -> dict[str, Any]:
        """Stops or goes on with what is computed in the background (measures tried, spreads)."""
        one = desk()
        with one.changed:
            one.skip_background = not on
            one.changed.notify_all()
        return head.head_view(one)


def add_jobs(app: FastAPI, start: Start) -> None:
    """Long work: asked for, looked at, stopped."""
    job: dict[str, Any] = {"tags": ["long work"]}

    @app.post("/api/jobs", **job)
    def begin_job(body: Work) -> dict[str, Any]:
        """Starts a search for the cheapest set that holds, a rating map, the papers, or work on logs."""
        options = body.model_dump(exclude={"kind"})
        if body.kind in ("against", "correct"):
            logbook.known_logs(start.need().folder, body.logs)
        return start.jobs.begin(start.need(), body.kind, options).view()

    @app.get("/api/jobs", **job)
    def jobs_() -> dict[str, Any]:
        """All of them, newest last, with progress and results."""
        return {"jobs": [one.view() for one in list(start.jobs.kept.values())]}

    @app.post("/api/jobs/{number}/keep", **job)
    def keep_job(number: int) -> dict[str, str]:
        """Keeps what a correction found as a new kit file beside the old one."""
        found = start.jobs.kept.get(number)
        if found is None or found.result is None or "_kit" not in found.result:
            raise HTTPException(404, "no such correction")
        return trials.keep_corrections(start.need().folder, start.need().disk, found.result["_kit"])

    @app.delete("/api/jobs/{number}", **job)
    def stop_job(number: int) -> dict[str, Any]:
        """Stops one; what it has found so far stays."""
        if number not in start.jobs.kept:
            raise HTTPException(404, "no such job")
        start.jobs.kept[number].stop = True
        return start.jobs.kept[number].view()


def add_files(app: FastAPI, start: Start) -> None:
    """Logs and meshes."""
    desk = start.need

    @app.get("/api/logs", tags=["files"])
    def logs_() -> dict[str, Any]:
        """Logs in the project."""
        return logs.logs_view(desk().folder)

    @app.post("/api/logs", tags=["files"])
    async def upload(file: UploadFile) -> dict[str, Any]:
        """Keeps a log in the project's `logs/`; never over one that is there."""
        logbook.log_path(desk().folder, file.filename or "")
        data = await file.read(LARGEST_UPLOAD + 1)
        return {"name": logbook.store_log(desk().folder, file.filename or "", data)}

    @app.get("/api/logs/{name}", tags=["files"])
    def log_(name: str) -> JSONResponse:
        """Channels and what they mean, events and figures of one log."""
        return plain(logs.log_view(desk().folder, name, desk().base()))

    @app.get("/api/logs/{name}/traces", tags=["files"])
    def traces_(name: str, column: Annotated[list[str], Query(max_length=logs.MOST_TRACES)]) -> JSONResponse:
        """Cleaned values of some channels over time."""
        return plain(logs.traces_view(desk().folder, name, column))

    @app.post("/api/logs/{name}/channels", tags=["files"])
    def channels_(name: str, body: Named) -> JSONResponse:
        """Says what columns mean: written beside the log, which stays as it is."""
        rows = [row.model_dump(exclude_unset=True) for row in body.rows]
        logbook.name_channels(desk().folder, name, rows)
        return plain(logs.log_view(desk().folder, name, desk().base()))

    @app.get("/api/papers/{name}", tags=["files"])
    def paper_(name: str) -> FileResponse:
        """One paper of a release: PDF, HTML or record."""
        path, kind = papers.paper_path(desk().folder, name)
        return FileResponse(path, media_type=kind, filename=name)

    @app.post("/api/meshes", tags=["files"])
    async def mesh(file: UploadFile) -> dict[str, Any]:
        """Keeps an STL or GLB file in the project's `parts/`; never over one that is there."""
        data = await file.read(LARGEST_UPLOAD + 1)
        return start.store_mesh(file.filename or "", data)


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
