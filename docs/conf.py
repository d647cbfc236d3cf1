"""The site: Sphinx with MyST over the markdown of this folder; pages of the reference are made from the code first."""

import sys
from pathlib import Path

from docutils import nodes
from latex2mathml.converter import convert

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "src"))

from heatproof import __version__  # noqa: E402
from heatproof.doors.reference import write_pages  # noqa: E402

write_pages(HERE / "reference" / "made")

project = "heatproof"
version = release = __version__
extensions = ["myst_parser"]
myst_enable_extensions = ["dollarmath", "colon_fence"]
myst_heading_anchors = 3
source_suffix = {".md": "markdown"}
root_doc = "index"
exclude_patterns = ["site", "schema", "performance-figures.md"]
html_theme = "furo"
html_title = f"heatproof {__version__}"
html_math_renderer = "mathml"
nitpicky = True
suppress_warnings = ["myst.xref_missing_html", "toc.not_readable", "misc.highlighting_failure"]
linkcheck_timeout = 10


# Mathematics as MathML, drawn by the browser itself: nothing is fetched from anywhere.
def inline_math(self, node):
    """`$…$`."""
    self.body.append(convert(node.astext()))
    raise nodes.SkipNode


def display_math(self, node):
    """`$$…$$`."""
    self.body.append(f'<div class="math">{convert(node.astext(), display="block")}</div>')
    raise nodes.SkipNode


def setup(app):
    """The renderer."""
    app.add_html_math_renderer("mathml", (inline_math, None), (display_math, None))
