"""Text → SI, as one declaration asks for it: `12 psi gauge`, `35 °C`, `40 cm2`, `85 %`, `6000 rpm`."""

import re
from functools import lru_cache
from math import isfinite

from heatproof.units.grammar import unit
from heatproof.units.quantity import Amount, Quantity, UnitError
from heatproof.units.show import Number, scaled, show
from heatproof.units.table import DIMENSION_NAMES, KELVIN, NONE, PRESSURE, SCALES, WORDED

NUMBER = re.compile(r"\s*([+\-−]?(?:\d+\.?\d*|\.\d+)(?:[eE][+\-−]?\d+)?)(?![\d.,_])\s*")
GAUGE_WORDS = {"gauge": "gauge", "g": "gauge", "absolute": "absolute", "abs": "absolute"}
LONGEST = 100


def read(text: str, quantity: Quantity, currency: str = "") -> float:
    """SI value of a text. UnitError says what is wrong; the declared range is checked as well.

    Temperature in K, gauge pressure in Pa over ambient, rotation in rev/s, money in `currency`.
    """
    number, unit_text = split(text)
    value = _to_si(number, unit_text, quantity, text, currency)
    if not isfinite(value):
        raise UnitError("number is too large", got=text)
    check_range(value, quantity, text)
    return value


def check_range(value: float, quantity: Quantity, got: str) -> None:
    """UnitError where an SI value lies outside the declared range."""
    if quantity.low <= value <= quantity.high:
        return
    low, high = (Amount(show(end, quantity), end, quantity.unit) for end in (quantity.low, quantity.high))
    what = "value is too small" if value < quantity.low else "value is too large"
    if value <= 0 < quantity.low and quantity.kind != "temperature":
        what = "value must be greater than zero"
    raise UnitError(
        what,
        got=got,
        allowed=f"{low} to {high}",
        next_step="check the number and its unit",
        amounts=(low, high),
    )


def read_half_width(text: str, quantity: Quantity, value: float) -> float:
    """Half width (SI, about 95 % of cases lie within) of a spread's text: relative `15 %`, or in the unit.

    A value that is itself in % needs the word: `3 points` or `3 % of value`.
    """
    number, unit_text = split(text)
    width = _half_width(number, unit_text, quantity, value, text)
    if not width >= 0 or not isfinite(width):
        raise UnitError("a spread cannot be negative", got=text)
    return width


def split(text: str) -> tuple[Number, str]:
    """`(number, unit text)`; the unit text may be empty."""
    if len(text) > LONGEST:
        raise UnitError("value is too long", got=text[:LONGEST] + "…")
    match = NUMBER.match(text)
    if match is None:
        hint = (
            "write a decimal point and no thousands mark" if re.match(r"\s*[+\-−]?[\d.,_]*[,_]", text) else ""
        )
        raise UnitError(
            "cannot read a number",
            got=text,
            allowed="a number and a unit",
            next_step=hint or "write e.g. 75 mm",
        )
    return Number(match[1].replace("−", "-")), " ".join(text[match.end() :].split())


def _to_si(number: Number, unit_text: str, quantity: Quantity, text: str, currency: str) -> float:
    if quantity.kind == "money":
        return _money(number, unit_text, text, currency)
    if quantity.kind == "temperature":
        return _temperature(number, unit_text, text)
    if quantity.kind in ("gauge", "absolute"):
        return _pressure(number, unit_text, quantity, text)
    base, word = _unit_and_word(unit_text)
    if word in ("gauge", "absolute"):
        raise UnitError(
            f"this is not a pressure over ambient or vacuum, so {word!r} does not belong here",
            got=text,
            allowed=quantity.unit,
            next_step=f"leave out the word {word!r}",
        )
    if quantity.kind == "difference":
        return _difference(number, base, word, text)
    return scaled(number, factor(base, quantity, text, number))


@lru_cache(maxsize=4096)
def _factor(unit_text: str, wanted: str) -> tuple[float, bool]:
    scale, dimension = unit(unit_text)
    return scale, dimension == unit(wanted)[1]


def factor(unit_text: str, quantity: Quantity, got: str, number: float) -> float:
    """SI factor of a unit that must have the declared dimension."""
    wanted = quantity.unit.removesuffix(" gauge").removesuffix(" absolute")
    if not unit_text:
        if unit(wanted)[1] == NONE:
            return 1.0
        raise UnitError(
            "unit is missing",
            got=got,
            allowed=quantity.unit,
            next_step=f"write the unit, e.g. {number:g} {quantity.unit}",
        )
    try:
        scale, fits = _factor(unit_text, wanted)
    except UnitError as error:
        error.got, error.allowed = got, error.allowed or quantity.unit
        error.next_step = error.next_step or f"write a unit like {quantity.unit}"
        raise
    if not fits:
        raise _wrong_dimension(unit_text, wanted, got, number)
    return scale


def _wrong_dimension(unit_text: str, wanted: str, got: str, number: float) -> UnitError:
    have = DIMENSION_NAMES.get(unit(unit_text)[1], f"a quantity in {unit_text}")
    need = DIMENSION_NAMES.get(unit(wanted)[1], f"a quantity in {wanted}")
    return UnitError(
        f"{unit_text} is {have}, but {need} is needed",
        got=got,
        allowed=wanted,
        nearest=f"{number:g} {wanted}" if wanted.startswith(unit_text) else "",
        next_step=f"give it in {wanted} or another unit of that dimension",
    )


def _temperature(number: Number, unit_text: str, text: str) -> float:
    if unit_text in SCALES:
        scale, offset = SCALES[unit_text]
        value = scaled(number, scale, offset)
        if value < 0:
            raise UnitError("below absolute zero", got=text)
        return value
    if unit_text == "K":
        raise UnitError(
            "K stands for a temperature difference here, but a temperature is needed",
            got=text,
            allowed="degC, degF",
            nearest=f"{number - 273.15:.6g} degC" if number > 200 else "",
            next_step="give the temperature in degC (or degF)",
        )
    what = "unit is missing" if not unit_text else f"{unit_text!r} is not a temperature unit"
    near = f"{number:g} degC" if unit_text.lower() in ("", "c", "°", "celsius", "deg", "degc") else ""
    raise UnitError(
        what, got=text, allowed="degC, degF", nearest=near, next_step=f"write e.g. {number:g} degC"
    )


def _difference(number: Number, base: str, word: str, text: str) -> float:
    if base == "K" and not word:
        return float(number)
    if base in SCALES and word == "difference":
        return scaled(number, SCALES[base][0])
    if base in SCALES:
        raise UnitError(
            f"{base} is a temperature, but a temperature difference is needed",
            got=text,
            allowed="K",
            nearest=f"{number * SCALES[base][0]:.6g} K",
            next_step="write the difference in K",
        )
    if not base:
        raise UnitError("unit is missing", got=text, allowed="K", next_step=f"write e.g. {number:g} K")
    scale, dimension = unit(base)
    if dimension != KELVIN or word:
        raise UnitError(
            f"{base} is not a temperature difference", got=text, allowed="K", next_step="write it in K"
        )
    return scaled(number, scale)


def _unit_and_word(unit_text: str) -> tuple[str, str]:
    """Unit and its trailing word: gauge, absolute, difference, or none."""
    if unit_text in WORDED:
        return WORDED[unit_text]
    base, _, last = unit_text.rpartition(" ")
    if last == "difference":
        return base, "difference"
    return (
        (base, GAUGE_WORDS[last]) if base and last in GAUGE_WORDS and _is_pressure(base) else (unit_text, "")
    )


def _is_pressure(unit_text: str) -> bool:
    try:
        return unit(unit_text)[1] == PRESSURE
    except UnitError:
        return False


def _pressure(number: Number, unit_text: str, quantity: Quantity, text: str) -> float:
    base, word = _unit_and_word(unit_text)
    value = scaled(number, factor(base, quantity, text, number))
    if word == quantity.kind:
        return value
    shown = f"{number:g} {base}"
    if not word:
        raise UnitError(
            "gauge or absolute pressure is not stated",
            got=text,
            allowed=quantity.unit,
            nearest=f"{shown} {quantity.kind}",
            next_step="add the word: gauge (over ambient) or absolute (over vacuum)",
        )
    other = {"gauge": "over the ambient pressure of the day", "absolute": "over vacuum"}[quantity.kind]
    raise UnitError(
        f"{word} pressure, but this one counts {other}",
        got=text,
        allowed=quantity.unit,
        next_step=f"give it as {quantity.kind} pressure; it is not converted by guess",
    )


def _money(number: float, unit_text: str, text: str, currency: str) -> float:
    if re.fullmatch("[A-Z]{3}", unit_text) and (not currency or unit_text == currency):
        return float(number)
    allowed = currency or "a three-letter currency code"
    what = "currency is missing" if not unit_text else f"{unit_text!r} is not the kit's currency"
    raise UnitError(what, got=text, allowed=allowed, next_step=f"write e.g. {number:g} {currency or 'EUR'}")


def _half_width(number: Number, unit_text: str, quantity: Quantity, value: float, text: str) -> float:
    if unit_text == "points" and unit_scale(quantity) == NONE:
        return number * 1e-2
    if unit_text == "% of value":
        return _relative(number, quantity, value, text)
    if unit_text == "%":
        if quantity.unit == "%":
            raise UnitError(
                "a spread in % of a value in % can be read two ways",
                got=text,
                allowed="points, % of value",
                nearest=f"{number:g} points",
                next_step=f"write {number:g} points (of the value's own %) or {number:g} % of value",
            )
        return _relative(number, quantity, value, text)
    if quantity.kind == "temperature":
        return _difference(number, *_unit_and_word(unit_text), text)
    if quantity.kind == "money":
        return _money(number, unit_text, text, "")
    base, _ = _unit_and_word(unit_text)
    return scaled(number, factor(base, quantity, text, number))


def unit_scale(quantity: Quantity) -> tuple[int, ...]:
    """Dimension of a declared unit; temperatures and money have none of use here."""
    if quantity.kind in ("temperature", "money"):
        return KELVIN
    return unit(quantity.unit.removesuffix(" gauge").removesuffix(" absolute"))[1]


def _relative(number: float, quantity: Quantity, value: float, text: str) -> float:
    if quantity.kind == "temperature":
        raise UnitError(
            "a spread in % of a temperature has no meaning",
            got=text,
            allowed="K",
            next_step="write the spread in K",
        )
    return abs(value) * number * 1e-2
