"""The base of every record: frozen, SI floats, no unknown keys."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict

from heatproof.units.quantity import Text

NAME_PATTERN = r"^[a-z][a-z0-9_]*$"


class Record(BaseModel):
    """A frozen record. Fields hold SI floats; the key `from` is the field `from_`."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        validate_by_name=True,
        validate_by_alias=True,
        arbitrary_types_allowed=False,
        allow_inf_nan=False,
    )


Title = Annotated[str, Text("Name shown to people; the key is shown where it is empty")]
Note = Annotated[str, Text("Free remark")]
