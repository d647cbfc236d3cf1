"""Long work, logs, papers and meshes."""

from typing import Annotated, Any

from fastapi import FastAPI, HTTPException, Query, UploadFile
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse

from heatproof.doors.page import logbook, papers, trials
from heatproof.doors.page.bodies import Named, Work
from heatproof.doors.page.guard import LARGEST_UPLOAD
from heatproof.doors.page.planning import missing_spreads
from heatproof.doors.page.routes.plain import plain
from heatproof.doors.page.start import Start
from heatproof.doors.page.units import reader
from heatproof.doors.page.views import logs
from heatproof.doors.page.views.plan import asking_view


def add_jobs(app: FastAPI, start: Start) -> None:
    """Long work: asked for, looked at, stopped."""
    job: dict[str, Any] = {"tags": ["long work"]}

    @app.post("/api/jobs", **job)
    def begin_job(body: Work) -> dict[str, Any]:
        """Starts a search for the cheapest set that holds, a rating map, the papers, work on logs, or a plan of tests."""
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

    @app.get("/api/plan", **job)
    def plan_() -> dict[str, Any]:
        """What a plan of tests may be asked for: duties, places for sensors; and why not yet."""
        desk = start.need()
        return asking_view(
            desk.base(), missing_spreads(desk), stopped=desk.background and desk.skip_background
        )

    @app.get("/api/jobs/{number}/card", **job)
    def card(number: int) -> HTMLResponse:
        """The test card of a plan, to print."""
        found = start.jobs.kept.get(number)
        if found is None or found.result is None or "_plan" not in found.result:
            raise HTTPException(404, "no such plan")
        kept = {"Content-Disposition": 'attachment; filename="test-card.html"'}
        return HTMLResponse(found.result["_plan"].card(reader()), headers=kept)

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
