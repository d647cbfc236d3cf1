"""For the one who drives it: what the kit is rated for, what to watch, how to cool down, what is excluded."""

from collections.abc import Iterator

from heatproof.network import signals as S
from heatproof.report.blocks import Block, Bullets, Document, Facts, Heading, Para, table
from heatproof.report.flows import circuit_title
from heatproof.report.gathered import Gathered
from heatproof.report.record import uses
from heatproof.report.sheets.common import cautions_of, note, peak_of, sheet
from heatproof.verdict.words import minutes, number, share, within


def customer_sheet(found: Gathered) -> Document:
    """One page or two, plain words."""
    blocks = [*rated(found), *watched(found), *cooling_down(found), *fluids(found), *excluded(found)]
    return sheet(
        "Owner's sheet", found, blocks, cautions=cautions_of(found), signs=("Handed over by", "Owner")
    )


def rated(found: Gathered) -> Iterator[Block]:
    """Ambient by use at full boost."""
    units = found.units
    yield Heading("What it is rated for")
    cells = [one for one in found.cells if one["level"] == 1.0]
    if not cells:
        yield Para("No rating was made for this sheet.")
        return
    rows = []
    for one in cells:
        names = ", ".join(within(d.name) for d in found.project.duties.values() if d.use == one["use"])
        ambient = (
            "not rated"
            if one["ambient"] is None
            else f"up to {units.temperature(units.rounded_down(one['ambient']))}"
        )
        rows.append((one["use"].capitalize(), ambient, names))
    yield table(
        (("Use", "left", 1.0), ("Outside temperature", "left", 1.4), ("As judged in", "left", 3.0)), rows
    )
    power = max(d.power for d in found.verdict.duties)
    yield Para(
        f"With the engine as tuned by the shop, up to {units.power(power)}. Rated means: every part judged stays below its limit "
        f"with {share(found.verdict.required)} confidence by computation; it is no promise for other uses, tunes or parts."
    )


def watched(found: Gathered) -> Iterator[Block]:
    """Gauges and their limits."""
    units = found.units
    yield Heading("What to watch")
    rows = []
    for section, record in found.variant.liquids.items():
        name = circuit_title(found.variant, section)
        for key, junction in record.junctions.items():
            limit = junction.limit
            if limit is None or (limit.continuous is None and limit.short is None):
                continue
            ease = limit.continuous or limit.short
            stop = limit.short or limit.continuous
            peak = peak_of(found, f"{section}.{key}")
            seen = f"{units.temperature(peak[0])}, {within(peak[1])}" if peak else "–"
            rows.append(
                (
                    f"{name}: {within(junction.title or key)}",
                    seen,
                    units.temperature(ease or 0.0),
                    units.temperature(stop or 0.0),
                )
            )
    if rows:
        yield table(
            (
                ("Gauge", "left", 2.2),
                ("Hottest expected", "left", 2.2),
                ("Ease off above", "right", 1.1),
                ("Stop above", "right", 1.0),
            ),
            rows,
        )
    yield Bullets(
        (
            "Ease off: less throttle, higher gear, heater on hot and full. Stop: park safely, engine idling if oil pressure is good, bonnet shut, cap shut.",
            "Smell of hot oil, coolant or rubber, or smoke: stop, key off, keep away until it is cold, have it looked at.",
            "Once a month, cold: levels, hoses near the turbo, sleeves and blanket. An oil-soaked blanket must be replaced.",
        )
    )


def cooling_down(found: Gathered) -> Iterator[Block]:
    """From the duties: how long it idled before key-off, and what happened then."""
    units = found.units
    yield Heading("Cool-down")
    idles = [duty.idle_before_key_off for duty in found.project.duties.values()]
    turbo = found.variant.turbo
    texts = []
    if turbo is not None:
        peak = peak_of(found, turbo.part_bearing)
        bearing = found.variant.parts[turbo.part_bearing].limit
        if peak is not None and bearing is not None and bearing.continuous is not None:
            texts.append(
                f"After key-off the turbo's bearing housing reaches up to {units.temperature(peak[0])}; oil begins to coke at {units.temperature(bearing.continuous)}."
            )
    boiled = [one.duty.name for one in found.solved.values() if float(one.run.boiled.max(initial=0.0)) > 0.0]
    if boiled:
        texts.append(
            f"By computation coolant boils in the turbo after {', '.join(within(name) for name in boiled)}: drive the last minutes gently and do not switch off hot."
        )
    least = f"with as little as {minutes(min(idles))} of" if min(idles) > 0.0 else "without any"
    texts.append(
        f"Judged {least} idling before key-off. Drive the last two minutes gently all the same (common practice, no source)."
    )
    fan = found.variant.air.fan
    if fan is not None and fan.run_on > 0.0:
        texts.append(f"The fan may run for up to {minutes(fan.run_on)} after key-off. Keep hands away.")
    yield Bullets(tuple(texts))


def fluids(found: Gathered) -> Iterator[Block]:
    """Oil, coolant, cap."""
    units, coolant = found.units, found.variant.coolant
    hottest = max(
        float(one.run.state[:, one.run.network.mass(name)].max())
        for one in found.solved.values()
        for name in one.run.network.masses
        if name.startswith("oil.")
    )
    boost = max(
        float(one.run.signal[:, S.MANIFOLD_PRESSURE].max()) - one.run.around.pressure
        for one in found.solved.values()
    )
    yield Heading("Oil and coolant")
    yield Facts(
        (
            (
                "Oil",
                f"{found.variant.oil.grade}, fully synthetic; it sees up to {units.temperature(hottest)}",
            ),
            (
                "Coolant",
                f"{number(100 * coolant.glycol)} % glycol by volume, cap {units.pressure(coolant.cap_pressure)} over ambient",
            ),
            ("Boost", f"up to {units.pressure(max(boost, 0.0))} over ambient"),
        )
    )
    yield note("Change intervals: as the car's maker says for severe use, or shorter.")


def excluded(found: Gathered) -> Iterator[Block]:
    """What was not judged."""
    left_out = [one.title for one in found.why if not one.fitted]
    highest = max(duty.air.altitude or 0.0 for duty in found.project.duties.values())
    items = [
        f"Uses other than {', '.join(uses(found))} as described above, and hotter days than rated.",
        f"Altitudes far above {number(highest)} m, the highest judged.",
        "Other tunes, other fuels, more boost; parts or panels added or left off near the turbo or in front of the radiator.",
        "A blocked grille, bent fins, a slipping belt, low levels, oil-soaked insulation.",
    ]
    if left_out:
        items.append(f"Offered but not part of this revision: {', '.join(within(t) for t in left_out)}.")
    yield Heading("Excluded")
    yield Bullets(tuple(items))
