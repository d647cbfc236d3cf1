"""Column name to quantity, with misspellings. Every answer says how sure it is."""

import difflib
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from heatproof.logs.reading.log_units import BY_SPELLING, LogUnit, mend_text, parse_unit
from heatproof.logs.reading.quantities import TABLE, Quantity

Sureness = Literal["exact", "near", "none"]

SYNONYMS = {
    "temperature": "temp",
    "tine": "time",
    "tmp": "temp",
    "temps": "temp",
    "temperatur": "temp",
    "degc": "",
    "degf": "",
    "water": "coolant",
    "inlet": "in",
    "outlet": "out",
    "intercooler": "charge cooler",
    "cac": "charge cooler",
    "aftercooler": "charge cooler",
    "chargecooler": "charge cooler",
    "precooler": "charge cooler in",
    "gearbox": "transmission",
    "press": "pressure",
    "prs": "pressure",
    "pos": "position",
    "posn": "position",
    "abs": "absolute",
    "turbocharger": "turbo",
    "outdoor": "ambient",
    "outside": "ambient",
    "exterior": "ambient",
    "underbonnet": "bay",
    "underhood": "bay",
    "before": "pre",
    "after": "post",
    "revs": "rpm",
    "gas": "",
    "the": "",
    "sensor": "",
    "from": "",
    "of": "",
    "at": "",
    "raw": "",
    "value": "",
    "signal": "",
    "engine_coolant": "engine coolant",
    "bank": "",
    "b1s1": "",
    "s1": "",
    "d": "",
    "e": "",
    "throttle_b": "throttle",
    # German, umlauts written out.
    "kuehlwassertemperatur": "coolant temp",
    "kuehlmitteltemperatur": "coolant temp",
    "wassertemperatur": "coolant temp",
    "motortemperatur": "engine temp",
    "oeltemperatur": "oil temp",
    "motoroeltemperatur": "engine oil temp",
    "getriebeoeltemperatur": "gearbox oil temp",
    "ansauglufttemperatur": "intake air temp",
    "ansaugtemperatur": "intake temp",
    "saugrohrtemperatur": "manifold air temp",
    "ladelufttemperatur": "charge air temp",
    "abgastemperatur": "exhaust gas temp",
    "katalysatortemperatur": "catalyst temp",
    "aussentemperatur": "ambient temp",
    "umgebungstemperatur": "ambient temp",
    "zylinderkopftemperatur": "cylinder head temp",
    "saugrohrdruck": "manifold pressure",
    "ladedruck": "charge pressure",
    "umgebungsdruck": "ambient pressure",
    "luftdruck": "ambient pressure",
    "oeldruck": "oil pressure",
    "motordrehzahl": "engine rpm",
    "geschwindigkeit": "speed",
    "fahrzeuggeschwindigkeit": "vehicle speed",
    "luftmasse": "air mass",
    "luftmassenstrom": "air mass flow",
    "drosselklappe": "throttle",
    "drosselklappenstellung": "throttle position",
    "fahrpedal": "pedal",
    "gaspedal": "pedal",
    "motorlast": "engine load",
    "zuendwinkel": "ignition timing",
    "zuendzeitpunkt": "ignition timing",
    "batteriespannung": "battery voltage",
    "laufzeit": "run time",
    "uhrzeit": "clock",
    "gang": "gear",
    "hoehe": "altitude",
    "strecke": "distance",
}
ONLY_ALONE = frozenset(
    {"long", "lat", "lon", "alt", "act", "t", "day", "load", "fan", "timing", "lap", "map", "app"}
)
"""Words that mean a quantity when they are the whole name, and something else beside others: the long term of a
fuel trim is no longitude."""
UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})


@dataclass(frozen=True)
class NameGuess:
    """What a column name seems to mean. `quantity` is None when nothing fits or two fit equally."""

    column: str
    quantity: Quantity | None
    unit_text: str
    unit: LogUnit | None
    sure: Sureness
    also: tuple[str, ...] = ()


def guess_name(column: str, unit_text: str = "") -> NameGuess:
    """Quantity and unit of one column from its name and, if there is one, its unit text.

    The unit may stand in `[ ]` or `( )`, behind the last comma or underscore, or in `unit_text`. Its
    dimension excludes quantities that cannot carry it ("oil [kPa]" is a pressure).
    """
    bare, own_unit = split_unit(column)
    text = unit_text.strip() or own_unit
    unit = parse_unit(text) if text else None
    words, near = _words_of(bare)
    ranked = _ranked(words, unit)
    if not ranked:
        return NameGuess(column, None, text, unit, "none")
    best = ranked[0][0]
    tied = [q for score, q in ranked if score == best]
    if len(tied) > 1:
        return NameGuess(column, None, text, unit, "none", tuple(q.key for q in tied))
    also = tuple(q.key for _, q in ranked[1:3])
    return NameGuess(column, tied[0], text, unit, "near" if near or best[1] > 1 else "exact", also)


def split_unit(column: str) -> tuple[str, str]:
    """Name without its unit, and the unit text: `Oil T [°C]` gives (`Oil T`, `°C`)."""
    text = mend_text(column).strip().strip("\"'").strip()
    if found := re.search(r"[\[({<]\s*([^\[\](){}<>]*(?:\([ag]\))?)\s*[\])}>]\s*$", text):
        inside = found.group(1).strip()
        if not inside or parse_unit(inside) is not None or found.group(0).lstrip().startswith("["):
            name, more = split_unit(text[: found.start()])
            return name, inside or more
    for cut in (",", "_", " ", "/", "."):
        head, _, tail = text.rpartition(cut)
        if head and len(tail) > 1 and tail.lower().strip("°") in BY_SPELLING and not _is_word(tail):
            return head.strip(" _,-"), tail
        if head and (tail.startswith("°") or tail in {"C", "F", "K", "V", "%"}) and parse_unit(tail):
            return head.strip(" _,-"), tail
    return text, ""


def _is_word(tail: str) -> bool:
    """Unit spellings that are more likely part of a name."""
    return tail.lower() in {
        "rpm",
        "ratio",
        "lambda",
        "none",
        "min",
        "seconds",
        "second",
        "time",
        "us",
        "ps",
        "gs",
        "volts",
        "volt",
        "percent",
        "mb",
        "cv",
        "pk",
        "gps",
        "1",
    }


@lru_cache(maxsize=1)
def _vocabulary() -> tuple[str, ...]:
    words = {w for row in TABLE for option in row.words for w in option.split()}
    return tuple(sorted(w for w in words | set(SYNONYMS) if len(w) >= 5))


@lru_cache(maxsize=1)
def _options() -> tuple[tuple[Quantity, frozenset[str]], ...]:
    out = []
    for row in TABLE:
        for option in row.words:
            out.append((row, frozenset(_canonical(option.split()))))
    return tuple(out)


def _canonical(words: list[str]) -> list[str]:
    return [part for word in words for part in SYNONYMS.get(word, word).split()]


def _words_of(name: str) -> tuple[frozenset[str], bool]:
    """Canonical words of a name, and whether a misspelling was mended."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name.translate(UMLAUTS))
    raw = [w for w in re.split(r"[^A-Za-z0-9]+", spaced.lower()) if w]
    mended, near = [], False
    for word in _numbers_apart(raw[:12]):
        fixed = _nearest_word(word[:40])
        near |= fixed != word
        mended.append(fixed)
    return frozenset(_canonical(mended)), near


def _numbers_apart(words: list[str]) -> list[str]:
    """EGT1 is the first EGT; T1, T2, T3 are names of their own."""
    out: list[str] = []
    for word in words:
        numbered = re.fullmatch(r"([a-z]{3,})(\d{1,2})", word)
        out += [numbered[1], numbered[2]] if numbered and word not in SYNONYMS else [word]
    return out


@lru_cache(maxsize=4096)
def _nearest_word(word: str) -> str:
    known = _vocabulary()
    if len(word) < 5 or word in known or word in SYNONYMS:
        return word
    found = difflib.get_close_matches(word, known, n=1, cutoff=0.8)
    return found[0] if found else word


def _ranked(words: frozenset[str], unit: LogUnit | None) -> list[tuple[tuple[int, int], Quantity]]:
    """Quantities whose words all occur, best first: most words matched, fewest left over."""
    best: dict[str, tuple[tuple[int, int], Quantity]] = {}
    for row, option in _options():
        if not option or not option <= words or not _fits(row, unit):
            continue
        if (
            len(option) == 1
            and option <= ONLY_ALONE
            and any(w.isalpha() and len(w) > 1 for w in words - option)
        ):
            continue
        score = (-len(option), len(words - option))
        if row.key not in best or score < best[row.key][0]:
            best[row.key] = (score, row)
    return sorted(best.values(), key=lambda item: item[0])


def _fits(row: Quantity, unit: LogUnit | None) -> bool:
    if unit is None:
        return True
    same = row.dimension == unit.dimension
    load_like = {row.dimension, unit.dimension} <= {"share", "ratio"}
    return same or load_like
