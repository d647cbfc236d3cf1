"""Release: what it would say now, what stands in the way, the evidence, and papers made so far."""

from typing import Any

from heatproof.doors.page.answers import Answer
from heatproof.doors.page.desk import Desk
from heatproof.doors.page.papers import papers_view, sheets_view
from heatproof.doors.page.units import reader
from heatproof.doors.page.views.head import ten_power
from heatproof.kit.findings import Refused
from heatproof.report.assumptions import is_weak, limit_sources
from heatproof.report.evidence import Limit, blocking, limits_of, worst_of_parts
from heatproof.report.signed_files import DEVIATIONS, TESTED, read_deviations, read_tested
from heatproof.verdict.words import number, within

MOST_THIN = 8
Blocker = dict[str, Any]


def release_view(desk: Desk) -> dict[str, Any]:
    """says: what a release made now would say. blockers: what keeps it from being one; looks: what to look at first."""
    with desk.lock:
        answer, papers = desk.answer(), {"papers": papers_view(desk.disk), "sheets": sheets_view(desk.disk)}
        head = desk.disk.head
        kit = f"{head.name}, {head.revision}"
        if answer is None:
            unsolved = blocker("none", "The variant is not solved", "all duties are needed")
            says = {"title": f"Nothing to say yet: {kit}", "text": "The duties are being solved.", "mark": ""}
            return page(says, [*not_saved(desk), unsolved], [], [], [], papers)
        limits, refused = signed_limits(desk, answer)
        stops = [*not_saved(desk), *refused, *over_limits(limits)]
        signed = [one for one in worst_of_parts(limits) if one.signed is not None]
        return page(
            says_view(kit, limits, bool(refused)),
            stops,
            looks(desk, answer, limits),
            [signed_view(one) for one in signed],
            evidence(desk, answer, limits),
            papers,
        )


def page(
    says: dict[str, Any],
    blockers: list[Blocker],
    looked: list[Blocker],
    signed: list[dict[str, str]],
    figures: list[dict[str, str]],
    papers: dict[str, Any],
) -> dict[str, Any]:
    """The whole screen."""
    return {
        "says": says,
        "blockers": blockers,
        "looks": looked,
        "signed": signed,
        "evidence": figures,
        **papers,
        "ready": not blockers,
    }


def blocker(mark: str, title: str, detail: str, action: str = "", do: str = "") -> Blocker:
    """do: `save`, `part:KEY`, `screen:NAME` or nothing."""
    return {"mark": mark, "title": title, "detail": detail, "action": action, "do": do}


def not_saved(desk: Desk) -> list[Blocker]:
    """Papers are made from files."""
    if not desk.dirty:
        return []
    return [blocker("draft", "Edits are not saved", ", ".join(sorted(desk.save_edits())), "Save", "save")]


def signed_limits(desk: Desk, answer: Answer) -> tuple[tuple[Limit, ...], list[Blocker]]:
    """Every limit with its tests and who signed for it; and what of the signed files cannot be used."""
    titles = {key: part.title for key, part in answer.parts.items()}
    found: list[Any] = []
    problems = []
    for read, name in ((read_tested, TESTED), (read_deviations, DEVIATIONS)):
        try:
            found.append(read(desk.disk, titles))
        except Refused as refused:
            first = refused.findings[0]
            found.append(())
            text = "; ".join(t for t in (str(first.where), first.what, first.got and f"got {first.got}") if t)
            problems.append(blocker("over", f"{name} cannot be used", text))
    return limits_of(answer.verdict, answer.variant, found[0], found[1]), problems


def over_limits(limits: tuple[Limit, ...]) -> list[Blocker]:
    """Each part once that is over and not signed for."""
    seen: dict[str, Blocker] = {}
    for one in blocking(limits):
        detail = f"{reader().difference(one.margin)} in {one.duty_title.lower()}; {one.unsigned}"
        seen.setdefault(
            one.part, blocker("over", f"{one.title} is over", detail, "Open part", f"part:{one.part}")
        )
    return list(seen.values())


def says_view(kit: str, limits: tuple[Limit, ...], unusable: bool) -> dict[str, str]:
    """Title, text and mark, as at the top of the paper."""
    blocks = blocking(limits)
    if unusable:
        return {
            "title": f"Cannot be made: {kit}",
            "text": "A file of signatures or measured peaks cannot be used.",
            "mark": "over",
        }
    if blocks:
        names = ", ".join(dict.fromkeys(one.title for one in blocks))
        text = f"Over, and nobody has signed for it: {names}. Mend the kit, or have each deviation signed in {DEVIATIONS}."
        return {"title": f"Not released: {kit}", "text": text, "mark": "over"}
    signed = {one.part for one in limits if one.signed is not None and one.state == "over"}
    if signed:
        text = f"With signed deviations for {number(len(signed))} parts, once the last page is signed."
        return {"title": f"Released with deviations: {kit}", "text": text, "mark": "thin"}
    text = "For the uses and ambients in the paper, once its last page is signed."
    return {"title": f"Released: {kit}", "text": text, "mark": "holds"}


def signed_view(one: Limit) -> dict[str, str]:
    """A deviation that somebody answers for."""
    assert one.signed is not None
    return {"title": one.title, "who": one.signed.who, "when": one.signed.when, "why": one.signed.why}


def looks(desk: Desk, answer: Answer, limits: tuple[Limit, ...]) -> list[Blocker]:
    """What does not block and should be looked at."""
    found = []
    thin = [one for one in worst_of_parts(limits) if one.state == "thin" and one.signed is None]
    if thin:
        names = ", ".join(one.title.lower() for one in thin[:MOST_THIN])
        more = f" and {len(thin) - MOST_THIN} more" if len(thin) > MOST_THIN else ""
        part = f"part:{thin[0].part}"
        found.append(blocker("thin", f"{len(thin)} parts are thin", names + more, "Open the first", part))
    weak = [title for title, source, _ in limit_sources(answer.variant) if is_weak(source)]
    if weak:
        names = ", ".join(within(title) for title in weak[:6]) + (" …" if len(weak) > 6 else "")
        found.append(blocker("look", f"{len(weak)} limits have no firm source", names))
    if not answer.own_spread:
        found.append(
            blocker(
                "look",
                "Spreads are not this variant's own",
                "making the papers works them out, which takes longer",
            )
        )
    if not any(one.tests for one in limits):
        detail = f"a prediction is not proof; measured peaks stand in {TESTED}"
        found.append(
            blocker("look", "No limit has a measured peak beside it", detail, "Test day", "screen:test-day")
        )
    return found


def evidence(desk: Desk, answer: Answer, limits: tuple[Limit, ...]) -> list[dict[str, str]]:
    """Figures behind the verdict."""
    spreads = answer.variant.spreads
    logs = list((desk.folder / "logs").glob("*")) if (desk.folder / "logs").is_dir() else []
    sourced = sum(1 for s in spreads.values() if not is_weak(s.source))
    worst = max((abs(d.closure) for d in answer.verdict.duties), default=0.0)
    kinds = [one.kind for one in limits]
    rows = (
        ("Limits judged, part by duty", number(len(limits))),
        ("Of them with a measured peak", number(len(kinds) - kinds.count("predicted"))),
        ("Logs on file", number(len(logs))),
        ("Values with a spread", number(len(spreads))),
        ("Of them with a firm source", number(sourced)),
        ("Energy closure, worst duty", ten_power(worst)),
        ("Masses solved", number(answer.verdict.masses)),
        ("Files fixed by fingerprint", number(len(desk.disk.files))),
        ("Fingerprint of the project", desk.disk.hash()[:12]),
    )
    return [{"label": label, "value": value} for label, value in rows]
