"""The release as a document: blocks made from what was gathered."""

from collections.abc import Callable, Iterator

from heatproof.report.assumptions import assumptions, is_weak, limit_sources
from heatproof.report.changes import Changes
from heatproof.report.citations import data, models
from heatproof.report.document import (
    Block,
    Bullets,
    Columns,
    Document,
    Facts,
    Figure,
    Heading,
    Mark,
    Notice,
    Para,
    SignOff,
    table,
)
from heatproof.report.evidence import SHORT, Limit
from heatproof.report.flow_drawing import flow_plot
from heatproof.report.flows import air_flows, density_of, liquid_flows, running_row, soak_row
from heatproof.report.gathered import Gathered
from heatproof.report.plots import balance_plot, ledger_plot, margins_plot, rating_plot
from heatproof.report.reasons import Reason, told
from heatproof.report.record import uses
from heatproof.units.si import minute
from heatproof.verdict.words import MISSING, clock, count, minutes, number, share, within

FOOT = "A prediction is not proof. Brake, fuel and pressurised coolant parts can hurt people. A qualified person signs."
MOST_ASSUMPTIONS, MOST_CAUSES = 40, 8
SHORT_NAMES = {
    "brake power": "power",
    "cylinder walls": "walls",
    "exhaust ports": "exhaust",
    "compression of the charge": "boosting",
}


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


# --- limits -----------------------------------------------------------------------------------------------
def limits_section(found: Gathered) -> Iterator[Block]:
    """Every part in its worst duty as a drawing and a table; then every limit in every duty."""
    units = found.units
    yield Heading("Limits")
    tight = found.worst[:24]
    yield Figure(
        margins_plot(tight, units),
        f"Margins of the {len(tight)} parts with least left, with their spreads; the table below has the figures.",
        f"Margin of each part in its worst duty, least left first ({len(tight)} of {len(found.worst)}). "
        f"The line is the spread at {share(found.verdict.required)} confidence.",
    )
    yield limits_table(found, found.worst, whole=True)
    yield Para(
        "A limit with a time may be passed for that long in all: its margin is from the temperature exceeded for exactly "
        "that long, not from the peak. Sure: how likely the margin is positive, by the values that declare a spread; what "
        "the model leaves out is not in it.",
        "small",
    )


def limits_table(found: Gathered, limits: list[Limit], *, whole: bool) -> Block:
    """Part, duty, peak, when, limit, margin, confidence, evidence, state."""
    rows = [limit_row(one, found) for one in limits]
    return table(
        (
            ("Part", "left", 2.5),
            ("Worst duty" if whole else "Duty", "left", 1.5),
            ("Peak", "right", 1.0),
            ("When", "right", 0.8),
            ("Limit", "right", 1.5),
            ("Margin", "right", 1.45),
            ("Sure", "right", 1.0),
            ("Evidence", "left", 1.6),
            ("State", "left", 0.8),
        ),
        rows,
        marks=[one.state for one in limits],
    )


def limit_row(one: Limit, found: Gathered) -> tuple[str, ...]:
    """One row."""
    units, row = found.units, one.row
    tested = "; ".join(f"{t.log}: {units.temperature(t.peak)}" for t in one.tests)
    evidence = SHORT[one.kind] + (f" ({tested})" if tested else "")
    limit = units.temperature(one.limit)
    if row is None:
        peak = max(t.peak for t in one.tests)
        return (
            one.title,
            one.duty_title,
            units.temperature(peak),
            MISSING,
            limit,
            units.margin(one.margin, None),
            MISSING,
            evidence,
            one.state,
        )
    timed = row.found.rule == "continuous" and row.found.allowed_time > 0.0
    return (
        one.title,
        one.duty_title,
        units.temperature(row.found.peak),
        clock(row.found.time),
        f"{limit}, {minutes(row.found.allowed_time)}" if timed else limit,
        units.margin(one.margin, row.half),
        MISSING if row.confidence is None else share(row.confidence),
        evidence,
        one.state + (" (signed)" if one.signed is not None else ""),
    )


# --- rating -----------------------------------------------------------------------------------------------
def rating_section(found: Gathered) -> Iterator[Block]:
    """Map and table."""
    yield Heading("Rating")
    if not found.cells:
        yield Para("The rating was left out of this paper.")
        return
    units = found.units
    yield Figure(
        rating_plot(found.cells, units),
        "Highest ambient by use and share of boost; the table below has the same figures.",
        f"Highest ambient at which every limit holds with {share(found.verdict.required)} confidence, and what runs out first.",
    )
    rows = []
    for one in found.cells:
        ambient = MISSING if one["ambient"] is None else units.temperature(units.rounded_down(one["ambient"]))
        formulas = [MISSING if one[k] is None else units.temperature(one[k]) for k in ("lat", "atb")]
        first = one["title"] or one["unsolved"] or MISSING
        rows.append(
            (
                f"{number(100 * one['level'])} %",
                one["use"],
                ambient,
                first,
                units.power(one["power"]),
                *formulas,
            )
        )
    columns: Columns = (
        ("Boost", "right", 0.7),
        ("Use", "left", 1.0),
        ("Ambient", "right", 1.0),
        ("Runs out first", "left", 2.4),
        ("Power", "right", 0.9),
        ("LAT", "right", 0.9),
        ("ATB", "right", 0.9),
    )
    yield table(
        columns,
        rows,
        note="LAT (limiting ambient) and ATB (air-to-boil): the trade's formulas for the coolant alone. A dash under Ambient: no ambient holds.",
    )


# --- deviations and risks ---------------------------------------------------------------------------------
def deviations_section(found: Gathered) -> Iterator[Block]:
    """What is over or thin, and who signed for it."""
    yield Heading("Deviations")
    weak = [one for one in found.limits if one.state == "over" or one.signed is not None]
    if not weak:
        yield Para("None: no limit is over.")
    rows = []
    for one in sorted(weak, key=lambda w: w.margin):
        s = one.signed
        who = f"{s.who}, {s.when}" if s is not None else ""
        why = s.why if s is not None else one.unsigned.capitalize() + "."
        rows.append(
            (one.title, one.duty_title, found.units.margin(one.margin, None), who or "to be signed", why)
        )
    if rows:
        columns: Columns = (
            ("Part", "left", 1.5),
            ("Duty", "left", 1.1),
            ("Margin", "right", 0.8),
            ("Signed by", "left", 1.4),
            ("Why", "left", 3.0),
        )
        marks: list[Mark] = ["" if r[3] != "to be signed" else "over" for r in rows]
        yield table(columns, rows, marks=marks)


def open_section(found: Gathered) -> Iterator[Block]:
    """Thin margins, warnings of the runs, limits and values without a firm source, what no test has shown."""
    yield Heading("Open risks")
    thin = [one for one in found.worst if one.state == "thin"]
    items = [
        f"Thin: {one.title}, {found.units.margin(one.margin, one.row.half if one.row else None)} in {within(one.duty_title)}."
        for one in thin
    ]
    items += [f"{one.what}." for one in found.open_findings]
    untested = [one for one in found.worst if one.kind == "predicted"]
    if untested:
        items.append(
            f"{len(untested)} of {len(found.worst)} parts rest on prediction alone: no test is on file for them."
        )
    weak = [title for title, source, _ in limit_sources(found.variant) if is_weak(source)]
    if weak:
        items.append(f"{len(weak)} limits have no firm source: {', '.join(within(t) for t in weak)}.")
    yield Bullets(tuple(items)) if items else Para("None known.")


def changes_section(changed: Changes | None) -> Iterator[Block]:
    """Against the previous release."""
    yield Heading("Changes")
    if changed is None:
        yield Para("No earlier release is on file.")
        return
    yield Para(f"Against {changed.earlier}:")
    yield Bullets(changed.items) if changed.items else Para("Nothing has changed.")


# --- ledger, measures -------------------------------------------------------------------------------------
def ledger_section(found: Gathered) -> Iterator[Block]:
    """Where the degrees of the tightest parts come from."""
    if not found.ledgers:
        return
    units = found.units
    yield Heading(f"Where the degrees of the {count(len(found.ledgers))} tightest parts come from")
    yield Figure(
        ledger_plot(found.ledgers, units),
        "Rise over ambient of each part split by cause; the tables below have the figures.",
        "Rise over ambient at the instant that decides, split by cause. Causes of a part add up to its rise.",
    )
    for one in found.ledgers:
        yield Heading(
            f"{one.title}: {units.temperature(one.temperature)} at {clock(one.time)} in {within(one.duty_name)}, {units.difference(one.rise)} over ambient",
            2,
        )
        rows = [
            (
                cause,
                units.difference(rise, 1),
                share(abs(rise / one.rise)) if rise > 0.0 and one.rise > 0.0 else "",
            )
            for cause, rise in one.causes[:MOST_CAUSES]
        ]
        rest = sum(rise for _, rise in one.causes[MOST_CAUSES:])
        if len(one.causes) > MOST_CAUSES:
            rows.append((f"{len(one.causes) - MOST_CAUSES} smaller causes", units.difference(rest, 1), ""))
        rows.append(("Sum", units.difference(sum(r for _, r in one.causes), 1), ""))
        yield table((("Cause", "left", 4.0), ("Rise", "right", 1.0), ("Share", "right", 1.0)), rows)


def measures_section(found: Gathered) -> Iterator[Block]:
    """Fitted, then left out, each with its reason."""
    if found.project.measures and not found.why:
        yield Heading("Measures")
        names = ", ".join(found.variant.fitted) or "none"
        yield Para(f"Fitted: {names}. What each of them does was left out of this paper.")
        return
    for fitted, title in ((True, "Measures fitted, and why"), (False, "Measures left out, and why")):
        chosen = [one for one in found.why if one.fitted is fitted]
        yield Heading(title)
        if not chosen:
            yield Para("None.")
            continue
        yield table(
            (
                ("Measure", "left", 2.0),
                ("Cost", "right", 0.9),
                ("Mass", "right", 0.8),
                ("Fitting", "right", 0.8),
                ("Why", "left", 4.2),
            ),
            [measure_row(one, found) for one in chosen],
        )


def measure_row(one: Reason, found: Gathered) -> tuple[str, ...]:
    """One measure."""
    return (
        one.title,
        f"{number(one.cost)} {found.verdict.currency}",
        found.units.mass(one.mass),
        f"{number(one.labour / minute)} min",
        told(one, found.titles, found.units),
    )


# --- heat and flows ---------------------------------------------------------------------------------------
def heat_section(found: Gathered) -> Iterator[Block]:
    """Heat balance of every duty."""
    duties, units = found.verdict.duties, found.units
    yield Heading("Heat balance")
    yield Figure(
        balance_plot(duties, units),
        "Mean heat of each duty by where it goes; the table below has the figures.",
        "Where the fuel's heat goes, mean while the engine runs.",
    )
    names = list(duties[0].balance)
    columns: Columns = (
        ("Duty", "left", 1.6),
        *((SHORT_NAMES.get(n, n).capitalize(), "right", 1.0) for n in names),
        ("Ambient", "right", 1.0),
        ("Closes to", "right", 0.8),
    )
    rows = [
        (
            d.name,
            *(number(d.balance[n] / 1e3, 1) for n in names),
            units.temperature(d.ambient),
            f"{abs(d.closure):.0e}",
        )
        for d in duties
    ]
    yield table(
        columns,
        rows,
        note="kW, mean while the engine runs. Closes to: heat in less out less stored, over heat put in.",
    )


def flow_section(found: Gathered) -> Iterator[Block]:
    """Air, coolant running and after key-off, oil, in the duty of the tightest liquid or part."""
    key = flow_duty(found)
    run, units, variant = found.solved[key].run, found.units, found.variant
    name, row = found.solved[key].duty.name, running_row(found.solved[key].run)
    yield Heading(f"Flows in {within(name)}")

    def liquid(section: str) -> Callable[[float], str]:
        density = density_of(variant, section)
        return lambda flow: units.volume_flow(flow / density)

    def bare(flow: float) -> str:
        return units.mass_flow(flow).split(" ")[0]

    unit = units.mass_flow(1.0).split(" ")[1]
    air = air_flows(variant, run, row)
    yield Figure(
        flow_plot(air, units, bare, 4.7),
        in_words(air, units, bare),
        f"Air at {clock(air.time)}, engine running: flows in {unit}, zones with their temperatures.",
    )
    pictures: list[tuple[str, int, str]] = [("coolant", row, "engine running")]
    after = soak_row(run)
    if after is not None:
        pictures.append(
            ("coolant", after, f"{minutes(float(run.time[after]) - run.duty.key_off)} after key-off")
        )
    pictures += [(path, row, "engine running") for path in variant.liquids if path != "coolant"]
    for section, at, when in pictures:
        flows = liquid_flows(variant, run, at, section)
        height = 3.9 if len(flows.places) > 6 else 2.6
        yield Figure(
            flow_plot(flows, units, liquid(section), height),
            in_words(flows, units, liquid(section)),
            f"{flows.title} at {clock(flows.time)}, {when}. Boxes stand at their heights, moved apart where they would overlap.",
        )


def flow_duty(found: Gathered) -> str:
    """Duty of the tightest liquid, else of the tightest part."""
    liquids_ = tuple(f"{path}." for path in found.variant.liquids)
    liquids = [one for one in found.worst if one.part.startswith(liquids_)]
    return (liquids or found.worst)[0].duty


def in_words(flows: object, units: object, text: Callable[[float], str]) -> str:
    """The largest flows of a drawing as a sentence."""
    ways = sorted(flows.ways, key=lambda way: -abs(way.flow))[:8]  # type: ignore[attr-defined]
    return "Largest flows: " + "; ".join(f"{way.title} {text(abs(way.flow))}" for way in ways) + "."


# --- assumptions, sources, inputs -------------------------------------------------------------------------
def assumptions_section(found: Gathered) -> Iterator[Block]:
    """Values with a spread, those that matter most first; limits with their sources."""
    units = found.units
    all_ = assumptions(found.variant, found.verdict)
    yield Heading("Assumptions and their sources")
    rows = [
        (
            f"{one.path}: {within(one.meaning)}" if one.meaning else one.path,
            f"{one.value} {one.spread}",
            f"{units.difference(one.worth, 1)}, {within(found.titles.get(one.part, one.part))}"
            if one.part
            else MISSING,
            one.source or "none given",
        )
        for one in all_[:MOST_ASSUMPTIONS]
    ]
    note = "Spread: half width that holds about 95 % of cases. Worth: what one standard deviation of the value does to the margin it moves most."
    if len(all_) > MOST_ASSUMPTIONS:
        note += f" {len(all_) - MOST_ASSUMPTIONS} further values that matter less stand in the record."
    yield table(
        (("Value", "left", 3.4), ("Taken as", "left", 1.7), ("Worth", "left", 1.9), ("Source", "left", 1.8)),
        rows,
        note=note,
    )
    yield Heading("Limits and their sources", 2)
    by_source: dict[tuple[str, str], list[str]] = {}
    for title, source, full in limit_sources(found.variant):
        by_source.setdefault((source, full), []).append(title)
    yield table(
        (("Source as given", "left", 1.8), ("Stands for", "left", 3.2), ("Limit of", "left", 2.6)),
        [
            (source, full or MISSING, ", ".join(within(t) for t in titles))
            for (source, full), titles in by_source.items()
        ],
    )


def sources_section(found: Gathered) -> Iterator[Block]:
    """Citations of models and data used in this run."""
    columns: Columns = (("For", "left", 1.7), ("In the program", "left", 2.6), ("Source", "left", 3.3))
    yield Heading("Models used in this run")
    yield table(columns, [(c.what, c.model, c.source) for c in models(found.variant)])
    yield Heading("Data used in this run")
    yield table(columns, [(c.what, c.model, c.source) for c in data(found.variant)])


def inputs_section(found: Gathered) -> Iterator[Block]:
    """Versions and hashes."""
    yield Heading("Inputs and versions")
    yield table(
        (("File", "left", 2.2), ("Bytes", "right", 0.7), ("SHA-256", "left", 5.0)),
        [(one.name, number(one.size), one.sha256) for one in found.inputs],
    )
    yield Facts(tuple((name, value) for name, value in found.verdict.versions.items()))
    yield Para(
        "To compute this again: take these files, the versions named, and run `heatproof release PROJECT --verify RECORD.json`.",
        "small",
    )


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
