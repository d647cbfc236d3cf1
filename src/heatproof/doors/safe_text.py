"""Text that is safe and readable on any terminal: nothing from a file steers it, nothing turns into a question mark."""

import codecs
import unicodedata

PLAIN = {
    "−": "-", "–": "-", "—": "-", "±": "+-", "°": "deg ", "→": "->", "←": "<-", "↔": "<->", "≥": ">=", "≤": "<=",
    "≈": "~", "×": "x", "·": ".", "…": "...", "△": "^", "²": "2", "³": "3", "½": "1/2", "µ": "u", "μ": "u", "Ω": "Ohm",
    "‘": "'", "’": "'", "“": '"', "”": '"', "\u202f": " ", "\u00a0": " ", "\u2009": " ", "•": "*", "━": "-", "╸": "-",
    "╺": "-", "ρ": "rho", "η": "eta", "Δ": "d", "ε": "eps", "Σ": "sum ", "∞": "inf",
}  # fmt: skip
"""What stands for a character that an encoding has not."""

DIRECTIONS = {
    "\u061c",
    "\u200e",
    "\u200f",
    *map(chr, range(0x202A, 0x202F)),
    *map(chr, range(0x2066, 0x206A)),
}
"""Marks that turn the direction of the text behind them: a name could show another than it is."""
HANDLER = "heatproof-plain"


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


def in_encoding(text: str, encoding: str) -> str:
    """The text in characters that the encoding has: true minus as `-`, `±` as `+-`; `?` only where nothing is near."""
    return text.encode(encoding, HANDLER).decode(encoding)


def nearest_plain(error: UnicodeError) -> tuple[str, int]:
    """Handler of characters an encoding has not. The stand-in is ASCII, so that every encoding has it."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    texts = []
    for character in error.object[error.start : error.end]:
        if "\ud800" <= character <= "\udfff":
            texts.append(spelled(character))
            continue
        base = unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode()
        texts.append(PLAIN.get(character) or base or "?")
    return "".join(texts), error.end


codecs.register_error(HANDLER, nearest_plain)
