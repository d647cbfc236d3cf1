"""Plain data under a checksum of its own text, so that a damaged file is known as one, whatever was damaged in it."""

import hashlib
import json
from typing import Any

HEAD, DIGITS, MIDDLE, TAIL = b'{"sha256": "', 64, b'", "kept": ', b"}"


def seal(data: Any, *, allow_nan: bool = True) -> bytes:
    """JSON: `{"sha256": …, "kept": data}`."""
    body = json.dumps(data, allow_nan=allow_nan).encode()
    return HEAD + hashlib.sha256(body).hexdigest().encode() + MIDDLE + body + TAIL


def unseal(raw: bytes) -> Any:
    """The data again. ValueError where a byte of it is not as it was written."""
    start = len(HEAD) + DIGITS + len(MIDDLE)
    body = raw[start : -len(TAIL)]
    told = raw[len(HEAD) : len(HEAD) + DIGITS]
    if raw[:start] != HEAD + told + MIDDLE or raw[-len(TAIL) :] != TAIL:
        raise ValueError("not a sealed file")
    if hashlib.sha256(body).hexdigest().encode() != told:
        raise ValueError("not as it was written")
    return json.loads(body)
