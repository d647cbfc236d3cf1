"""What changes the session. Nothing is written to the project but by save; names of variants are kept at once."""

from typing import Any

from fastapi import FastAPI
from fastapi.responses import JSONResponse

from heatproof.doors.page.bodies import Against, At, Edit, Kept, Save
from heatproof.doors.page.routes.plain import plain
from heatproof.doors.page.start import Start
from heatproof.doors.page.views import head, margins

EDIT: dict[str, Any] = {"tags": ["edits"]}


def add_edits(app: FastAPI, start: Start) -> None:
    """All of them."""
    add_steps(app, start)
    add_saving(app, start)
    add_variants(app, start)


def add_steps(app: FastAPI, start: Start) -> None:
    """One step on, back, or on again; the pace of the background."""
    desk = start.need

    @app.post("/api/edit", **EDIT)
    def edit_(body: Edit) -> JSONResponse:
        """One undoable step; the reply is the margins screen with the quick answer."""
        one, new = desk(), [(v.file, v.path, v.text) for v in body.values]
        with one.lock:
            said = one.edit(body.version, body.fit, body.leave, new)
            return plain({"said": said, **margins.margins_view(one)})

    @app.post("/api/undo", **EDIT)
    def undo(body: At) -> JSONResponse:
        """One step back."""
        desk().undo(body.version)
        return plain(margins.margins_view(desk()))

    @app.post("/api/redo", **EDIT)
    def redo(body: At) -> JSONResponse:
        """One step forward again."""
        desk().redo(body.version)
        return plain(margins.margins_view(desk()))

    @app.post("/api/background", **EDIT)
    def background(on: bool) -> dict[str, Any]:
        """Stops or goes on with what is computed in the background (measures tried, spreads)."""
        one = desk()
        with one.changed:
            one.skip_background = not on
            one.changed.notify_all()
        return head.head_view(one)


def add_saving(app: FastAPI, start: Start) -> None:
    """Writing the files, and files that somebody else wrote."""
    desk = start.need

    @app.post("/api/save", **EDIT)
    def save(body: Save) -> JSONResponse:
        """Writes the edits into the project's files, each whole or not at all."""
        written = desk().save(body.version, keep_mine=body.keep_mine)
        return plain({"written": written, **margins.margins_view(desk())})

    @app.post("/api/reread", **EDIT)
    def reread(body: At) -> JSONResponse:
        """Takes the files as they are on disk, with the edits that are not saved laid over them."""
        said = desk().reread(body.version)
        return plain({"said": said, **margins.margins_view(desk())})

    @app.get("/api/difference", **EDIT)
    def difference() -> dict[str, Any]:
        """Files that changed on disk since they were read, line by line."""
        return start.difference()


def add_variants(app: FastAPI, start: Start) -> None:
    """Variants kept by name."""
    desk = start.need

    @app.post("/api/variants", **EDIT)
    def keep(body: Kept) -> JSONResponse:
        """Keeps the present variant under a name, in `variants.yaml`, at once."""
        said = f"kept as {desk().keep(body.version, body.name)}, in variants.yaml"
        return plain({"said": [said], **margins.margins_view(desk())})

    @app.delete("/api/variants/{name}", **EDIT)
    def drop(name: str) -> dict[str, Any]:
        """Forgets a kept variant."""
        desk().drop(name)
        return head.head_view(desk())

    @app.post("/api/against", **EDIT)
    def against(body: Against) -> JSONResponse:
        """Compares with a kept variant from now on; an empty name is the variant as saved."""
        desk().compare_with(body.name)
        return plain(margins.margins_view(desk()))

    @app.post("/api/take", **EDIT)
    def take(body: Kept) -> JSONResponse:
        """Puts a kept variant on the desk, as one undoable step."""
        desk().take_up(body.version, body.name)
        return plain(margins.margins_view(desk()))
