"""What finished kits taught: corrections kept in a text file, reused as priors for the next kit.

A corrected value is kept as its ratio to what had been declared. For the next kit the ratio is thought to have a
part common to all kits of a shop (how its people measure, build and estimate) and a part of its own:
ln r = c + k, with c ~ N(0, f s²), k ~ N(0, (1 − f) s²), s the declared relative standard deviation. With earlier
kits r_i, each known to s_i, c has the precision 1/(f s²) + Σ 1/((1 − f) s² + s_i²), and the next kit's ratio the
mean of c and the variance var c + (1 − f) s². So memory never claims more than the kits can share.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Unpack

from heatproof._files import write_whole
from heatproof.kit.commented import Table, commented_text, load_commented, read_commented
from heatproof.kit.findings import Details, Finding, Refused, Where
from heatproof.kit.records.variant import Variant
from heatproof.logs.correcting.corrected_kit import CorrectedValue
from heatproof.logs.correcting.parameters import Member, parameters_of

FORMAT = "heatproof memory 1"
COMMON_SHARE = 0.5
"""Of a value's variance that kits of one shop have in common; a judgement, to be changed in the file."""
HEAD = """\
Corrections of finished kits, one line each; `heatproof memory` puts them on the next kit as starting values.
ratio: corrected over declared; spread: what was left of its doubt (two standard deviations).
"""


@dataclass(frozen=True)
class Lesson:
    """One corrected value of one kit."""

    kit: str
    ratio: float
    spread: float
    was: str = ""
    logs: str = ""
    date: str = ""


@dataclass(frozen=True)
class Memory:
    """Path to lessons. common_share: see above."""

    values: dict[str, list[Lesson]] = field(default_factory=dict)
    common_share: float = COMMON_SHARE


@dataclass(frozen=True)
class Remembered:
    """A value of the next kit. after, after_sd: SI, as memory has it; kits: how many spoke."""

    member: Member
    ratio: float
    ratio_sd: float
    kits: tuple[str, ...]

    @property
    def value(self) -> CorrectedValue:
        """As a value that can be written into a kit file."""
        m = self.member
        x = math.log(self.ratio) * m.v0 / m.sd
        after = m.at(x)
        return CorrectedValue(m, m.v0, m.sd, after, self.ratio_sd * after, x, self.ratio_sd * m.v0 / m.sd)


def combined(prior_sd: float, lessons: Sequence[Lesson], common_share: float) -> tuple[float, float]:
    """(mean, sd) of ln r for the next kit; prior_sd relative."""
    shared, own = common_share * prior_sd**2, (1.0 - common_share) * prior_sd**2
    if shared <= 0.0:
        return 0.0, prior_sd
    precision, weighted = 1.0 / shared, 0.0
    for one in lessons:
        weight = 1.0 / (own + (0.5 * one.spread) ** 2)
        precision += weight
        weighted += weight * math.log(one.ratio)
    return weighted / precision, math.sqrt(1.0 / precision + own)


def remembered(variant: Variant, memory: Memory) -> tuple[Remembered, ...]:
    """The variant's uncertain values that memory knows, in the order of the files."""
    out = []
    for parameter in parameters_of(variant):
        for m in parameter.members:
            lessons = [one for one in memory.values.get(m.path, []) if one.kit != variant.name]
            if lessons and m.ratio:
                mean, sd = combined(m.sd / m.v0, lessons, memory.common_share)
                out.append(Remembered(m, math.exp(mean), sd, tuple(one.kit for one in lessons)))
    return tuple(out)


def lessons_of(
    values: Sequence[CorrectedValue], *, kit: str, logs: str, day: date | None = None
) -> dict[str, Lesson]:
    """Path to lesson of what a correction found; values that are no ratio are left out."""
    when = (day or date.today()).isoformat()
    return {
        one.path: Lesson(
            kit=kit,
            ratio=round(one.after / one.before, 5),
            spread=round(2.0 * one.after_sd / one.after, 5),
            was=one.text(one.before).replace("−", "-"),
            logs=logs,
            date=when,
        )
        for one in values
        if one.member.ratio
    }


# --- the file ---------------------------------------------------------------------------------------------
def read_memory(path: Path) -> Memory:
    """Refused, with file and line, where it cannot be read."""
    if not path.exists():
        raise Refused.of(
            "no such memory of corrections",
            Where(str(path)),
            next_step="check the path, or begin one with `heatproof correct … --remember FILE`",
        )
    data = read_commented(path)
    if data is None:
        raise _refused(path, "not a memory of corrections", got="an empty file", allowed=f"format: {FORMAT}")
    if str(data.get("format")) != FORMAT:
        raise _refused(path, "not a memory of corrections", got=str(data.get("format"))[:60], allowed=FORMAT)
    share = data.get("common_share", COMMON_SHARE)
    if not isinstance(share, int | float) or not 0.0 <= share <= 1.0:
        raise _refused(path, "common_share is a share", got=repr(share), allowed="0 to 1")
    table = data.get("values") or {}
    if not isinstance(table, dict):
        raise _refused(path, "`values` must be a table of paths", got=type(table).__name__)
    values = {
        str(name): [_lesson(path, table, name, row) for row in _rows(path, table, name)] for name in table
    }
    return Memory(values, float(share))


def _rows(path: Path, table: Any, name: Any) -> Any:
    """Lessons of a value; none where its list is empty."""
    rows = table[name] if table[name] is not None else []
    if not isinstance(rows, list):
        line = table.line(name) if isinstance(table, Table) else 0
        allowed = "a list of {kit: NAME, ratio: 0.95, spread: 6 %}"
        raise _refused(
            path, f"lessons of {name} are no list", line=line, got=repr(rows)[:60], allowed=allowed
        )
    return rows


def memory_text(path: Path, lessons: dict[str, Lesson]) -> bytes:
    """The file, or a new one, with lessons added; comments and order stay. A kit's own earlier line for a value is
    replaced. Nothing is written. Refused where the file cannot be read."""
    if path.exists():
        read_memory(path)
    data: Any = load_commented(path) if path.exists() else _new()
    if data.get("values") is None:
        data["values"] = {}
    table = data["values"]
    for name, one in lessons.items():
        if table.get(name) is None:
            table[name] = []
        rows = table[name]
        row = _row(one)
        same = next((k for k, old in enumerate(rows) if old.get("kit") == one.kit), None)
        if same is None:
            rows.append(row)
        else:
            rows[same] = row
    return commented_text(data).encode()


def remember(path: Path, lessons: dict[str, Lesson]) -> Memory:
    """Adds lessons to the file, as `memory_text` does, whole or not at all; what stands there then."""
    data = memory_text(path, lessons)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, data)
    return read_memory(path)


def _new() -> Any:
    from ruamel.yaml.comments import CommentedMap

    data = CommentedMap({"format": FORMAT, "common_share": COMMON_SHARE, "values": CommentedMap()})
    data.yaml_set_start_comment(HEAD)
    return data


def _row(one: Lesson) -> Any:
    from ruamel.yaml.comments import CommentedMap

    row = CommentedMap(
        {
            "kit": one.kit,
            "ratio": one.ratio,
            "spread": f"{100.0 * one.spread:.3g} %",
            "was": one.was,
            "logs": one.logs,
            "date": one.date,
        }
    )
    row.fa.set_flow_style()
    return row


def _lesson(path: Path, table: Any, name: Any, row: Any) -> Lesson:
    try:
        ratio = float(row["ratio"])
        width = float(str(row["spread"]).replace("%", "")) / 100.0
        if not (0.01 < ratio < 100.0 and 0.0 < width < 10.0):
            raise ValueError("out of range")
        rest = {key: str(row.get(key, "")) for key in ("was", "logs", "date")}
        return Lesson(str(row["kit"]), ratio, width, **rest)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        holder = row if isinstance(row, Table) else table
        line = holder.line(str(name)) if isinstance(holder, Table) else 0
        allowed = "{kit: NAME, ratio: 0.95, spread: 6 %}"
        raise _refused(
            path, f"lesson of {name} not understood", line=line, got=f"{row!r:.60}, {error}", allowed=allowed
        ) from None


def _refused(path: Path, what: str, *, line: int = 0, **more: Unpack[Details]) -> Refused:
    return Refused([Finding("error", what, Where(path.name, line), next_step="correct the file", **more)])
