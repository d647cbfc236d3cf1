"""Unit expressions: products, quotients, powers, prefixes: `W/m2/K`, `W/(m2 K)`, `m·s⁻²`, `1/min`."""

import difflib
import re
from functools import lru_cache

from heatproof.units.quantity import UnitError
from heatproof.units.table import NONE, PLAIN, PREFIXED, PREFIXES, Dimension

SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
TOKEN = re.compile(
    r"\s*(?:(?P<times>\*(?!\*)|·|⋅|×)|(?P<over>/)|(?P<open>\()|(?P<close>\))"
    r"|(?P<name>inH2O|mmH2O|[A-Za-zµμ°℃℉%]+|1(?![0-9.]))(?:\s*(?:\^|\*\*)\s*\(?(?P<marked>-?\d)\)?|(?P<power>-?\d))?)"
)
LONGEST = 60

Unit = tuple[float, Dimension]


@lru_cache(maxsize=4096)
def unit(text: str) -> Unit:
    """`(factor to SI, dimension)` of a unit expression. UnitError where it cannot be read one way only."""
    if len(text) > LONGEST:
        raise UnitError("unit is too long", got=text[:LONGEST] + "…", next_step="write a unit such as W/m2/K")
    parser = _Parser(text.translate(SUPERSCRIPTS))
    result = parser.expression()
    if parser.rest.strip():
        raise UnitError(f"cannot read {parser.rest.strip()!r} in the unit", got=text)
    return result


class _Parser:
    """Recursive descent over one unit expression."""

    def __init__(self, text: str) -> None:
        self.text = self.rest = text

    def expression(self) -> Unit:
        """factor { (* | / | blank) factor }; a product after a quotient is ambiguous and refused."""
        result, divided = self._factor(), False
        while self.rest.strip() and not self.rest.lstrip().startswith(")"):
            over, times = self._take("over"), False
            if not over:
                times = self._take("times")
            if not over and divided:
                raise UnitError(
                    "a product after a quotient can be read two ways",
                    got=self.text,
                    next_step="use brackets or a second stroke: W/(m2 K) or W/m2/K",
                )
            if not over and not times and self.rest[:1] not in (" ", "("):
                raise UnitError(f"cannot read {self.rest!r} in the unit", got=self.text)
            divided = divided or over
            result = _product(result, self._factor(), -1 if over else 1)
        return result

    def _factor(self) -> Unit:
        if self._take("open"):
            inner = self.expression()
            if not self._take("close"):
                raise UnitError("a bracket is not closed", got=self.text)
            return inner
        match = TOKEN.match(self.rest)
        if match is None or match["name"] is None:
            raise UnitError("a unit is missing", got=self.text)
        self.rest = self.rest[match.end() :]
        power = int(match["marked"] or match["power"] or 1)
        factor, dimension = named_unit(match["name"])
        return _power((factor, dimension), power)

    def _take(self, group: str) -> bool:
        match = TOKEN.match(self.rest)
        if match is None or match[group] is None:
            return False
        self.rest = self.rest[match.end() :]
        return True


def named_unit(name: str) -> Unit:
    """A unit by its name, with or without a prefix. UnitError with the nearest known name."""
    if name in PLAIN:
        return PLAIN[name]
    if name in PREFIXED:
        return PREFIXED[name]
    prefix, rest = name[:1], name[1:]
    if prefix in PREFIXES and rest in PREFIXED:
        factor, dimension = PREFIXED[rest]
        return PREFIXES[prefix] * factor, dimension
    raise UnitError(f"unknown unit {name!r}", got=name, nearest=nearest_unit(name))


def nearest_unit(name: str) -> str:
    """The known unit most like `name`, or an empty text."""
    known = [*PLAIN, *PREFIXED, *(p + u for p in "mck" for u in ("m", "g", "W", "J", "Pa", "L", "bar"))]
    same = [u for u in known if u.lower() == name.lower()]
    return (same or difflib.get_close_matches(name, known, n=1, cutoff=0.5) or [""])[0]


def _power(base: Unit, power: int) -> Unit:
    factor, dimension = base
    return factor**power, _scaled(dimension, power)


def _product(left: Unit, right: Unit, sign: int) -> Unit:
    factor = left[0] * right[0] if sign > 0 else left[0] / right[0]
    a, b = left[1], _scaled(right[1], sign)
    return factor, (a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3], a[4] + b[4], a[5] + b[5])


def _scaled(dimension: Dimension, power: int) -> Dimension:
    if dimension is NONE:
        return NONE
    a, b, c, d, e, f = dimension
    return a * power, b * power, c * power, d * power, e * power, f * power
