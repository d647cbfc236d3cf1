"""Replies that are plain data already."""

import json
from typing import Any

from fastapi.responses import JSONResponse


def plain(data: dict[str, Any]) -> JSONResponse:
    """Data that is plain already: not looked through once more."""
    return JSONResponse(data)


def told(data: dict[str, Any], status: int) -> JSONResponse:
    """A refusal; what it quotes may be anything, also half a character, which no reply can hold."""
    text = json.dumps(data, ensure_ascii=False).encode("utf-8", "replace")
    return JSONResponse(json.loads(text), status)
