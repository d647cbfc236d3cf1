"""`heatproof serve`: the local page."""

from pathlib import Path
from typing import Annotated

import typer

HOST, USUAL_PORT = "127.0.0.1", 8765


def register(app: typer.Typer) -> None:
    """Adds the verb."""

    @app.command()
    def serve(
        project: Annotated[
            Path | None,
            typer.Argument(metavar="[PROJECT]", help="Project folder; none: start from an example."),
        ] = None,
        port: Annotated[
            int, typer.Option("--port", min=0, max=65535, help="Port on this machine; 0: any free one.")
        ] = USUAL_PORT,
        background: Annotated[
            bool,
            typer.Option(
                "--background/--no-background", help="Try measures and work out spreads while idle."
            ),
        ] = True,
    ) -> None:
        """Open the page: see the margins move. Answers to this machine only."""
        try:
            import uvicorn

            from heatproof.doors.page.app import make_app
        except ImportError as error:
            raise needed(error) from error
        made = make_app(project, background=background)
        server = uvicorn.Server(uvicorn.Config(made, log_level="warning", timeout_graceful_shutdown=2))
        listener = bound(port)
        typer.echo(f"heatproof page: http://{HOST}:{listener.getsockname()[1]}/ (end with Ctrl-C)")
        server.run(sockets=[listener])


def bound(port: int):  # type: ignore[no-untyped-def]
    """A socket on the loopback address. Refused where the port is taken."""
    import socket

    from heatproof.kit.findings import Finding, Refused

    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HOST, port))
    except OSError as error:
        listener.close()
        raise Refused(
            [
                Finding(
                    "error",
                    f"port {port} cannot be used: {error.strerror}",
                    next_step="name another with --port, or 0 for any",
                )
            ]
        ) from error
    listener.listen(128)
    return listener


def needed(error: ImportError):  # type: ignore[no-untyped-def]
    """What to install."""
    from heatproof.kit.findings import Finding, Refused

    return Refused(
        [Finding("error", f"the page needs {error.name}", next_step="pip install 'heatproof[page]'")]
    )
