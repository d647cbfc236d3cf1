"""Blocks → PDF by typst: tagged, fonts inside, nothing fetched."""

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from heatproof.report.blocks import Document, on_paper
from heatproof.report.extras import need

TEMPLATE = Path(__file__).with_name("document.typ")
STANDARD = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tagged, every figure with words, title and language set; typst checks it."""


def plain(document: Document) -> dict[str, Any]:
    """Data for the template."""
    blocks = [{"kind": type(block).__name__, **asdict(block)} for block in on_paper(document.blocks)]
    return {**asdict(replace(document, blocks=())), "blocks": blocks}


def pdf(document: Document) -> bytes:
    """The document as PDF. Refused where typst is not installed."""
    typst = need("typst")
    made = typst.compile(
        TEMPLATE.read_bytes(),
        format="pdf",
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(plain(document), ensure_ascii=False)},
        pdf_standards=[STANDARD],
    )
    return bytes(made)
