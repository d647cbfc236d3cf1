"""The JSON twin of every screen."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import FastAPI, HTTPException, Query, Request
from fastapi.responses import JSONResponse, StreamingResponse

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.bodies import Duty, Seconds
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.pulses import pulses
from heatproof.doors.page.routes.plain import plain
from heatproof.doors.page.start import Start
from heatproof.doors.page.views import compare, head, margins, part, release, values
from heatproof.doors.page.views.air import air_view
from heatproof.doors.page.views.bay import bay_view, clearance_view, hot_spots_view
from heatproof.doors.page.views.liquids import liquids_view
from heatproof.shapes.pictures import colours, ramp_data

SCREEN: dict[str, Any] = {"tags": ["screens"]}


def add_screens(app: FastAPI, start: Start) -> None:
    """All of them."""
    add_verdict(app, start)
    add_flows(app, start)
    add_bay(app, start)
    add_sets(app, start)
    add_values(app, start)


def answered(desk: Desk) -> Answer:
    """The newest answer; 503 before there is one."""
    found = desk.base()
    if found is None:
        raise HTTPException(503, "not computed yet; ask again when /api/head says full")
    return found


def add_verdict(app: FastAPI, start: Start) -> None:
    """The verdict, every margin, one part, and what tells that they have changed."""
    desk = start.need

    @app.get("/api/head", **SCREEN)
    def head_() -> dict[str, Any]:
        """Project, verdict, figures, progress, cautions."""
        return head.head_view(desk())

    @app.get("/api/margins", **SCREEN)
    def margins_() -> JSONResponse:
        """Measures, every part against its limit in every duty, gains of every measure."""
        return plain(margins.margins_view(desk()))

    @app.get("/api/parts/{key}", **SCREEN)
    def part_(key: str, duty: Duty = None, short: bool = False) -> dict[str, Any]:
        """One part: ledger, heat paths, history, buys, spread. short: row and history alone."""
        view: Callable[..., dict[str, Any]] = part.short_view if short else part.part_view
        return view(desk(), answered(desk()), key, duty)

    @app.get("/api/events", **SCREEN)
    async def events(request: Request) -> StreamingResponse:
        """Server-sent events: one line whenever something changed."""
        return StreamingResponse(pulses(desk(), request), media_type="text/event-stream")


def add_flows(app: FastAPI, start: Start) -> None:
    """Air, water and oil."""
    desk = start.need

    @app.get("/api/air", **SCREEN)
    def air_(duty: Duty = None, time: Seconds = None) -> dict[str, Any]:
        """Air flows, temperatures and pressures at one instant of a duty."""
        return air_view(answered(desk()), duty, time)

    @app.get("/api/liquids", **SCREEN)
    def liquids_(duty: Duty = None, time: Seconds = None, after: Seconds = None) -> dict[str, Any]:
        """Coolant and oil at two instants: running, and after key-off."""
        return liquids_view(answered(desk()), duty, time, after)


def add_bay(app: FastAPI, start: Start) -> None:
    """The bay in space and the colours of heat."""
    desk = start.need

    @app.get("/api/bay", **SCREEN)
    def bay_(duty: Duty = None) -> JSONResponse:
        """Shapes, and every part's temperature over a duty; beside it that of the variant compared with."""
        one = desk()
        return plain(
            bay_view(answered(desk()), duty, one.results.answers.get(one.reference), one.against or "saved")
        )

    @app.get("/api/hotspots", **SCREEN)
    def hotspots_(duty: Duty = None, time: Seconds = None) -> dict[str, Any]:
        """Places hotter than their part's mean, at one instant."""
        return hot_spots_view(answered(desk()), duty, time)

    @app.get("/api/clearance", **SCREEN)
    def clearance_(
        first: Annotated[str, Query(max_length=100)], second: Annotated[str, Query(max_length=100)]
    ) -> dict[str, Any]:
        """Shortest distance between two parts with shapes."""
        return clearance_view(answered(desk()), first, second)

    @app.get("/api/ramp", **SCREEN)
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


def add_sets(app: FastAPI, start: Start) -> None:
    """Variants side by side, and what a release would say."""
    desk = start.need

    @app.get("/api/compare", **SCREEN)
    def compare_() -> dict[str, Any]:
        """Variants solved so far, side by side."""
        return compare.compare_view(desk())

    @app.get("/api/release", **SCREEN)
    def release_() -> dict[str, Any]:
        """What a release would say, what stands in the way, the evidence, and papers made so far."""
        return release.release_view(desk())


def add_values(app: FastAPI, start: Start) -> None:
    """Finding, and one value."""
    desk = start.need

    @app.get("/api/find", **SCREEN)
    def find_(text: Annotated[str, Query(min_length=1, max_length=100)]) -> dict[str, Any]:
        """Parts, measures and values by words."""
        return values.find_view(desk(), text)

    @app.get("/api/values/{path}", **SCREEN)
    def value_(path: str) -> dict[str, Any]:
        """One value with unit, range, meaning, spread and source."""
        return values.one_value(desk(), path)
