"""The test card: one page or two for the person who fits the sensors and drives, as plain HTML to print."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

STYLE = """
@page { size: A4; margin: 14mm; }
body { font: 10.5pt/1.35 "Noto Sans", "DejaVu Sans", sans-serif; color: #111; max-width: 186mm; margin: 8mm auto; }
h1 { font-size: 17pt; margin: 0 0 1mm; } h2 { font-size: 12pt; margin: 6mm 0 1.5mm; }
p { margin: 1mm 0; } .small { color: #444; font-size: 9.5pt; }
table { border-collapse: collapse; width: 100%; margin: 1mm 0 2mm; }
th, td { border-bottom: 0.3mm solid #bbb; text-align: left; padding: 1.1mm 2mm 1.1mm 0; vertical-align: top; }
th { border-bottom: 0.5mm solid #111; font-weight: 600; } td.n, th.n { text-align: right; white-space: nowrap; }
td.box { min-width: 22mm; border: 0.3mm solid #666; } tr { break-inside: avoid; } section { break-inside: avoid-page; }
.stop { border: 0.6mm solid #b00020; padding: 2mm 3mm; margin: 3mm 0; } ul { margin: 1mm 0 1mm 5mm; padding: 0; }
.sign td { height: 11mm; border: 0.3mm solid #666; padding: 1mm 2mm; width: 50%; }
"""


@dataclass(frozen=True)
class CardSensor:
    """Texts of one sensor. number: as written on its plug."""

    number: int
    place: str
    title: str
    kind: str
    response: str
    mind: tuple[str, ...]


@dataclass(frozen=True)
class CardReading:
    """Texts of one sensor in one run."""

    number: int
    title: str
    expected: str
    when: str
    passes: str
    fails: str


@dataclass(frozen=True)
class CardRun:
    """One duty to drive: title, how, how often, and what its sensors should show."""

    title: str
    how: str
    times: int
    readings: tuple[CardReading, ...]


@dataclass(frozen=True)
class TestCard:
    """Everything on the card, as text."""

    __test__ = False  # not a test of pytest

    project: str
    revision: str
    fitted: str
    why: str
    day: str
    sensors: tuple[CardSensor, ...]
    runs: tuple[CardRun, ...]
    cautions: tuple[str, ...]


def card_html(card: TestCard) -> str:
    """The page. Every text is escaped."""
    body = [
        f"<h1>Test card: {escape(card.project)}</h1>",
        f'<p class="small">{escape(card.revision)} Fitted: {escape(card.fitted)}.</p>',
        f"<p>{escape(card.why)}</p><p>{escape(card.day)}</p>",
        stop_box(),
        "<h2>Sensors</h2>",
        table(
            ("No.", "Where", "Kind", "Response", "Mind"),
            [sensor_row(s) for s in card.sensors],
            numbers=(0, 3),
        ),
        *[run_section(run) for run in card.runs],
        "<h2>Cautions</h2><ul>" + "".join(f"<li>{escape(c)}</li>" for c in card.cautions) + "</ul>",
        signatures(),
    ]
    head = f'<meta charset="utf-8"><title>Test card: {escape(card.project)}</title><style>{STYLE}</style>'
    return f'<!doctype html><html lang="en"><head>{head}</head><body>{"".join(body)}</body></html>\n'


def stop_box() -> str:
    """When to break off."""
    return (
        '<div class="stop"><b>Break off and stand the car in free air</b> when a reading passes its “over” value, '
        "when coolant or brake warning comes on, at smoke, a smell of fuel or burning, or a soft brake pedal. "
        "Log on through the soak: parts keep getting hotter after key-off. Two people; extinguisher within reach.</div>"
    )


def sensor_row(s: CardSensor) -> tuple[str, ...]:
    """Cells of one sensor, escaped."""
    where = f"<b>{escape(s.title)}</b><br><span class='small'>{escape(s.place)}</span>"
    mind = "<br>".join(escape(text) for text in s.mind)
    return str(s.number), where, escape(s.kind), escape(s.response), f"<span class='small'>{mind}</span>"


def run_section(run: CardRun) -> str:
    """One duty with its table."""
    times = "once" if run.times == 1 else f"{run.times} times"
    rows = [
        (
            str(r.number),
            escape(r.title),
            escape(r.expected),
            escape(r.when),
            escape(r.passes),
            escape(r.fails),
            "",
        )
        for r in run.readings
    ]
    heads = ("No.", "Sensor", "Peak expected", "When", "Pass up to", "Over from", "Read")
    return (
        f"<section><h2>Run: {escape(run.title)}, {times}</h2><p>{escape(run.how)}</p>"
        f"{table(heads, rows, numbers=(0, 2, 3, 4, 5), box=6)}</section>"
    )


def table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, numbers: Sequence[int] = (), box: int = -1
) -> str:
    """An HTML table; cells are escaped already. numbers: columns set to the right; box: an empty one to write in."""

    def mark(k: int) -> str:
        return ' class="box"' if k == box else ' class="n"' if k in numbers else ""

    top = "".join(f"<th{mark(k) if k != box else ''}>{escape(h)}</th>" for k, h in enumerate(heads))
    lines = ["".join(f"<td{mark(k)}>{cell}</td>" for k, cell in enumerate(row)) for row in rows]
    return f"<table><thead><tr>{top}</tr></thead><tbody>{''.join(f'<tr>{x}</tr>' for x in lines)}</tbody></table>"


def signatures() -> str:
    """Who fitted, who drove, who checked."""
    rows = (
        ("Sensors fitted and checked by, date", "Driven by, date"),
        ("Ambient, wind, sun, fuel", "Reviewed and signed by a qualified person, date"),
    )
    lines = "".join(f"<tr><td>{escape(a)}</td><td>{escape(b)}</td></tr>" for a, b in rows)
    return f'<h2>Record</h2><table class="sign small">{lines}</table>'
