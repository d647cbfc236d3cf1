"""Reference pages made from the code: every verb of the command line, every public function, the signed files.

`python -m heatproof.doors.reference OUTDIR` writes `command-line.md`, `signed-files.md`, `python.md` and a page a room.
"""

import inspect
import pkgutil
import re
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any

import typer

import heatproof
from heatproof._files import write_whole
from heatproof.kit.records.base import Record
from heatproof.kit.schema import _section  # the one way a record becomes a table
from heatproof.media.solids import limits
from heatproof.report.signed_files import DEVIATIONS, TESTED, Deviation, Tested

MADE = "Made from the code; do not edit.\n"
API_ROOMS = (
    "units",
    "media",
    "laws",
    "kit",
    "shapes",
    "assembly",
    "verdict",
    "study",
    "logs",
    "report",
    "session",
)


def pages() -> dict[str, str]:
    """File name → markdown."""
    rooms = {f"python-{room}.md": room_page(room) for room in API_ROOMS}
    return {
        "command-line.md": command_line(),
        "signed-files.md": signed_files(),
        "limits.md": limits_page(),
        "python.md": python(),
        **rooms,
    }


def page_names() -> set[str]:
    """File names of all pages, without making them."""
    return {
        "command-line.md",
        "signed-files.md",
        "limits.md",
        "python.md",
        *(f"python-{room}.md" for room in API_ROOMS),
    }


def limits_page() -> str:
    """Ids of temperature limits that a project may name, with what they hold and where they come from."""

    def span(pair: tuple[float, float] | None) -> str:
        if pair is None:
            return ""
        low, high = (f"{value - 273.15:.0f}".replace("-", "−") for value in pair)
        return low if low == high else f"{low} to {high}"

    rows = [
        (
            f"`{row.id}`",
            f"{row.item}, {row.grade}" if row.grade else row.item,
            span(row.continuous),
            f"{span(row.short_term)} {f'({row.short_duration})' if row.short_duration else ''}".strip(),
            row.kind,
            row.source,
            row.note,
        )
        for row in limits().values()
    ]
    heads = ("Id", "Of", "Continuous, °C", "Short, °C", "Kind", "Source", "Note")
    lines = [heads, ("---",) * len(heads), *rows]
    table = "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |" for line in lines)
    return (
        f"# Limit ids\n\n{MADE}\nA limit in a project may name its source by one of these ids. Boiling points and thresholds are "
        "not service limits: read kind and note. The standard, or the maker of the part, outranks a row.\n\n"
        + table
        + "\n"
    )


def write_pages(folder: Path) -> list[Path]:
    """Writes the pages; returns their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in pages().items():
        write_whole(folder / name, text.encode())
        paths.append(folder / name)
    return paths


# --- command line -----------------------------------------------------------------------------------------
def command_line() -> str:
    """Verbs in the order of help, with arguments and options."""
    from heatproof.doors.cli import HELP, make_app

    group: Any = typer.main.get_command(make_app())
    verbs = "\n".join(verb_section(name, command) for name, command in group.commands.items())
    status = (
        "Exit status: 0 holds (or done), 1 thin or over (or not released, does not hold any more), 2 input refused, "
        "3 could not be solved, 70 a fault in heatproof, 74 the answer could not be written or was cut off, 130 stopped."
    )
    return f"# Command line\n\n{MADE}\n{HELP}\n\n    heatproof VERB PROJECT …\n\n{status}\n\n{verbs}"


def verb_section(name: str, command: Any) -> str:
    """One verb."""
    arguments = [p for p in command.params if p.param_type_name == "argument"]
    options = [p for p in command.params if p.param_type_name == "option" and p.name != "help"]
    call = " ".join(["heatproof", name, *(p.metavar or p.name.upper() for p in arguments), "[OPTIONS]"])
    rows = [parameter_row(p) for p in [*arguments, *options]]
    table = "| | meaning | if left out |\n|---|---|---|\n" + "\n".join(rows)
    about = " ".join((command.help or "").split())
    return f"## {name}\n\n{about}\n\n    {call}\n\n{table}\n"


def parameter_row(parameter: Any) -> str:
    """Names, help, default."""
    if parameter.param_type_name == "argument":
        names = f"`{parameter.metavar or parameter.name.upper()}`"
    else:
        taken = "" if parameter.is_flag else " …"
        names = ", ".join(f"`{o}{taken}`" for o in [*parameter.opts, *parameter.secondary_opts])
    default = "" if parameter.default in (None, False, ()) else f"`{parameter.default}`"
    if callable(parameter.default) or "Sentinel" in default or "UNSET" in default:
        default = ""
    meaning = " ".join((parameter.help or "").split())
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in (names, meaning, default)) + " |"


# --- Python -----------------------------------------------------------------------------------------------
def python() -> str:
    """What there is, and where."""
    short = ", ".join(f"`{name}`" for name in sorted(heatproof._SHORT_WAYS))
    rooms = "\n".join(f"- [heatproof.{room}](python-{room}.md)" for room in API_ROOMS)
    return (
        f"# Python\n\n{MADE}\nFrom the package itself: {short}. Tables, labelled arrays and plots: `heatproof.session`. "
        "Everything else by its full name, room by room. SI floats inside: K, Pa absolute, kg/s, m, W.\n\n"
        f"{rooms}\n\nRecords of the project files are in the pages on [car.yaml](../car.md), [kit.yaml](../kit.md) and "
        "[duties](../duty.md).\n"
    )


def room_page(room: str) -> str:
    """Public functions and classes of a room, module by module."""
    sections = [module_section(module) for module in modules_of(room)]
    return f"# heatproof.{room}\n\n{MADE}\n" + "\n".join(section for section in sections if section)


def modules_of(room: str) -> Iterator[ModuleType]:
    """Modules of a room, by name."""
    top = import_module(f"heatproof.{room}")
    yield top
    for found in sorted(pkgutil.walk_packages(top.__path__, f"heatproof.{room}."), key=lambda m: m.name):
        yield import_module(found.name)


def module_section(module: ModuleType) -> str:
    """Module docstring, then each public thing it defines."""
    things = [(name, thing) for name, thing in vars(module).items() if is_public(name, thing, module)]
    if not things:
        return ""
    body = "\n".join(thing_section(name, thing) for name, thing in things)
    return f"## {module.__name__}\n\n{fenced(inspect.getdoc(module) or '')}\n{body}"


def is_public(name: str, thing: Any, module: ModuleType) -> bool:
    """A function or class defined here, compiled ones too; records have pages of their own."""
    plain = getattr(thing, "py_func", thing)
    record = inspect.isclass(plain) and issubclass(plain, Record)
    callable_ = inspect.isfunction(plain) or (inspect.isclass(plain) and not record)
    return callable_ and not name.startswith("_") and getattr(plain, "__module__", "") == module.__name__


def thing_section(name: str, thing: Any) -> str:
    """Signature and docstring, as they stand."""
    plain = getattr(thing, "py_func", thing)
    try:
        signature = f"{name}{inspect.signature(plain)}"
    except (ValueError, TypeError):
        signature = name
    signature = re.sub(r" at 0x[0-9a-f]+", "", signature)
    text = f"{signature}\n\n{inspect.getdoc(plain) or ''}".rstrip()
    return f"### {name}\n\n{fenced(text)}"


def fenced(text: str) -> str:
    """A block shown as it is written."""
    return f"````text\n{text.strip()}\n````\n" if text.strip() else ""


# --- signed files -----------------------------------------------------------------------------------------
def signed_files() -> str:
    """`deviations.yaml` and `tested.yaml`, from their declarations."""
    deviation, tested = _section(Deviation), _section(Tested)
    return (
        f"# Signed and tested\n\n{MADE}\nBoth files are optional and lie beside `car.yaml`.\n\n"
        f"`{DEVIATIONS}` holds `format: heatproof deviations 1` and a list `deviations`; `{TESTED}` holds "
        f"`format: heatproof tested 1` and a list `tests`.\n\n{deviation}\n{tested}"
    )


if __name__ == "__main__":
    write_pages(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/reference/made"))
