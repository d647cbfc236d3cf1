"""What a release record must hold to be verified or compared with; a record is a file that anybody may have edited."""

import json
from contextlib import suppress
from pathlib import Path
from typing import Annotated, Any, Literal, Unpack

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from heatproof._files import finish_writing
from heatproof.kit.findings import Details, Finding, Refused, Where
from heatproof.report.record import FORMAT

Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e15, le=1e15)]
LARGEST = 50_000_000  # bytes


class Shape(BaseModel):
    """Part of a record; what else stands in it is left alone."""

    model_config = ConfigDict(extra="allow", strict=True)


class Kit(Shape):
    """Which kit, and what was fitted."""

    name: str
    revision: str
    fitted: list[str]


class Input(Shape):
    """One file that it depends on."""

    file: str
    sha256: str


class Predicted(Shape):
    """Figures that are computed again."""

    peak_degC: Number
    margin_K: Number


class Limit(Shape):
    """One limit in one duty."""

    part: str
    duty: str
    title: str
    duty_title: str
    margin_K: Number
    state: str
    predicted: Predicted | None


class Measure(Shape):
    """One measure that was fitted."""

    name: str
    title: str


class RecordShape(Shape):
    """The record."""

    format: Literal["heatproof release 1"]
    released: bool
    day: str
    kit: Kit
    verdict: str
    cost: Number
    currency: str
    mass_kg: Number
    limits: list[Limit]
    measures: list[Measure]
    values: dict[str, str]
    inputs: list[Input]
    versions: dict[str, str]
    cautions: list[str]


def parsed_record(path: Path) -> dict[str, Any]:
    """The record in a file. Refused where it is none, or where one of the values it must hold is damaged."""
    with suppress(OSError):
        finish_writing(path.parent)
    try:
        with path.open("rb") as file:
            found = json.loads(file.read(LARGEST).decode("utf-8"))
    except OSError as error:
        step = "check the path and its permissions"
        what = "no such record" if isinstance(error, FileNotFoundError) else "the record cannot be read"
        raise refused(path, what, got=error.strerror or "", next_step=step) from error
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise refused(path, "no release record", allowed=f"JSON with format: {FORMAT}")
    try:
        RecordShape.model_validate(found)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(key) for key in first["loc"])
        what = f"the record is damaged: {first['msg'][0].lower()}{first['msg'][1:]}"
        raise refused(path, what, key=place, got=repr(first["input"])[:80]) from error
    return found


def refused(
    path: Path,
    what: str,
    *,
    key: str = "",
    next_step: str = "name the .json file that `heatproof release` wrote, as it was written",
    **more: Unpack[Details],
) -> Refused:
    """One error about a record."""
    return Refused([Finding("error", what, Where(str(path), 0, key), next_step=next_step, **more)])
