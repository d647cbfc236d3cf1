"""A number inside a sentence, kept beside it, so that a door can say it again in the reader's units."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Amount:
    """text: as it stands in the sentence, with its unit; value: SI (K of a temperature); unit: the text's."""

    text: str
    value: float
    unit: str

    def __str__(self) -> str:
        return self.text
