"""Names of masses and branches as people know them: one wording for terminal, page and papers."""

from heatproof.kit.records.variant import Variant


def spaced(key: str) -> str:
    """A key as words, first letter large."""
    text = key.replace("_", " ").strip()
    return text[:1].upper() + text[1:]


def mass_title(variant: Variant, mass: str) -> str:
    """Title of a mass, a boundary or a cause."""
    room, _, rest = mass.partition(".")
    if mass in variant.parts:
        return variant.parts[mass].title or spaced(mass)
    if room in variant.parts:
        part = variant.parts[room]
        whole = part.title or spaced(room)
        if rest == "skin":
            return (part.cover.title if part.cover else "") or f"{whole}, cover"
        return f"{whole}, {rest.replace('_', ' ').replace('.', ' ')}"
    if room == "air" and rest in variant.air.zones:
        return "Air: " + (variant.air.zones[rest].title or spaced(rest)).lower()
    if room in ("coolant", "oil"):
        return f"{spaced(room)}: " + liquid_title(variant, room, rest.removesuffix(".fluid")).lower()
    if room == "circuits":
        name, _, place = rest.partition(".")
        title = variant.circuits[name].title or spaced(name)
        return f"{title}: " + liquid_title(variant, f"circuits.{name}", place.removesuffix(".fluid")).lower()
    if room == "core":
        return f"Core of the {rest.replace('_', ' ')}"
    if room == "charge":
        return f"Charge air: {rest.replace('_', ' ')}"
    if room == "exhaust":
        return f"Exhaust gas: {rest.replace('_', ' ')}"
    return spaced(mass)


def liquid_title(variant: Variant, section: str, key: str) -> str:
    """Title of a junction or line."""
    record = variant.liquids[section]
    found = record.junctions.get(key) or record.lines.get(key)
    return (found.title if found is not None else "") or spaced(key)


def passage_title(variant: Variant, key: str) -> str:
    """Title of an air passage."""
    found = variant.air.passages.get(key)
    return (found.title if found is not None else "") or spaced(key)
