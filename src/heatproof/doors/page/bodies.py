"""What the page sends: bodies of requests and bounds of their parameters."""

from typing import Annotated, Literal

from fastapi import Query
from pydantic import AfterValidator, BaseModel, Field


def whole_characters(text: str) -> str:
    """ValueError for half a surrogate pair, which JSON can write but no file can hold."""
    if any("\ud800" <= one <= "\udfff" for one in text):
        raise ValueError("text holds half a character")
    return text


Text = Annotated[str, Field(max_length=200), AfterValidator(whole_characters)]
Seconds = Annotated[float | None, Query(ge=0.0, le=1e6, allow_inf_nan=False)]
Duty = Annotated[str | None, Query(max_length=100)]


class NewValue(BaseModel):
    """A value as it is written in a file, with its unit."""

    file: Text
    path: Text
    text: Text


class Edit(BaseModel):
    """One undoable step: measures to fit and to leave out, values to set. version: the one on screen."""

    version: int
    fit: list[Text] = Field(default=[], max_length=200)
    leave: list[Text] = Field(default=[], max_length=200)
    values: list[NewValue] = Field(default=[], max_length=200)


class At(BaseModel):
    """The version on screen."""

    version: int


class Kept(At):
    """A variant kept by name."""

    name: Text


class Against(BaseModel):
    """The kept variant to compare with; empty: the one as saved."""

    name: Text = ""


class Save(At):
    """keep_mine: lay the edits over files that changed on disk."""

    keep_mine: bool = False


class Work(BaseModel):
    """choose: by, keep and leave (measures fixed in or out). release (from the files as saved): rating, sheets,
    tolerance, units. against and correct: logs of the project, the day they were driven on; correct: paths of the
    values to move, else those that the logs tell most of. plan: sensors and runs at most, the ambient of the day
    (empty: each duty's own), places that have a sensor anyway, duties that can be driven (none named: all)."""

    kind: Literal["choose", "rating", "release", "against", "correct", "plan"]
    by: Literal["cost", "mass", "labour"] = "cost"
    keep: list[Text] = Field(default=[], max_length=200)
    leave: list[Text] = Field(default=[], max_length=200)
    rating: bool = True
    sheets: bool = False
    tolerance: bool = False
    units: Literal["metric", "us"] = "metric"
    logs: list[Text] = Field(default=[], max_length=8)
    paths: list[Text] = Field(default=[], max_length=60)
    ambient: Text = ""
    sun: Text = "0 W/m2"
    altitude: Text = "0 m"
    sensors: Annotated[int, Field(ge=1, le=30)] = 6
    runs: Annotated[int, Field(ge=1, le=20)] = 4
    places: list[Text] = Field(default=[], max_length=30)
    duties: list[Text] = Field(default=[], max_length=60)


class NamedChannel(BaseModel):
    """What a column of a log means; an empty text leaves it to the reader again."""

    column: Text
    quantity: Text = ""
    unit: Text = ""
    sensor: Text = ""
    place: Text = ""
    time_constant_s: Annotated[float, Field(ge=0.0, lt=3600.0)] | None = None
    ignore: bool = False


class Named(BaseModel):
    """Columns to name; what a row does not mention stays."""

    rows: list[NamedChannel] = Field(max_length=200)


class Begin(BaseModel):
    """A shipped example to start from (or empty: the folder is a project already) and a folder's bare name."""

    example: Text = ""
    folder: Text
