"""A test plan made: what the command and the page share, with refusals in the words of a door."""

from collections.abc import Mapping
from dataclasses import dataclass

from heatproof.doors.plan_card import card_of
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import Variant
from heatproof.logs.planning.acceptance import Expected, expected
from heatproof.logs.planning.plan import Plan, make_plan
from heatproof.numerics.at_once import Tell
from heatproof.report.reader_units import ReaderUnits
from heatproof.report.test_card import card_html
from heatproof.verdict.verdict import Verdict


@dataclass(frozen=True)
class Wanted:
    """What a plan is asked for. ambient: of the day, K; None: each duty's own. fitted: places with a sensor anyway."""

    ambient: float | None = None
    sensors: int = 6
    runs: int = 4
    fitted: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Planned:
    """A plan with what its sensors should read. measures: titles of what is fitted."""

    wanted: Wanted
    plan: Plan
    readings: tuple[Expected, ...]
    variant: Variant
    verdict: Verdict
    measures: tuple[str, ...]

    def card(self, units: ReaderUnits) -> str:
        """The test card, an HTML page."""
        return card_html(card_of(self.plan, self.readings, self.variant, self.verdict, self.measures, units))


def planned(
    project: Project,
    variant: Variant,
    duties: Mapping[str, Duty],
    verdict: Verdict,
    wanted: Wanted,
    *,
    jobs: int = 2,
    tell: Tell | None = None,
) -> Planned:
    """The plan without the runs behind it. Refused where no margin has a spread, or a place is none."""
    try:
        plan = make_plan(
            variant,
            duties,
            verdict,
            ambient=wanted.ambient,
            sensors=wanted.sensors,
            runs=wanted.runs,
            fitted=wanted.fitted,
            jobs=jobs,
            tell=tell,
        )
    except Refused:
        raise
    except ValueError as error:
        finding = Finding("error", str(error), next_step="give uncertain values a spread")
        raise Refused([finding]) from error
    readings = expected(plan, variant, verdict)
    titles = tuple(project.measures[name].title or name for name in variant.fitted)
    return Planned(wanted, plan.without_runs(), readings, variant, verdict, titles)
