"""Text in encodings that have not all our signs: nothing turns into a question mark that has a plain form."""

import codecs
import unicodedata

from heatproof._visible import spelled

PLAIN = {
    "−": "-", "–": "-", "—": "-", "±": "+-", "°": "deg ", "→": "->", "←": "<-", "↔": "<->", "≥": ">=", "≤": "<=",
    "≈": "~", "×": "x", "·": ".", "…": "...", "△": "^", "²": "2", "³": "3", "½": "1/2", "µ": "u", "μ": "u", "Ω": "Ohm",
    "‘": "'", "’": "'", "“": '"', "”": '"', "\u202f": " ", "\u00a0": " ", "\u2009": " ", "•": "*", "━": "-", "╸": "-",
    "╺": "-", "ρ": "rho", "η": "eta", "Δ": "d", "ε": "eps", "Σ": "sum ", "∞": "inf",
}  # fmt: skip
"""What stands for a character that an encoding has not."""

HANDLER = "heatproof-plain"


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
