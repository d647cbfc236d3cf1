"""Text from a file that is shown: nothing in it steers a terminal or shows as something it is not."""

import unicodedata

DIRECTIONS = {
    "\u061c",
    "\u200e",
    "\u200f",
    *map(chr, range(0x202A, 0x202F)),
    *map(chr, range(0x2066, 0x206A)),
}
"""Marks that turn the direction of the text behind them: a name could show another than it is."""


def visible(text: str, *, breaks: bool = False) -> str:
    """The text with everything that would steer a terminal spelled out, `\\x1b` for an escape; `breaks` keeps new lines.

    Control characters (C0, C1, DEL), line and paragraph separators, marks of direction and lone surrogates count.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(c if harmless(c) or (breaks and c == "\n") else spelled(c) for c in text)


def harmless(character: str) -> bool:
    """Whether it only shows."""
    return unicodedata.category(character) not in ("Cc", "Zl", "Zp", "Cs") and character not in DIRECTIONS


def spelled(character: str) -> str:
    """`\\n`, `\\x1b`, `\\u202e`."""
    return character.encode("unicode_escape", "surrogatepass").decode()
