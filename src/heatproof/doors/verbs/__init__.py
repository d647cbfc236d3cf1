"""The verbs of the command line, one file each.

To add a verb: write `doors/verbs/NAME.py` with a function `register(app)` that adds one command to the typer
app it is given, and add NAME here; help lists verbs in this order. A verb's file is imported for every
`heatproof --help`, so it imports only typer, `heatproof.doors.console` and `heatproof.doors.options` at the top;
rooms that compute are imported inside the command. Options that another verb has as well come from
`heatproof.doors.options`: `selection: Selection`, with `@with_blocks` under `@app.command()`, gives --kit, --variant, --fit
and --leave, and `selection.opened(project)` reads what they name. Errors are raised, never printed: `doors.cli.main` turns `Refused` into exit
status 2 and `DutyNotSolved` into 3, as text or (with --json) as an object. A command ends with
`raise typer.Exit(status)` where its status is not 0.
"""

VERBS: tuple[str, ...] = (
    "new",
    "part",
    "check",
    "explain",
    "compare",
    "choose",
    "tolerance",
    "rating",
    "size",
    "sweep",
    "bay",
    "plan",
    "log",
    "correct",
    "memory",
    "release",
    "sheets",
    "schema",
    "serve",
)
