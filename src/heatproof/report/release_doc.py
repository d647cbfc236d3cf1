"""The release as a document: statement, sections in their order, sign-off."""

from collections.abc import Callable, Iterator

from heatproof.report.blocks import (
    Block,
    Bullets,
    Document,
    Facts,
    Heading,
    Mark,
    Notice,
    Para,
    SignOff,
)
from heatproof.report.changes import Changes
from heatproof.report.gathered import Gathered
from heatproof.report.record import uses
from heatproof.report.release_basis import assumptions_section, inputs_section, sources_section
from heatproof.report.release_limits import (
    changes_section,
    deviations_section,
    limits_section,
    open_section,
    rating_section,
)
from heatproof.report.release_physics import flow_section, heat_section, ledger_section, measures_section
from heatproof.units.si import minute
from heatproof.verdict.words import MISSING, count, number, share, within

FOOT = "A prediction is not proof. Brake, fuel and pressurised coolant parts can hurt people. A qualified person signs."


def document(found: Gathered, changed: Changes | None, fingerprint: str) -> Document:
    """The whole paper. fingerprint: of the record it is set from."""
    head = found.variant.head
    revision = head.revision or "no revision"
    sections: tuple[Callable[[Gathered], Iterator[Block]], ...] = (
        statement,
        limits_section,
        rating_section,
        deviations_section,
        open_section,
        ledger_section,
        measures_section,
        heat_section,
        flow_section,
        assumptions_section,
        sources_section,
        inputs_section,
    )
    blocks: list[Block] = []
    for section in sections:
        blocks += section(found)
        if section is open_section:
            blocks += changes_section(changed)
    blocks += sign_section(found, fingerprint)
    return Document(
        title="Thermal release" if found.released else "Thermal review",
        subtitle=f"{head.name}, {revision}, on {found.car}",
        running=f"{head.name} · {revision} · {found.day} · record {fingerprint[:12]}",
        foot=FOOT,
        blocks=tuple(blocks),
        draft=not found.released,
        paper=found.units.paper,
        keywords=("thermal release", head.name, revision),
    )


# --- statement --------------------------------------------------------------------------------------------
def statement(found: Gathered) -> Iterator[Block]:
    """What is released, or what stands in the way."""
    yield Heading("Statement")
    yield Notice(*headline(found))
    verdict, units = found.verdict, found.units
    parts = found.worst
    states = {state: sum(1 for one in parts if one.state == state) for state in ("over", "thin", "holds")}
    yield Facts(
        (
            ("Kit", f"{found.variant.head.name}, revision {found.variant.head.revision or MISSING}"),
            ("Car", found.car),
            ("Uses", ", ".join(uses(found))),
            ("Date", found.day),
            ("Verdict", sentence(found)),
            (
                "Judged",
                f"{len(parts)} parts and liquids in {count(len(verdict.duties))} duties: {states['over']} over, {states['thin']} thin, {states['holds']} hold",
            ),
            ("Confidence asked for", share(verdict.required)),
            ("Highest power reached", units.power(max(d.power for d in verdict.duties))),
            ("Rating", rating_text(found)),
            (
                "Kit as fitted",
                f"{number(verdict.cost)} {verdict.currency}, {units.mass(verdict.mass)}, {number(verdict.labour / minute)} min to fit",
            ),
        )
    )
    yield Heading("Cautions", 2)
    yield Bullets(verdict.cautions)


def headline(found: Gathered) -> tuple[str, str, Mark]:
    """Title, text and mark of the frame at the top."""
    head = found.variant.head
    if found.blocks:
        names = ", ".join(dict.fromkeys(within(one.title) for one in found.blocks))
        text = f"Over without a signed deviation: {names}. Mend the kit, or have each deviation signed in deviations.yaml."
        return f"NOT RELEASED: {head.name}, {head.revision}", text, "over"
    signed = [one for one in found.limits if one.signed is not None and one.state == "over"]
    if signed:
        parts = count(len({one.part for one in signed}))
        text = f"Released with signed deviations for {parts} part{'s' if parts != 'one' else ''}, listed below, once the last page is signed."
        return f"Released with deviations: {head.name}, {head.revision}", text, "thin"
    text = "For the uses and ambients below, once the last page is signed."
    return f"Released: {head.name}, {head.revision}", text, "holds"


def sentence(found: Gathered) -> str:
    """The verdict, in the reader's units."""
    if not found.units.us:
        return found.verdict.sentence
    worst = found.worst[0]
    half = worst.row.half if worst.row is not None else None
    return f"{found.verdict.state.capitalize()}. Closest: {within(worst.title)}, {found.units.margin(worst.margin, half)}."


def rating_text(found: Gathered) -> str:
    """Ambient by use at full boost."""
    full = [one for one in found.cells if one["level"] == 1.0]
    if not full:
        return "left out of this paper"
    texts = []
    for one in full:
        ambient = (
            "no ambient"
            if one["ambient"] is None
            else f"up to {found.units.temperature(found.units.rounded_down(one['ambient']))}"
        )
        texts.append(f"{one['use']}: {ambient}")
    return "; ".join(texts)


def sign_section(found: Gathered, fingerprint: str) -> Iterator[Block]:
    """The block to be signed."""
    yield Heading("Sign-off")
    yield Para(
        "By signing, the signer confirms having read the limits, deviations, open risks and cautions, and that local law on "
        "emissions, noise and roadworthiness was looked at.",
    )
    yield SignOff(
        (("Thermal engineer", "", ""), ("Test engineer", "", ""), ("Responsible for the kit", "", ""))
    )
    yield Para(f"Record fingerprint (SHA-256 of the .json file): {fingerprint}", "small")
