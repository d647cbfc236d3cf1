"""A new kit file with corrected values, beside the old one. No file that is there is ever touched."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from heatproof._files import write_whole
from heatproof.kit.findings import Finding, Refused, Where
from heatproof.kit.project import KIT, Project
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.kit.tree import Source
from heatproof.kit.write import Value, edited
from heatproof.logs.correcting.correct import Correction
from heatproof.logs.correcting.parameters import Member
from heatproof.study.search.values import shown
from heatproof.units.show import in_unit, show

DEVIATIONS = 2.0
"""A spread in a file is two standard deviations (kit room)."""
LEAST_SPREAD = 0.002
"""Of the value: no log knows a value better than that."""


@dataclass(frozen=True)
class CorrectedValue:
    """One value: before and after with standard deviations, all SI, and the text of its interval (95 %)."""

    member: Member
    before: float
    before_sd: float
    after: float
    after_sd: float
    x: float
    x_sd: float

    @property
    def path(self) -> str:
        """Dotted path."""
        return self.member.path

    @property
    def interval(self) -> tuple[float, float]:
        """95 %, SI."""
        return self.member.at(self.x - 1.96 * self.x_sd), self.member.at(self.x + 1.96 * self.x_sd)

    def text(self, value: float) -> str:
        """A value with its unit, three digits."""
        return shown(value, self.member.quantity)


def corrected_values(found: Correction) -> tuple[CorrectedValue, ...]:
    """Every value of every parameter."""
    out = []
    for parameter, x, sd in zip(found.parameters, found.x, found.sd, strict=True):
        for m in parameter.members:
            after = m.at(float(x))
            after_sd = float(sd) * m.sd * (after / m.v0 if m.ratio else 1.0)
            out.append(CorrectedValue(m, m.v0, m.sd, after, after_sd, float(x), float(sd)))
    return tuple(out)


def kit_text(
    project: Project, variant: Variant, values: Sequence[CorrectedValue], source: str
) -> tuple[str, dict[str, Value]]:
    """The text of the new kit file and the edits that made it. Refused where an edit cannot be made."""
    if project.kit is None:
        step = "add a kit.yaml, or correct the car's values by hand"
        raise Refused([Finding("error", "the project has no kit to correct", Where(KIT), next_step=step)])
    edits: dict[str, Value] = {}
    for one in values:
        edits |= edits_of(project, variant, one, source)
    return edited(project.kit.source, edits), edits


def edit_path(project: Project, variant: Variant, path: str) -> str:
    """Where in kit.yaml a value has to stand to win: in the fitted measure that sets it, else in `changes`."""
    for name in reversed(variant.fitted):
        for key in project.measures[name].set:
            if path == key or path.startswith(f"{key}."):
                return f"measures.{name}.set.{path}"
        for section in project.measures[name].add:
            if path.startswith(f"{section}.") and added(project.measures[name].add[section], path):
                return f"measures.{name}.add.{path}"
    return f"changes.{path}"


def is_curve(variant: Variant, path: str) -> bool:
    """Whether the value is the factor of a curve over engine speed, which carries the curve's spread."""
    return path.endswith(".factor") and hasattr(variant.value(path.removesuffix(".factor")), "speed")


def added(branch: object, path: str) -> bool:
    """Whether a measure's `add` reaches down to the record that holds this path."""
    node = branch
    for key in path.split(".")[1:-1]:
        if not isinstance(node, dict) or key not in node:
            return False
        node = node[key]
    return True


def edits_of(project: Project, variant: Variant, one: CorrectedValue, source: str) -> dict[str, Value]:
    """Path in kit.yaml to new text. A curve's spread stands beside its factor, not in it."""
    place, told = edit_path(project, variant, one.path), edit_value(one, source)
    if not is_curve(variant, one.path):
        return {place: dict(told)}
    curve = place.removesuffix(".factor")
    return {place: told["value"], f"{curve}.spread": told["spread"], f"{curve}.source": told["source"]}


def edit_value(one: CorrectedValue, source: str) -> dict[str, str]:
    """`{value, spread, source}` of a corrected value."""
    value = rounded(one)
    spread = max(DEVIATIONS * one.after_sd, LEAST_SPREAD * abs(one.after))
    if one.member.quantity.kind == "temperature":
        width = f"{spread:.2g} K"
    elif abs(one.after) > 0.0:
        # Of a value in per cent, a bare spread in per cent could be points of it.
        of = " of value" if one.member.quantity.unit == "%" else ""
        width = f"{100.0 * spread / abs(one.after):.2g} %{of}"
    else:
        width = show(spread, one.member.quantity)
    was = shown(one.before, one.member.quantity).replace("−", "-")
    return {"value": value, "spread": width, "source": f"corrected from {source}: {one.path} was {was}"}


def rounded(one: CorrectedValue) -> str:
    """Text with as many digits as the deviation left asks for."""
    scale = abs(one.after) / max(one.after_sd, 1e-12 + 1e-6 * abs(one.after))
    digits = min(max(2 + math.ceil(math.log10(max(scale, 1.0))), 3), 7)
    text = show(one.after, one.member.quantity)
    number, _, unit = text.partition(" ")
    at = in_unit(one.after, one.member.quantity)
    short = f"{at:.{digits}g}"
    return f"{short if 'e' not in short else number} {unit}".strip()


def new_name(folder: Path, wanted: str | None = None) -> Path:
    """`kit-corrected-N.yaml` with the first free N, or the wanted name. Refused where that is taken."""
    if wanted is None:
        number = next(n for n in range(1, 10_000) if not (folder / f"kit-corrected-{n}.yaml").exists())
        return folder / f"kit-corrected-{number}.yaml"
    path = folder / wanted
    if not re.fullmatch(r"[\w][\w .-]*\.yaml", wanted):
        raise Refused([Finding("error", "not a name for a kit file", got=wanted, allowed="NAME.yaml")])
    refuse_taken(path)
    return path


def project_with_kit(project: Project, text: str) -> Project:
    """The project as it reads with this text as its kit. Refused with findings where it does not read."""
    return read_project(project.folder, kit=Source(KIT, text, text.encode()))


def write_new_kit(project: Project, path: Path, text: str) -> Source:
    """Writes the new file, whole or not at all. Refused where something of that name has appeared."""
    refuse_taken(path)
    write_whole(path, text.encode())
    return Source(path.name, text, text.encode())


def refuse_taken(path: Path) -> None:
    """Refused where something of that name is there."""
    if path.exists():
        step = "choose another name; nothing is ever written over"
        raise Refused([Finding("error", "that file is there already", Where(path.name), next_step=step)])
