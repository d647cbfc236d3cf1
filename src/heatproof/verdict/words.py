"""Numbers and sentences as people read them: true minus, K for differences, degC for temperatures."""

from heatproof.units.si import degC as _degC

ZERO_C = _degC(0.0)  # K
MINUS, THIN_SPACE, MISSING = "−", "\u202f", "–"  # narrow, does not break
COUNTS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def celsius(kelvin: float) -> float:
    """degC."""
    return kelvin - ZERO_C


def number(value: float, digits: int = 0) -> str:
    """Rounded to decimals, true minus, thin space for thousands; zero has no sign."""
    text = f"{abs(value):,.{digits}f}".replace(",", THIN_SPACE)
    nothing = not any(c in "123456789" for c in text)
    return text if nothing or value >= 0.0 else MINUS + text


def temperature(kelvin: float) -> str:
    """`131 °C`."""
    return f"{number(celsius(kelvin))} °C"


def difference(kelvin: float, digits: int = 0) -> str:
    """`+13 K`, `−6 K`; zero has no sign."""
    text = number(kelvin, digits)
    plain = text.strip("0.") == ""
    return f"{text if plain or kelvin < 0.0 else '+' + text} K"


def margin_digits(margin: float, half: float | None) -> int:
    """Whole kelvin, one decimal where whole ones would contradict the state."""
    half = half or 0.0
    near = abs(margin) < 1.0 or abs(margin - half) < 1.0
    exact = (margin > 0.0, margin >= half)
    shown = (round(margin) > 0, round(margin) >= round(half))
    return 1 if near and exact != shown else 0


def margin_text(margin: float, half: float | None) -> str:
    """`−6 ± 8 K`; without a spread `−6 K`."""
    digits = margin_digits(margin, half)
    signed = difference(margin, digits).removesuffix(" K")
    return f"{signed} K" if half is None else f"{signed} ± {number(half, digits)} K"


def share(fraction: float) -> str:
    """Whole per cent, one decimal above 99, never 100."""
    percent = 100.0 * fraction
    if percent > 99.9:
        return "> 99.9 %"
    if percent > 99.0:
        return f"{number(percent, 1)} %"
    return "< 1 %" if percent < 1.0 else f"{number(percent)} %"


def clock(seconds: float) -> str:
    """Time in a duty: `26:10`, with hours `1:26:10`."""
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02d}:{left:02d}" if hours else f"{minutes}:{left:02d}"


def minutes(seconds: float) -> str:
    """`6 min`, below two minutes `45 s`."""
    return f"{number(seconds)} s" if seconds < 119.5 else f"{number(seconds / 60.0)} min"


def count(n: int) -> str:
    """`five`; from thirteen on in figures."""
    return COUNTS[n] if 0 <= n < len(COUNTS) else number(n)


def kilowatts(watts: float) -> str:
    """`42 kW`, below ten `4.2 kW`."""
    value = watts / 1e3
    return f"{number(value, 0 if abs(value) >= 10.0 else 1)} kW"


def bars(pascals: float) -> str:
    """`0.85 bar`."""
    return f"{number(pascals / 1e5, 2)} bar"


def within(title: str) -> str:
    """A title inside a sentence: first letter small, unless the word is written in capitals."""
    if len(title) > 1 and title[0].isupper() and not title[1].isupper() and not title[1].isdigit():
        return title[0].lower() + title[1:]
    return title
