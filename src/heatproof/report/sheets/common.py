"""What every sheet shares: head, cautions, sign-off; and how parts are spoken of."""

from collections.abc import Iterable

from heatproof.report.blocks import Block, Bullets, Document, Heading, Notice, Para, SignOff
from heatproof.report.gathered import Gathered
from heatproof.report.release_doc import FOOT
from heatproof.verdict.cautions import USUAL
from heatproof.verdict.names import spaced
from heatproof.verdict.verdict import Row, order_of


def sheet(
    title: str,
    found: Gathered,
    blocks: Iterable[Block],
    *,
    cautions: Iterable[str],
    signs: Iterable[str],
    behind: tuple[Block, ...] = (),
) -> Document:
    """A sheet with its frame: not for use while the kit is not released. behind: pages after the sign-off."""
    head = found.variant.head
    revision = head.revision or "no revision"
    frame: list[Block] = []
    if not found.released:
        frame.append(
            Notice(
                "Not for use: this revision is not released",
                "Limits are over and nobody has signed for them.",
                "over",
            )
        )
    care: list[Block] = [Heading("Care"), Bullets(tuple(cautions))]
    sign: list[Block] = [SignOff(tuple((role, "", "") for role in signs))]
    return Document(
        title=title,
        subtitle=f"{head.name}, {revision}, on {found.car}",
        running=f"{title} · {head.name} · {revision} · {found.day}",
        foot=FOOT,
        blocks=(*frame, *blocks, *care, *sign, *behind),
        draft=not found.released,
        compact=True,
        paper=found.units.paper,
        keywords=(title, head.name, revision),
    )


def cautions_of(found: Gathered) -> tuple[str, ...]:
    """The verdict's cautions; the usual ones where it has none."""
    return found.verdict.cautions or USUAL


def worst_row(found: Gathered, part: str) -> Row | None:
    """The worst prediction of a part; None where it is not judged."""
    rows = [one.row for one in found.limits if one.part == part and one.row is not None]
    return min(rows, key=order_of, default=None)


def title_of(found: Gathered, key: str) -> str:
    """A part as people call it."""
    part = found.variant.parts.get(key)
    return (part.title if part is not None else "") or spaced(key)


def peak_of(found: Gathered, mass: str) -> tuple[float, str] | None:
    """Highest temperature (K) of a mass in any duty, and the duty's name; None where there is no such mass."""
    peaks = [
        (float(one.run.state[:, one.run.network.mass(mass)].max()), one.duty.name)
        for one in found.solved.values()
        if mass in one.run.network.masses
    ]
    return max(peaks, default=None)


def note(text: str) -> Para:
    """Small print."""
    return Para(text, "small")
