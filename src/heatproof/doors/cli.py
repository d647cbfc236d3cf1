"""The command line: `heatproof VERB PROJECT …`.

Exit status: 0 holds, 1 thin or over, 2 input refused, 3 could not be solved, 70 a fault of the program, 74 the answer
could not be written, 130 stopped.
"""

import os
import sys
from contextlib import suppress
from importlib import import_module
from typing import Any, TextIO

import typer

from heatproof._visible import visible
from heatproof.doors.console import Unwritten, answer_written, print_findings, print_json
from heatproof.doors.safe_text import HANDLER
from heatproof.doors.verbs import VERBS

HOLDS, NOT_HOLDING, REFUSED, NOT_SOLVED, FAULT, UNWRITTEN, STOPPED = 0, 1, 2, 3, 70, 74, 130
HELP = "Does anything get too hot, in the hardest use the kit is sold for, and how sure are we?"


def version_wanted(wanted: bool) -> None:
    """Prints the version and ends."""
    if wanted:
        from heatproof._version import __version__

        with answer_written():
            typer.echo(f"heatproof {__version__}")
        raise typer.Exit()


def make_app() -> typer.Typer:
    """The app with every verb."""
    app = typer.Typer(
        help=HELP,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    @app.callback()
    def top(
        version: bool = typer.Option(
            False, "--version", help="Print the version.", is_eager=True, callback=version_wanted
        ),
    ) -> None:
        """Does anything get too hot, in the hardest use the kit is sold for, and how sure are we?"""

    for verb in VERBS:
        import_module(f"heatproof.doors.verbs.{verb}").register(app)
    return app


def run(arguments: list[str]) -> int:
    """Runs one command and returns its exit status."""
    as_json = "--json" in arguments
    try:
        try:
            status = make_app()(arguments, standalone_mode=False, prog_name="heatproof")
            return int(status or 0)
        except typer.Exit as ended:
            return int(ended.exit_code)
        except (BrokenPipeError, Unwritten):
            raise
        except Exception as error:
            return refused_words(error, as_json) if is_usage(error) else told(error, as_json)
    except (KeyboardInterrupt, typer.Abort):
        complain("Stopped.")
        return STOPPED
    except BrokenPipeError:
        # What reads our output has gone; nothing is left to say, not even at exit. Nor does anything hold: nobody was told.
        mute(sys.stdout)
        return UNWRITTEN
    except Unwritten as error:
        return unwritten(str(error))


def complain(text: str) -> None:
    """Lines on standard error, as far as it takes any."""
    with suppress(OSError):
        print(visible(text, breaks=True), file=sys.stderr, flush=True)


def unwritten(why: str) -> int:
    """Says on standard error that the answer could not be written."""
    mute(sys.stdout)
    complain(
        f"error: the answer could not be written: {why}\n"
        "  next step: make room where standard output goes, or send it elsewhere"
    )
    return UNWRITTEN


def mute(stream: TextIO) -> None:
    """Sends what is still to come nowhere, so that leaving does not fail on it."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def is_usage(error: Exception) -> bool:
    """Whether the command line itself is at fault. By name: some versions of typer carry their own click."""
    return any(kind.__name__ == "ClickException" for kind in type(error).__mro__)


def refused_words(error: Any, as_json: bool) -> int:
    """A command line that is not understood; help where nothing was asked for."""
    text = str(error.format_message())
    if type(error).__name__ == "NoArgsIsHelpError":
        print(text)
        return REFUSED
    if as_json:
        print_json({"error": "refused", "message": text, "findings": []})
    complain(f"error: {text}\n  next step: heatproof --help")
    return REFUSED


def told(error: Exception, as_json: bool) -> int:
    """Says what went wrong in words and returns the exit status."""
    from heatproof.kit.findings import Finding, Refused

    if isinstance(error, Refused):
        if as_json:
            print_json({"error": "refused", "message": str(error), "findings": error.findings})
        print_findings(error.findings, stderr=True)
        return REFUSED
    if type(error).__name__ == "DutyNotSolved":
        return told_unsolved(error, as_json)
    if isinstance(error, OSError):
        what = f"{error.strerror or error}" + (f": {error.filename}" if error.filename else "")
        return told(
            Refused([Finding("error", what, next_step="check the path and its permissions")]), as_json
        )
    if os.environ.get("HEATPROOF_TRACEBACK"):
        raise error
    place = f"{type(error).__name__}: {error}"
    if as_json:
        print_json({"error": "fault", "message": place, "findings": []})
    complain(
        f"error: a fault in heatproof, not in your files: {place}\n"
        "  next step: run again with HEATPROOF_TRACEBACK=1 set and report what it prints"
    )
    return FAULT


def told_unsolved(error: Any, as_json: bool) -> int:
    """A duty that could not be solved: which, when, where."""
    if as_json:
        unsolved = {"duty": error.duty, "name": error.name, "time_s": error.time, "what": error.what}
        unsolved["next_step"] = error.next_step
        print_json({"error": "not solved", "message": str(error), "findings": [], "not_solved": unsolved})
    complain(
        f"error: {error.name} could not be solved\n  duty: {error.duty}\n  at: {error.time:.0f} s\n"
        f"  what: {error.what}\n  next step: {error.next_step}"
    )
    return NOT_SOLVED


def main() -> None:
    """Entry point."""
    open_streams()
    status = run(sys.argv[1:])
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        mute(sys.stdout)
        status = UNWRITTEN
    except OSError as error:
        status = unwritten(error.strerror or str(error))
    sys.exit(status)


def open_streams() -> None:
    """Streams that take any text: one closed by the caller goes nowhere, what an encoding has not is said plainly."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
        stream = getattr(sys, name)
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=HANDLER)


if __name__ == "__main__":
    main()
