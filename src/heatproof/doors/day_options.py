"""What the verbs of a test day share: options of the day, project of a log, log errors as refusals."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from heatproof.logs.predicting.logged_duty import Day


@dataclass(frozen=True)
class DayOptions:
    """The day and the start of a run, as told; options of a verb, or values of the page."""

    ambient: Annotated[
        str | None,
        typer.Option("--ambient", help="Ambient air, e.g. '24 degC'; from the log where left out."),
    ] = None
    altitude: Annotated[str, typer.Option("--altitude", help="Altitude, e.g. '300 m'.")] = "0 m"
    sun: Annotated[str, typer.Option("--sun", help="Sunshine on a level surface, e.g. '600 W/m2'.")] = (
        "0 W/m2"
    )
    added_mass: Annotated[
        str, typer.Option("--added-mass", help="Load beyond the car's mass, e.g. '150 kg'.")
    ] = "0 kg"
    air_conditioning: Annotated[
        bool, typer.Option("--air-conditioning", help="The air conditioning ran.")
    ] = False
    start: Annotated[
        str | None,
        typer.Option("--from", help="Leave out what comes before, e.g. '5 min': the start is not known."),
    ] = None
    cold: Annotated[
        bool | None,
        typer.Option("--cold/--warm", help="How the car started; from its coolant where left out."),
    ] = None

    def day(self) -> "Day":
        """SI values. Refused where one is not understood."""
        from heatproof.kit.records.duty import ADDED_MASS, Weather
        from heatproof.logs.predicting.logged_duty import Day

        return Day(
            ambient=None if self.ambient is None else told_ambient(self.ambient),
            altitude=told_value(self.altitude, declared(Weather, "altitude"), "--altitude"),
            sun=told_value(self.sun, declared(Weather, "sun"), "--sun"),
            added_mass=told_value(self.added_mass, ADDED_MASS, "--added-mass"),
            air_conditioning=self.air_conditioning,
        )

    def run(self) -> dict[str, Any]:
        """What was told of a run, as `logs.correcting.test_day.prepare` takes it. Refused."""
        return {"day": self.day(), "cold": self.cold, "from_s": seconds_of(self.start)}


def declared(record: Any, key: str) -> Any:
    """Declaration of a field."""
    from heatproof.kit.fields import fields_of

    return fields_of(record)[key].quantity


def told_ambient(text: str, name: str = "--ambient") -> float:
    """K of an ambient told on the command line. Refused where it cannot be read."""
    from heatproof.kit.records.duty import Weather

    return told_value(text, declared(Weather, "ambient"), name)


def told_value(text: str, quantity: Any, name: str) -> float:
    """SI value of an option's text. Refused where it cannot be read."""
    from heatproof.kit.values import value_of

    return value_of(text, quantity, name)


def seconds_of(text: str | None, name: str = "--from") -> float | None:
    """s of a time, None where none is given."""
    from heatproof.units.quantity import Quantity

    return None if text is None else told_value(text, Quantity("s", 0.0, 172_800.0, "Time"), name)


def project_of(path: Path, told: Path | None) -> Path | None:
    """The project folder: as told, else the one whose `logs` folder the file lies in."""
    if told is not None:
        return told
    above = path.resolve().parent
    return above.parent if above.name == "logs" and (above.parent / "car.yaml").is_file() else None


@contextmanager
def log_errors() -> Iterator[None]:
    """What a log's reader refuses, as everything else is refused."""
    from heatproof.kit.findings import Finding, Refused, Where
    from heatproof.logs.reading.records import LogError

    try:
        yield
    except LogError as error:
        finding = Finding(
            "error",
            error.what,
            Where(error.where),
            got=error.got,
            allowed=error.allowed,
            next_step=error.next_step,
        )
        raise Refused([finding]) from error


def need_extra(name: str) -> None:
    """Refused with the line that installs it, where the readers of logs are missing."""
    from importlib.util import find_spec

    from heatproof.kit.findings import Finding, Refused

    if find_spec(name) is None:
        step = "pip install 'heatproof[logs]'"
        raise Refused([Finding("error", "reading logs needs an extra package", got=name, next_step=step)])
