"""One bay looked at: its shapes, gaps, and temperatures in one duty."""

from collections.abc import Iterable
from dataclasses import dataclass

from heatproof.assembly.bay.advice import (
    Gap,
    clearance_findings,
    clearances,
    soaking_findings,
    touch_findings,
)
from heatproof.assembly.bay.factors import Factors, factors_of
from heatproof.assembly.bay.findings import bay_findings
from heatproof.assembly.bay.hot_spots import BayState, LocalPeak, bay_at, bay_peaks, local_peaks
from heatproof.assembly.bay.lumps import geometry_on
from heatproof.assembly.bay.refused import refused_shape
from heatproof.assembly.bay.scene import scene_of
from heatproof.assembly.model import Solved, lay_network
from heatproof.kit.findings import Finding, Refused
from heatproof.kit.project import Project
from heatproof.kit.records.variant import Variant
from heatproof.numerics.at_once import Progress
from heatproof.shapes.errors import ShapeError
from heatproof.shapes.scene import Scene
from heatproof.study.questions.check import variant_of
from heatproof.study.questions.explain import named_duty
from heatproof.verdict.solving import solve_all

OFF = "geometry is off in the car file; this view computes with it on"


@dataclass(frozen=True, eq=False)
class BayView:
    """A bay in one duty. `switched`: whether geometry was off in the file and is on here."""

    variant: Variant
    scene: Scene
    factors: Factors
    duty: str
    solved: Solved
    state: BayState
    peaks: BayState
    local: list[LocalPeak]
    gaps: list[Gap]
    findings: list[Finding]
    switched: bool


def with_geometry(variant: Variant) -> Variant:
    """The variant with shapes deciding. Refused where the car has no bay or no shapes."""
    if variant.bay is None or not any(part.shape for part in variant.parts.values()):
        what = "the car has no bay in space"
        step = "add bay: {lower: …, upper: …} to car.yaml and shape: … to its parts"
        raise Refused([Finding("error", what, variant.where("bay"), next_step=step)])
    return variant if geometry_on(variant) else variant.with_value("bay.geometry", "on")


def look(
    project: Project,
    measures: Iterable[str] | Variant | None = None,
    *,
    duty: str | None = None,
    time: float | None = None,
    within: float = 0.15,
    progress: Progress | None = None,
) -> BayView:
    """A bay at one time (s; its hottest instant where left out) of one duty (the one with the hottest
    surfaces). Raises Refused and DutyNotSolved."""
    built, _ = variant_of(project, measures)
    variant = with_geometry(built)
    try:
        duties = named_duty(project, duty) if duty is not None else project.duties
        solved = solve_all(variant, duties, lay_network(variant))
        key, state = _hottest(solved, time)
        peaks, gaps = bay_peaks(solved[key]), clearances(variant, within=within)
        found = bay_findings(variant) + clearance_findings(variant, gaps) + soaking_findings(variant, gaps)
        if built is not variant:
            found.append(
                Finding("note", OFF, variant.where("bay.geometry"), next_step='write geometry: "on"')
            )
        found += touch_findings(variant, bay_at(solved[key], float(solved[key].run.time[-1])))
        local = local_peaks(solved[key], state.time)
        return BayView(
            variant=variant,
            scene=scene_of(variant),
            factors=factors_of(variant),
            duty=key,
            solved=solved[key],
            state=state,
            peaks=peaks,
            local=local,
            gaps=gaps,
            findings=found,
            switched=built is not variant,
        )
    except ShapeError as error:
        raise refused_shape(variant, error) from error


def _hottest(solved: dict[str, Solved], time: float | None) -> tuple[str, BayState]:
    """The duty whose surfaces get hottest on average, and its state at a time."""
    states = {key: bay_at(one, time) for key, one in solved.items()}
    area = next(iter(states.values())).scene.patch_areas
    key = max(states, key=lambda k: float(area @ states[k].temperatures))
    return key, states[key]
