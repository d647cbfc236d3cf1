"""The blank sheet: every question with unit, range, default and where its answer is found, as a file to fill in."""

from heatproof.kit.fields import Field, default_words, range_words, type_words
from heatproof.sheet.catalogue import catalogue
from heatproof.sheet.questions import USES, Question, questions

WIDTH = 38


def blank_sheet() -> str:
    """A YAML file: required answers stand empty, the others are commented out with their default."""
    lines = [
        "# A sheet of heatproof: answers about your car and kit, from which `heatproof new DIR --sheet` makes a project.",
        "# Write a value with its unit after each colon. A line that begins with # may stay as it is: a class figure is",
        "# taken, with its wide spread. Units are free: 1.8 L, 110 cu in.",
        "format: heatproof sheet 1",
    ]
    section = ""
    for question in questions():
        head, _, _ = question.path.rpartition(".")
        if head != section:
            lines += ["", f"{head}:"] if head else [""]
            section = head
        lines.append(line_of(question, "  " if head else ""))
        if question.path == "layout":
            lines += ["", "# --- the car as sold, then the kit ---"]
    return "\n".join(lines + near_lines()) + "\n"


def line_of(question: Question, indent: str) -> str:
    """One question as a line of the file."""
    field, key = question.field, question.path.rpartition(".")[2]
    says = f"# {question.asked.words} {question.asked.find}; {allowed(field)}"
    if field.required:
        return f"{indent}{key + ':':<{WIDTH - len(indent)}} {says}"
    return f"{indent}# {key + ':':<{WIDTH - len(indent) - 2}} {says}; else {default_of(field)}"


def allowed(field: Field) -> str:
    """What may be answered, in words."""
    if field.shape == "number":
        return range_words(field.quantity)
    if field.shape == "choice":
        return "one of " + ", ".join(field.choices)
    if field.key == "uses":
        return "a list of " + ", ".join(USES)
    return type_words(field)


def default_of(field: Field) -> str:
    """What is taken where nothing is answered, in words."""
    return "a class figure" if field.default is None else default_words(field)


def near_lines() -> list[str]:
    """The part of the sheet with parts near something hot, and the kinds there are."""
    kinds = list(catalogue())
    rows = [f"#   {', '.join(kinds[k : k + 8])}" for k in range(0, len(kinds), 8)]
    return [
        "",
        "# Everything within 300 mm of turbine, manifold or downpipe, with the smallest distance by tape. Kinds of part:",
        *rows,
        "near:",
        "  # brake_line: {distance: 110 mm, to: turbine_housing, shielded: true, sleeve: true}",
    ]
