"""Makes docs/real-cars.md: the ten drives of a real car beside what the model says of it.

    python docs/real_cars.py            solves everything (some minutes) and writes the page

The car is `tests/real_cars/sheet.yaml`, data sheet and class values; nothing is moved to meet a drive before "after
correction". Two drives, named here before any was solved, are given to `correct`; the other eight are predicted again.
"""

import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from heatproof.assembly.model import lay_network
from heatproof.kit.read import read_project
from heatproof.kit.records.variant import Variant
from heatproof.kit.tree import read_source
from heatproof.logs.cleaning.join import Joined, join
from heatproof.logs.correcting.correct import correct
from heatproof.logs.correcting.correction_fit import TestRun
from heatproof.logs.correcting.parameters import Parameter, applied, parameters_of
from heatproof.logs.correcting.test_day import prepare
from heatproof.logs.predicting.logged_duty import Day
from heatproof.logs.predicting.predict import Reading, history, run_logged, shown_by
from heatproof.logs.reading.read import read_log
from heatproof.logs.reading.records import Floats
from heatproof.logs.reducing.sensor_doubt import PLACEMENT_K, doubt_of
from heatproof.network.not_solved import NotSolved
from heatproof.network.solve import Run
from heatproof.sheet.project import start_from_sheet
from heatproof.verdict.solving import DutyNotSolved

ROOT = Path(__file__).resolve().parents[1]
CAR = ROOT / "tests" / "real_cars"
CORRECTED_ON = ("live1", "long1")
AMBIENT_K, AMBIENT_SD = 301.15, 1.5
"""28 ± 3 °C (two standard deviations), where a drive does not start cold."""
COLD_SD = 1.0
AGREE_K = 4.0
SCREENED_ON = "live10"
LEAST_K = {"coolant_temperature": 0.15, "intake_temperature": 0.15, "catalyst_temperature": 5.0}
MOST_CORRECTED = 6
WARM_K = 348.15
EARLY_S = 300.0
WARMED_UP_K = 353.15
QUANTITIES = ("coolant_temperature", "intake_temperature", "catalyst_temperature")
Z95 = 1.96


@dataclass
class Drive:
    """One drive, its run of the model, and the change of every reading by every doubtful value at one sd."""

    name: str
    run: TestRun
    cold: bool
    ambient_sd: float
    solved: Run
    change: dict[str, Floats]


def ambient_of(joined: Joined) -> tuple[float, float, bool]:
    """Ambient, its sd, and whether coolant and intake air agreed at the start: then that is the ambient."""
    coolant, intake = (joined.log.need(q) for q in QUANTITIES[:2])
    first = [float(c.values[c.measured][0]) for c in (coolant, intake)]
    cold = abs(first[0] - first[1]) <= AGREE_K and first[0] < 310.15
    return (min(first), COLD_SD, True) if cold else (AMBIENT_K, AMBIENT_SD, False)


def prepare_drive(path: Path, variant: Variant) -> tuple[TestRun, float, bool]:
    joined = join([read_log(path)])
    ambient, sd, cold = ambient_of(joined)
    prepared = prepare(joined, variant, name=path.name.split(".")[0], day=Day(ambient=ambient), cold=cold)
    return prepared.run, sd, cold


def reading(run: TestRun, quantity: str) -> Reading:
    return next(r for r in run.readings if r.channel.quantity == quantity)


def model(variant: Variant, run: TestRun) -> tuple[Run, dict[str, Floats]]:
    solved = run_logged(variant, run.logged)
    return solved, {q: shown_by(solved, reading(run, q)) for q in QUANTITIES}


def warmer(run: TestRun, kelvin: float) -> TestRun:
    weather = run.logged.weather.model_copy(update={"ambient": run.logged.weather.ambient + kelvin})
    return replace(run, logged=replace(run.logged, weather=weather))


def changes(
    variant: Variant, run: TestRun, base: dict[str, Floats], every: tuple[Parameter, ...], sd: float
) -> dict:
    """(values + 1, samples) of each quantity: what one standard deviation of each value does; the last row is the
    ambient's. A value whose move does not solve the other way is taken the other way; else it counts as nothing."""
    rows = []
    for parameter in every:
        moved = None
        for turn in (1.0, -1.0):
            low, high = parameter.bounds
            try:
                moved = turn, model(parameter.apply(variant, min(max(turn, low), high)), run)[1]
                break
            except (DutyNotSolved, NotSolved):
                continue
        rows.append(
            {q: np.zeros_like(base[q]) if moved is None else moved[0] * (moved[1][q] - base[q]) for q in base}
        )
    air = model(variant, warmer(run, 1.0))[1]
    rows.append({q: sd * (air[q] - base[q]) for q in base})
    return {q: np.array([row[q] for row in rows]) for q in base}


def those_that_matter(variant: Variant, drive: Drive, every: tuple[Parameter, ...]) -> tuple[Parameter, ...]:
    """Values whose one sd moves a reading of the screening drive by more than `LEAST_K`, root mean square."""
    moved = changes(variant, drive.run, drive.change, every, drive.ambient_sd)
    size = {q: np.sqrt(np.mean(m**2, axis=1)) for q, m in moved.items()}
    return tuple(p for k, p in enumerate(every) if any(size[q][k] > LEAST_K[q] for q in QUANTITIES))


def told_most(moved: list[dict], every: tuple[Parameter, ...]) -> tuple[Parameter, ...]:
    """The values that move coolant and intake air of the given drives most, beside what their sensors are worth."""
    sizes = [
        sum(float(np.mean(m[q][k] ** 2)) / PLACEMENT_K[q] ** 2 for m in moved for q in QUANTITIES[:2])
        for k in range(len(every))
    ]
    return tuple(every[k] for k in np.argsort(sizes)[::-1][:MOST_CORRECTED])


def warm(run: TestRun, quantity: str) -> np.ndarray:
    """Samples of warm driving: coolant above 75 °C, the first five minutes left out."""
    r, coolant = reading(run, quantity), reading(run, QUANTITIES[0])
    return (np.interp(r.time_s, coolant.time_s, coolant.values) > WARM_K) & (r.time_s >= EARLY_S)


@dataclass(frozen=True)
class Score:
    """Of one quantity in one drive, warm: K, share inside the 95 % band, mean half-width of it."""

    bias: float
    rmse: float
    inside: float
    half: float
    samples: int


def score(run: TestRun, quantity: str, said: Floats, spread: Floats) -> Score:
    r, keep = reading(run, quantity), warm(run, quantity)
    sensor = doubt_of(r.channel, ambient=run.logged.weather.ambient).total_K
    half = Z95 * np.hypot(spread, sensor)
    rest = (said - r.values)[keep]
    return Score(
        float(rest.mean()),
        float(np.sqrt(np.mean(rest**2))),
        float(np.mean(np.abs(rest) <= half[keep])),
        float(half[keep].mean()),
        int(keep.sum()),
    )


def warm_up_s(time: Floats, values: Floats) -> float:
    above = np.flatnonzero(values >= WARMED_UP_K)
    return float(time[above[0]]) if above.size else float("nan")


def pooled(scores: list[Score]) -> Score:
    n = np.array([s.samples for s in scores], float)
    mean = lambda x: float(np.sum(n * np.array(x)) / n.sum())  # noqa: E731
    return Score(
        mean([s.bias for s in scores]),
        float(np.sqrt(mean([s.rmse**2 for s in scores]))),
        mean([s.inside for s in scores]),
        mean([s.half for s in scores]),
        int(n.sum()),
    )


def row(name: str, s: Score, more: str = "") -> str:
    return f"| {name} | {s.bias:+.1f} | {s.rmse:.1f} | {s.inside:.0%} | ± {s.half:.1f} |{more}"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "car"
        start_from_sheet(place, read_source(CAR / "sheet.yaml", CAR))
        project = read_project(place)
        variant = project.bare_car()
        every = parameters_of(variant)
        lay_network(variant)

        def solve(path: Path) -> Drive:
            run, sd, cold = prepare_drive(path, variant)
            solved, base = model(variant, run)
            return Drive(run.name, run, cold, sd, solved, base)

        with ThreadPoolExecutor(2) as pool:
            drives = list(pool.map(solve, sorted((CAR / "drives").glob("*.csv.gz"))))
            print(f"{len(drives)} drives, {len(every)} uncertain values", flush=True)
            every = those_that_matter(variant, next(d for d in drives if d.name == SCREENED_ON), every)
            print(f"{len(every)} of them matter", flush=True)
            began = time.monotonic()
            moved = list(pool.map(lambda d: changes(variant, d.run, d.change, every, d.ambient_sd), drives))
            print(f"bands: {time.monotonic() - began:.0f} s", flush=True)
        before = {
            (d.name, q): score(d.run, q, d.change[q], np.sqrt((m[q] ** 2).sum(axis=0)))
            for d, m in zip(drives, moved, strict=True)
            for q in QUANTITIES
        }
        fitted = [
            replace(d.run, readings=[reading(d.run, q) for q in QUANTITIES[:2]])
            for d in drives
            if d.name in CORRECTED_ON
        ]
        chosen = told_most([m for d, m in zip(drives, moved, strict=True) if d.name in CORRECTED_ON], every)
        found = correct(variant, chosen, fitted)
        print(f"corrected: {time.monotonic() - began:.0f} s", flush=True)
        better = applied(variant, chosen, found.x)
        left = np.diag([1.0] * (len(every) + 1))
        index = [every.index(p) for p in chosen]
        left[np.ix_(index, index)] = found.covariance
        after, after_runs = {}, {}
        for d, m in zip(drives, moved, strict=True):
            after_runs[d.name], said = model(better, d.run)
            for q in QUANTITIES:
                spread = np.sqrt(np.einsum("is,ij,js->s", m[q], left, m[q]))
                after[d.name, q] = score(d.run, q, said[q], spread)
        text = page(
            drives,
            before,
            after,
            after_runs,
            [(p.path, float(x)) for p, x in zip(chosen, found.x, strict=True)],
        )
    (ROOT / "docs" / "real-cars.md").write_text(text, encoding="utf-8")
    print(text)


def page(
    drives: list[Drive], before: dict, after: dict, after_runs: dict, moved: list[tuple[str, float]]
) -> str:
    coolant, intake, catalyst = QUANTITIES
    held = [d.name for d in drives if d.name not in CORRECTED_ON]
    total = {q: pooled([before[d.name, q] for d in drives]) for q in QUANTITIES}
    rest_before = {q: pooled([before[n, q] for n in held]) for q in QUANTITIES}
    rest_after = {q: pooled([after[n, q] for n in held]) for q in QUANTITIES}
    lines = [HEAD]
    for q, title in (
        (coolant, "Coolant"),
        (intake, "Intake air"),
        (catalyst, "Catalyst (the engine computer's word)"),
    ):
        lines += [f"\n### {title}, warm driving, before any correction\n"]
        lines += ["| drive | bias, K | RMSE, K | inside 95 % band | half-width, K |", "|---|---|---|---|---|"]
        lines += [row(d.name, before[d.name, q]) for d in drives]
        lines += [row("**all**", total[q])]
    lines += [
        "\n### Warm-up to 80 °C\n",
        "| drive | measured, s | model, s | after correction, s |",
        "|---|---|---|---|",
    ]
    for d in drives:
        r = reading(d.run, coolant)
        if d.cold:
            fixed = history(after_runs[d.name], r.place)
            lines.append(
                f"| {d.name} | {warm_up_s(r.time_s, r.values):.0f} | {warm_up_s(r.time_s, d.change[coolant]):.0f} "
                f"| {warm_up_s(after_runs[d.name].time, fixed):.0f} |"
            )
    lines += [f"\n## After correction on {CORRECTED_ON[0]} and {CORRECTED_ON[1]}: the other eight\n"]
    lines += [
        "| drive | coolant RMSE before → after, K | inside | ± K | intake RMSE before → after, K | inside | ± K |"
    ]
    lines += ["|---|---|---|---|---|---|---|"]
    worse = []
    for n in [*held, None]:
        a, b = (after, before) if n else (None, None)
        ca, cb = (after[n, coolant], before[n, coolant]) if n else (rest_after[coolant], rest_before[coolant])
        ia, ib = (after[n, intake], before[n, intake]) if n else (rest_after[intake], rest_before[intake])
        del a, b
        worse += [
            f"{n} ({title})"
            for title, x, y in (("coolant", ca, cb), ("intake air", ia, ib))
            if n and x.rmse > y.rmse
        ]
        lines.append(
            f"| {n or '**all eight**'} | {cb.rmse:.1f} → {ca.rmse:.1f} | {ca.inside:.0%} | ± {ca.half:.1f} "
            f"| {ib.rmse:.1f} → {ia.rmse:.1f} | {ia.inside:.0%} | ± {ia.half:.1f} |"
        )
    lines += [
        "\nValues moved, in their own standard deviations: "
        + ", ".join(f"`{p}` {x:+.2f}" for p, x in moved)
        + "."
    ]
    lines += ["Drives worse after correction than before: " + (", ".join(worse) or "none") + "."]
    lines += [verdict(total, rest_after), where_the_intake_sensor_sits(drives), CAUSES, PUBLISHED]
    return "\n".join(lines).rstrip() + "\n"


def verdict(total: dict, rest: dict) -> str:
    coolant, intake, _ = QUANTITIES
    asked = [
        ("coolant RMSE before", total[coolant].rmse, "≤ 4.5 K", total[coolant].rmse <= 4.5, "K"),
        ("coolant RMSE after, unseen drives", rest[coolant].rmse, "≤ 2.8 K", rest[coolant].rmse <= 2.8, "K"),
        ("coolant half-width before", total[coolant].half, "≤ 10 K", total[coolant].half <= 10, "K"),
        ("intake half-width before", total[intake].half, "≤ 12 K", total[intake].half <= 12, "K"),
        ("coolant half-width after", rest[coolant].half, "≤ 5 K", rest[coolant].half <= 5, "K"),
        ("intake half-width after", rest[intake].half, "≤ 8 K", rest[intake].half <= 8, "K"),
    ]
    asked += [
        (f"{name} inside the band", 100 * s.inside, "90 to 99 %", 0.9 <= s.inside <= 0.99, "%")
        for name, s in (
            ("coolant, before:", total[coolant]),
            ("intake air, before:", total[intake]),
            ("coolant, after, unseen drives:", rest[coolant]),
            ("intake air, after, unseen drives:", rest[intake]),
        )
    ]
    out = ["\n## Asked and measured\n", "| figure | asked | measured | |", "|---|---|---|---|"]
    out += [f"| {n} | {a} | {v:.1f} {u} | {'met' if ok else 'missed'} |" for n, v, a, ok, u in asked]
    return "\n".join(out)


def where_the_intake_sensor_sits(drives: list[Drive]) -> str:
    """How far the reading stands between the model's air in the plenum and the plenum's wall."""
    out = [
        "\n## Where the intake sensor sits\n",
        "| drive | model's air in the manifold, °C | measured, °C | model's manifold wall, °C |",
    ]
    out += ["|---|---|---|---|"]
    for d in drives:
        r, keep = reading(d.run, QUANTITIES[1]), warm(d.run, QUANTITIES[1])
        wall = np.interp(r.time_s, d.solved.time, history(d.solved, "intake_manifold"))
        figures = (d.change[QUANTITIES[1]], r.values, wall)
        out.append(f"| {d.name} | " + " | ".join(f"{x[keep].mean() - 273.15:.0f}" for x in figures) + " |")
    return "\n".join(out)


HEAD = """# Real cars

Made by `python docs/real_cars.py`; do not edit. Ten drives of one small five-door car (2014, 1.5 L petrol engine without
turbo) in a warm coastal city: repository `eron93br/carOBD` (commit bf09e1c0), *Detecting Anomalies in the Engine Coolant
Sensor Using One-Class Classifiers*, IEEE INDIN 2019. `tests/real_cars` holds them, thinned to one row each 3 s.

The car was described by a [sheet](../tests/real_cars/sheet.yaml): data sheet from memory, all else class values with their
spreads. No value was moved to meet a drive. Driven by logged speed, engine speed and manifold pressure (air by speed and
density). Ambient was not logged: a start with coolant and intake air within 4 K of each other gives it (sd 1 K), else
28 ± 3 °C. The band holds every spread of the sheet, the ambient, and the sensor with its place. Bias is model less measured.
Warm driving: coolant above 75 °C, the first five minutes left out (how a warm car was driven before is not known).

## Before correction
"""

CAUSES = """
## Where it misses, and where to look

What the figures say is marked *seen*; what would explain it and was not tried here is marked *open*. No factor was set.

- **Intake air, 7 to 17 K low, and outside its band.** *Seen*: most readings lie between the model's air and the model's
  manifold wall, but on the drives that start cold they lie above both: a warm wall alone does not
  explain it. *Open*: where this car draws its air and where its sensor sits (the sheet does not ask), and air conditioning: it is
  taken as off, which in such a city is unlikely; a condenser at work warms what the engine breathes.
- **Catalyst, 260 to 320 K low.** *Seen*: on every drive alike. *Open*: the layout puts a downpipe ahead of the catalyst where
  cars of that year mostly have it at the ports; no heat of reaction is released in it; and the word may be the engine
  computer's estimate. Until that is settled, gas and metal behind the ports must not be called checked for such a car.
- **Warm-up, 3 to 4 min late.** *Seen*: on all three cold starts. *Open*: cold engines are run with late ignition, more
  fuel and fast idle, which sends more heat into coolant and gas; the model runs them as if warm.
- **Correction** on two drives pulls coolant heat down for the warm drives and makes the cold starts later and worse: the missing
  heat of the cold engine is paid for by other values. Intake air is not mended by any value it may move. Three drives' coolant
  and eight drives' intake air are worse after than before, which was not to be.
"""

PUBLISHED = """
## How far other such models were

| quantity | untuned | tuned, on drives not seen | source |
|---|---|---|---|
| coolant, warm driving | RMSE median 4.5 K (3.8 to 7.0 over 7 drives) | 2.8 K, worst drive 14.2 K | GRAD-project, commit a7ce7295 |
| coolant, warm-up | RMSE 21 K, bias +16 K | none found | a public student model on the log of DOI 10.35097/1130 |
| intake air | none found | none found | no published figure |
| catalyst | gas after the turbine, RMSE 14 %, cold starts included | none found | DOI 10.3390/en18071721 |

## What is not here

No second car: the steady points of a turbocharged car (oil less coolant, compressor outlet, intake pick-up), oil's time
constant, gas before the turbine and heat into the turbine housing are not yet held against a measurement. One car, one place,
one driver's roads; no bay temperature, no part, no oil, no soak was logged. A prototype must still be instrumented
([test days](theory/test-days.md)), and local codes and a qualified person have the last word.
"""


if __name__ == "__main__":
    main()
