"""Drawings to cut or check by: outlines true to scale with a bar to check the print, and lines with their heights."""

from dataclasses import dataclass
from html import escape

from heatproof.report.plots import INK

SCALES = (1.0, 0.5, 0.2, 0.1)
ROOM = (160.0, 215.0)  # mm of a page
BAR = 100.0  # mm on paper


@dataclass(frozen=True)
class Outline:
    """A rectangle to be cut or covered: title, width and height in m, what the figures are called."""

    title: str
    width: float
    height: float
    note: str = ""


@dataclass(frozen=True)
class Drawing:
    """svg; its width in mm on paper; scale as `1:2`."""

    svg: str
    width: float
    scale: str


def scale_for(width: float, height: float) -> float:
    """The largest usual scale at which mm by mm fit the page."""
    for scale in SCALES:
        if width * scale <= ROOM[0] and height * scale + 30.0 <= ROOM[1]:
            return scale
    return min(ROOM[0] / width, (ROOM[1] - 30.0) / height)


def template(outline: Outline, wide: str, tall: str) -> Drawing:
    """The outline with its dimensions and a bar of 100 mm. wide, tall: dimensions as the reader reads them."""
    w, h = outline.width * 1e3, outline.height * 1e3
    scale = scale_for(w, h)
    name = f"1:{1 / scale:g}" if scale < 1.0 else "1:1"
    a, b = w * scale, h * scale
    total, tall_mm = max(a, BAR) + 22.0, b + 32.0
    parts = [
        rectangle(16.0, 4.0, a, b),
        cross(16.0 + a / 2, 4.0 + b / 2),
        dimension_across(16.0, 16.0 + a, 4.0 + b + 5.0, wide),
        dimension_up(4.0, 4.0 + b, 11.0, tall),
        scale_bar(16.0, 4.0 + b + 20.0),
    ]
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{total:.3f}mm" height="{tall_mm:.3f}mm" '
        f'viewBox="0 0 {total:.3f} {tall_mm:.3f}" font-family="serif" font-size="3.6" fill="{INK}">'
        f"{''.join(parts)}</svg>"
    )
    return Drawing(svg, total, name)


def line(x1: float, y1: float, x2: float, y2: float, width: float = 0.2) -> str:
    """A line, mm."""
    return f'<line x1="{x1:.3f}" y1="{y1:.3f}" x2="{x2:.3f}" y2="{y2:.3f}" stroke="{INK}" stroke-width="{width}"/>'


def rectangle(x: float, y: float, w: float, h: float) -> str:
    """The outline to cut along."""
    return f'<rect x="{x:.3f}" y="{y:.3f}" width="{w:.3f}" height="{h:.3f}" fill="none" stroke="{INK}" stroke-width="0.4"/>'


def cross(x: float, y: float) -> str:
    """Middle of the outline."""
    return line(x - 4, y, x + 4, y, 0.15) + line(x, y - 4, x, y + 4, 0.15)


def text(x: float, y: float, words: str, turn: float = 0.0) -> str:
    """Centred words."""
    turned = f' transform="rotate({turn:g} {x:.3f} {y:.3f})"' if turn else ""
    return f'<text x="{x:.3f}" y="{y:.3f}" text-anchor="middle"{turned}>{escape(words)}</text>'


def dimension_across(x1: float, x2: float, y: float, words: str) -> str:
    """A dimension below the outline."""
    ends = line(x1, y - 2, x1, y + 2) + line(x2, y - 2, x2, y + 2)
    return line(x1, y, x2, y) + ends + text((x1 + x2) / 2, y + 4.4, words)


def dimension_up(y1: float, y2: float, x: float, words: str) -> str:
    """A dimension beside the outline."""
    ends = line(x - 2, y1, x + 2, y1) + line(x - 2, y2, x + 2, y2)
    return line(x, y1, x, y2) + ends + text(x - 2.2, (y1 + y2) / 2, words, -90.0)


def scale_bar(x: float, y: float) -> str:
    """100 mm on paper, in tenths."""
    ticks = "".join(line(x + k * 10, y - (2 if k % 5 == 0 else 1.2), x + k * 10, y) for k in range(11))
    words = "This bar must measure 100 mm on paper. If not, print again at 100 %."
    return line(x, y, x + BAR, y, 0.35) + ticks + text(x + BAR / 2, y + 5.0, words)
