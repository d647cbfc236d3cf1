"""Blocks → one HTML file: nothing fetched, figures inside, prints on the same paper."""

from collections.abc import Callable
from html import escape
from typing import Any

from heatproof.report.blocks import (
    Block,
    Break,
    Bullets,
    Document,
    Facts,
    Figure,
    Heading,
    Notice,
    Para,
    SignOff,
    Table,
    on_paper,
)

STYLE = """
:root { color-scheme: light; }
body { font: 16px/1.45 Georgia, "Times New Roman", serif; color: #141414; background: #fff; margin: 0 auto;
  max-width: 62rem; padding: 1.5rem; font-variant-numeric: tabular-nums lining-nums; }
h1 { font-size: 2rem; margin: 0; } h2 { margin: 2rem 0 .6rem; } h3 { margin: 1.2rem 0 .4rem; }
.sub, .small, figcaption, .note { color: #4a4a4a; } .small, figcaption, .note { font-size: .88rem; }
.lead { font-size: 1.2rem; font-weight: bold; }
.draft { color: #8c1f15; font-weight: bold; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .92rem; margin: .5rem 0; }
th { text-align: left; border-bottom: 2px solid #555; } td { border-bottom: 1px solid #ccc; }
th, td { padding: .2rem .4rem; vertical-align: top; } .r { text-align: right; }
tr.over td { background: #f6d5d0; } tr.thin td { background: #f8e9c4; }
.facts td:first-child { color: #4a4a4a; width: 15rem; } .facts td { border: 0; padding-left: 0; }
.notice { border: 1px solid #555; padding: .6rem 1rem; margin: 1rem 0; background: #f6f6f6; }
.notice.over { border-color: #a3271b; background: #f6d5d0; } .notice.thin { background: #f8e9c4; }
.notice.holds { background: #e3efe2; } .notice p { margin: .3rem 0; }
figure { margin: 1rem 0; } figure svg { max-width: 100%; height: auto; } figure.scale svg { max-width: none; }
.sign td { height: 2.6rem; vertical-align: bottom; }
footer { border-top: 1px solid #999; margin-top: 2rem; padding-top: .5rem; color: #4a4a4a; font-size: .85rem; }
@media print { body { max-width: none; padding: 0; font-size: 10pt; } h2, h3 { break-after: avoid; }
  tr, figure, .notice { break-inside: avoid; } @page { margin: 18mm; } .newpage { break-before: page; } }
"""


def html(document: Document) -> str:
    """The document as one HTML page."""
    body = "\n".join(one_block(block) for block in on_paper(document.blocks))
    draft = '<p class="draft">DRAFT, NOT RELEASED</p>' if document.draft else ""
    return (
        f'<!doctype html>\n<html lang="{document.language}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(document.title)}, {escape(document.subtitle)}</title>\n<style>{STYLE}</style>\n</head>\n"
        f'<body>\n<main>\n<h1>{escape(document.title)}</h1>\n<p class="sub">{escape(document.subtitle)}</p>\n'
        f"{draft}{body}\n</main>\n<footer>{escape(document.running)}<br>{escape(document.foot)}</footer>\n"
        "</body>\n</html>\n"
    )


def one_block(block: Block) -> str:
    """One block as HTML."""
    return BY_KIND[type(block)](block)


def heading(b: Heading) -> str:
    """Section headings count below the title."""
    return f"<h{b.level + 1}>{escape(b.text)}</h{b.level + 1}>"


def para(b: Para) -> str:
    """A paragraph in its tone."""
    name = "" if b.tone == "plain" else f' class="{b.tone}"'
    text = f"<strong>{escape(b.text)}</strong>" if b.tone == "strong" else escape(b.text)
    return f"<p{name}>{text}</p>"


def bullets(b: Bullets) -> str:
    """A list."""
    tag = "ol" if b.numbered else "ul"
    return f"<{tag}>" + "".join(f"<li>{escape(item)}</li>" for item in b.items) + f"</{tag}>"


def cell(tag: str, text: str, align: str) -> str:
    """One cell."""
    side = ' class="r"' if align == "right" else ""
    scope = ' scope="col"' if tag == "th" else ""
    return f"<{tag}{side}{scope}>{escape(text)}</{tag}>"


def table(b: Table) -> str:
    """A table that scrolls by itself where it is too wide."""
    head = "".join(cell("th", text, a) for text, a in zip(b.head, b.align, strict=True))
    rows = []
    for k, row in enumerate(b.rows):
        mark = f' class="{b.marks[k]}"' if b.marks and b.marks[k] else ""
        cells = "".join(cell("td", text, a) for text, a in zip(row, b.align, strict=True))
        rows.append(f"<tr{mark}>{cells}</tr>")
    note = f'<p class="note">{escape(b.note)}</p>' if b.note else ""
    body = "\n".join(rows)
    return f'<div class="wide" tabindex="0"><table><thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table></div>{note}'


def facts(b: Facts) -> str:
    """Label and value."""
    rows = "".join(f"<tr><td>{escape(a)}</td><td>{escape(v)}</td></tr>" for a, v in b.rows)
    return f'<table class="facts"><tbody>{rows}</tbody></table>'


def figure(b: Figure) -> str:
    """The drawing inside the page, named for those who cannot see it."""
    svg = b.svg[b.svg.index("<svg") :]
    size = f' style="width:{b.width}mm"' if b.to_scale else f' style="width:{100 * b.width:.0f}%"'
    kind = ' class="scale"' if b.to_scale else ""
    named = f'<div role="img" aria-label="{escape(b.alt)}"{size}>{svg}</div>'
    return f"<figure{kind}>{named}<figcaption>{escape(b.caption)}</figcaption></figure>"


def notice(b: Notice) -> str:
    """A framed statement."""
    text = f"<p>{escape(b.text)}</p>" if b.text else ""
    return f'<div class="notice {b.mark}"><p><strong>{escape(b.title)}</strong></p>{text}</div>'


def sign_off(b: SignOff) -> str:
    """Lines to be signed."""
    head = "".join(f'<th scope="col">{name}</th>' for name in ("Role", "Name", "Date", "Signature"))
    rows = "".join(
        f"<tr><td>{escape(r)}</td><td>{escape(n)}</td><td>{escape(d)}</td><td></td></tr>"
        for r, n, d in b.rows
    )
    return f'<table class="sign"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'


def page_break(_: Break) -> str:
    """Only in print."""
    return '<div class="newpage"></div>'


BY_KIND: dict[type, Callable[[Any], str]] = {
    Heading: heading,
    Para: para,
    Bullets: bullets,
    Table: table,
    Facts: facts,
    Figure: figure,
    Notice: notice,
    SignOff: sign_off,
    Break: page_break,
}
