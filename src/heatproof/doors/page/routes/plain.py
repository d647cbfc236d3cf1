"""Replies that are plain data already."""

from typing import Any

from fastapi.responses import JSONResponse


def plain(data: dict[str, Any]) -> JSONResponse:
    """Data that is plain already: not looked through once more."""
    return JSONResponse(data)
