"""Who may ask: this machine only, from this page only, and nothing too big."""

from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from fastapi import Request, Response
from fastapi.responses import JSONResponse

from heatproof.doors.page.units import choose_units

LOOPBACK = frozenset({"127.0.0.1", "localhost", "[::1]"})
LARGEST_BODY = 1_000_000  # bytes, anything but an upload
LARGEST_UPLOAD = 200_000_000
UPLOADS = ("/api/logs", "/api/meshes")
READS = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
Next = Callable[[Request], Awaitable[Response]]


def host_of(text: str) -> str:
    """Host of `host:port`, lower case; an IPv6 address keeps its brackets."""
    text = text.strip().lower()
    return text[: text.rfind("]") + 1] if text.startswith("[") else text.split(":", 1)[0]


def refusal(request: Request) -> str:
    """Why a request is refused; empty where it may pass.

    Host: a foreign name that resolves to this machine (DNS rebinding). Origin: another site's page that posts here.
    """
    if host_of(request.headers.get("host", "")) not in LOOPBACK:
        return "this page answers only to 127.0.0.1 and localhost"
    origin = request.headers.get("origin")
    if origin is not None and urlsplit(origin).netloc.lower() != request.headers.get("host", "").lower():
        return "the request comes from another site"
    fetched_by = request.headers.get("sec-fetch-site", "same-origin")
    if request.method not in READS and fetched_by not in ("same-origin", "none"):
        return "the request comes from another site"
    return ""


def too_big(request: Request) -> int:
    """Largest body allowed where the request's is larger or of unknown length; 0 where it is fine."""
    if request.method in READS:
        return 0
    largest = LARGEST_UPLOAD if request.url.path in UPLOADS else LARGEST_BODY
    length = request.headers.get("content-length", "0")
    chunked = "transfer-encoding" in request.headers
    return largest if chunked or not length.isdigit() or int(length) > largest else 0


async def guard(request: Request, call_next: Next) -> Response:
    """The checks before, the headers after."""
    if why := refusal(request):
        response: Response = JSONResponse(
            {"what": why, "next_step": "open the address that serve printed"}, 403
        )
    elif largest := too_big(request):
        what = f"the request is too big or does not say how big it is; at most {largest} bytes"
        response = JSONResponse({"what": what, "next_step": "send less"}, 413)
    else:
        choose_units(request.query_params.get("units"))
        response = await call_next(request)
    response.headers.update(HEADERS)
    if request.url.path.startswith("/api"):
        response.headers["Cache-Control"] = "no-store"
    return response
