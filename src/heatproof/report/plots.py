"""Figures of a document as SVG: margins, heat balance, ledger, rating map. Text is drawn as paths, so they look
the same everywhere; what they show is said in words beside them."""

import io
from collections.abc import Sequence
from typing import Any

from heatproof.report.evidence import Limit, left
from heatproof.report.extras import need
from heatproof.report.ledgers import Ledger
from heatproof.report.reader_units import ReaderUnits
from heatproof.verdict.duty_facts import DutyFacts
from heatproof.verdict.words import number

INK = "#141414"
STATE_INK = {"over": "#a3271b", "thin": "#b07d00", "holds": "#3f6f8f"}
PARTS = ("#3f6f8f", "#b07d00", "#6f8f3f", "#8f3f6f", "#555555", "#c07850", "#70a0a0", "#a0a060")
TEXT_WIDTH = 6.8  # in, of a page


def new_figure(
    height: float, *, left: float = 1.55, bottom: float = 0.42, top: float = 0.12
) -> tuple[Any, Any]:
    """A figure as wide as a page's text and its axes, without a screen. Room left of, below and above the axes, in."""
    need("matplotlib")
    from matplotlib.figure import Figure

    figure = Figure(figsize=(TEXT_WIDTH, height))
    width, tall = TEXT_WIDTH - left - 0.12, height - bottom - top
    axes = figure.add_axes((left / TEXT_WIDTH, bottom / height, width / TEXT_WIDTH, tall / height))
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(labelsize=8, colors=INK)
    return figure, axes


def room_for(names: Sequence[str]) -> float:
    """in left of the axes for the longest name at 8 points."""
    return min(0.3 + 0.063 * max(len(name) for name in names), 3.2)


def svg(figure: Any) -> str:
    """The figure as SVG, the same bytes every time."""
    from matplotlib import rc_context

    out = io.StringIO()
    settings: Any = {"svg.fonttype": "path", "svg.hashsalt": "heatproof"}
    with rc_context(settings):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def margins_plot(limits: Sequence[Limit], units: ReaderUnits, most: int = 24) -> str:
    """Margin of each part in its worst duty as a dot, its spread as a line; what is left counts from 0."""
    shown = list(limits)[:most][::-1]
    figure, axes = new_figure(0.6 + 0.2 * len(shown), left=room_for([one.title for one in shown]))
    for y, one in enumerate(shown):
        half = one.row.half if one.row is not None else None
        ink = STATE_INK[one.state]
        x = units.difference_value(one.margin)
        if half:
            h = units.difference_value(half)
            axes.plot([x - h, x + h], [y, y], color=ink, lw=1.4, solid_capstyle="butt")
        axes.plot(
            x, y, "s" if one.state == "over" else "D" if one.state == "thin" else "o", color=ink, ms=4.5
        )
    axes.axvline(0.0, color=INK, lw=1.0)
    axes.set_yticks(range(len(shown)), [f"{one.title}" for one in shown], fontsize=8)
    axes.set_xlabel(f"margin [{units.step}]; square: over, diamond: thin, dot: holds", fontsize=8)
    axes.grid(axis="x", color="#dddddd", lw=0.5)
    axes.set_axisbelow(True)
    return svg(figure)


def balance_plot(duties: Sequence[DutyFacts], units: ReaderUnits) -> str:
    """Where the fuel's heat goes in each duty: stacked bars of mean power while the engine runs."""
    names = [name for name in duties[0].balance if name not in ("fuel", "compression of the charge")]
    figure, axes = new_figure(0.85 + 0.36 * len(duties), left=0.95, top=0.35)
    for y, duty in enumerate(reversed(duties)):
        start = 0.0
        for k, name in enumerate(names):
            value = duty.balance[name] / 1e3
            axes.barh(y, value, left=start, height=0.62, color=PARTS[k], label=name if y == 0 else None)
            if value > 0.04 * max(d.balance["fuel"] for d in duties) / 1e3:
                axes.text(
                    start + value / 2, y, number(value), ha="center", va="center", fontsize=7.5, color="white"
                )
            start += value
    axes.set_yticks(range(len(duties)), [d.name for d in reversed(duties)], fontsize=8)
    axes.set_xlabel("mean power while the engine runs [kW]", fontsize=8)
    figure.legend(fontsize=7.5, ncols=len(names), loc="upper center", frameon=False)
    return svg(figure)


def ledger_plot(told: Sequence[Ledger], units: ReaderUnits, most: int = 7) -> str:
    """Rise over ambient of each part split by cause: one bar a part, the largest causes named."""
    causes = largest_causes(told, most)
    figure, axes = new_figure(1.15 + 0.36 * len(told), left=room_for([one.title for one in told]), top=0.62)
    for y, one in enumerate(reversed(told)):
        rises = dict(one.causes)
        rest = sum(rise for cause, rise in one.causes if cause not in causes)
        up = down = 0.0
        for k, (cause, rise) in enumerate(
            [*((c, rises.get(c, 0.0)) for c in causes), ("all other causes", rest)]
        ):
            value = units.difference_value(rise)
            start = up if value >= 0.0 else down
            label = cause if y == 0 else None
            axes.barh(y, value, left=start, height=0.62, color=PARTS[k % len(PARTS)], label=label)
            up, down = (up + value, down) if value >= 0.0 else (up, down + value)
    axes.axvline(0.0, color=INK, lw=0.8)
    axes.set_yticks(range(len(told)), [one.title for one in reversed(told)], fontsize=8)
    axes.set_xlabel(f"rise over ambient [{units.step}]", fontsize=8)
    figure.legend(fontsize=7.5, ncols=3, loc="upper center", frameon=False)
    return svg(figure)


def largest_causes(told: Sequence[Ledger], most: int) -> list[str]:
    """Causes that give the most kelvin over all parts."""
    total: dict[str, float] = {}
    for one in told:
        for cause, rise in one.causes:
            total[cause] = total.get(cause, 0.0) + abs(rise)
    return sorted(total, key=lambda cause: -total[cause])[:most]


def rating_plot(cells: Sequence[dict[str, Any]], units: ReaderUnits) -> str:
    """Map: rows uses, columns shares of boost, in each cell the highest ambient and what reaches its limit first."""
    levels = sorted({one["level"] for one in cells})
    uses = list(dict.fromkeys(one["use"] for one in cells))
    figure, axes = new_figure(0.4 + 0.6 * len(uses), left=0.6, bottom=0.3, top=0.05)
    for one in cells:
        r, c = uses.index(one["use"]), levels.index(one["level"])
        held = one["ambient"] is not None
        ink = "#f6d5d0" if not held else "#e3efe2"
        axes.add_patch(rectangle(c, r, ink))
        text = (
            ("over " if one["end"] == "always" else "")
            + units.temperature(units.rounded_down(one["ambient"]))
            if held
            else "no ambient"
        )
        axes.text(c, r - 0.14, text, ha="center", va="center", fontsize=10, weight="bold")
        axes.text(c, r + 0.2, one["title"], ha="center", va="center", fontsize=7.2)
    axes.set_xlim(-0.5, len(levels) - 0.5)
    axes.set_ylim(len(uses) - 0.5, -0.5)
    axes.set_xticks(
        range(len(levels)), [f"{100 * level:.0f} % of the kit's boost" for level in levels], fontsize=8
    )
    axes.set_yticks(range(len(uses)), uses, fontsize=8)
    axes.spines[:].set_visible(False)
    axes.tick_params(length=0)
    return svg(figure)


def rectangle(column: float, row: float, ink: str) -> Any:
    """One cell of a map."""
    from matplotlib.patches import Rectangle

    return Rectangle((column - 0.48, row - 0.46), 0.96, 0.92, facecolor=ink, edgecolor="#888888", lw=0.5)


def by_left(limits: Sequence[Limit]) -> list[Limit]:
    """Least left first, what is over before what is thin."""
    order = {"over": 0, "thin": 1, "holds": 2}
    return sorted(limits, key=lambda one: (order[one.state], left(one)))
