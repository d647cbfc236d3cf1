"""What the shapes refuse, said with its place in the project's files."""

from heatproof.kit.findings import Finding, Refused, Where
from heatproof.kit.records.variant import Variant
from heatproof.shapes.errors import ShapeError


def place_of(variant: Variant, part: str) -> Where:
    """Where a part's (or core's) shape stands, else the bay."""
    if part in variant.parts:
        return variant.where(f"parts.{part}.shape")
    core = part.removeprefix("core.")
    return variant.where(f"cores.{core}.shape" if core in variant.cores else "bay")


def refused_shape(variant: Variant, error: ShapeError) -> Refused:
    """A shape's refusal as a finding about the project. `error.where` names the part or its mesh file."""
    parts = [
        name
        for name, part in variant.parts.items()
        if name == error.where or getattr(part.shape, "file", "").rsplit("/", 1)[-1] == error.where
    ]
    named = parts[0] if parts else error.where
    what = f"{named}: {error.what}" if named else error.what
    finding = Finding(
        "error",
        what,
        place_of(variant, named),
        got=error.got,
        allowed=error.allowed,
        next_step=error.next_step,
    )
    return Refused([finding])
