"""Answers of a session: the results of every question, with a table, a few lines of text, and HTML for notebooks."""

import html
from typing import TYPE_CHECKING, Any

from heatproof.assembly.model import Solved
from heatproof.session import plots, tables
from heatproof.study.questions.choose import Chosen
from heatproof.study.questions.compare import Comparison
from heatproof.study.questions.explain import Explained
from heatproof.study.questions.rating import Rating
from heatproof.study.questions.size import Sized
from heatproof.study.questions.sweep import Swept
from heatproof.study.questions.tolerance import Tolerances
from heatproof.verdict.cautions import USUAL
from heatproof.verdict.verdict import Verdict
from heatproof.verdict.words import ZERO_C

if TYPE_CHECKING:
    import pandas
    import xarray
    from matplotlib.axes import Axes

MOST_ROWS = 12


class Answer:
    """What every answer can: `table`, a repr of a few lines, HTML in a notebook. Cautions go with each."""

    @property
    def table(self) -> "pandas.DataFrame":
        """The answer as a frame; `attrs["units"]` says the unit of each column. Refused where pandas is missing."""
        raise NotImplementedError

    def lines(self) -> list[str]:
        """What it says, a sentence a line."""
        raise NotImplementedError

    def __repr__(self) -> str:
        kind = type(self).__name__.removesuffix("Answer")
        return "\n".join([f"<{kind}>", *(f"  {line}" for line in self.lines()), f"  {self._cautions()[0]}"])

    def _repr_html_(self) -> str:
        said = "".join(f"<p>{html.escape(line)}</p>" for line in self.lines())
        frame, units = self.table, self.table.attrs["units"]
        head = frame.head(MOST_ROWS).rename(
            columns={name: f"{name} [{unit}]" for name, unit in units.items()}
        )
        more = (
            f"<p>{len(frame) - MOST_ROWS} more rows in <code>.table</code></p>"
            if len(frame) > MOST_ROWS
            else ""
        )
        cautions = "".join(f"<li>{html.escape(caution)}</li>" for caution in self._cautions())
        return f"{said}{head.to_html(float_format='%.4g', na_rep='–')}{more}<ul>{cautions}</ul>"

    def _cautions(self) -> tuple[str, ...]:
        return tuple(getattr(self, "cautions", ())) or USUAL


class CheckAnswer(Answer, Verdict):
    """A verdict. `limits` is its table: one row a limit and duty."""

    @property
    def table(self) -> "pandas.DataFrame":
        """The same as `limits`."""
        return self.limits

    @property
    def limits(self) -> "pandas.DataFrame":
        """One row a limit and duty, least left first; columns as in `tables.LIMITS`."""
        return tables.limits_frame(self)

    def lines(self) -> list[str]:
        """The verdict's sentence, and how much stands behind it."""
        held = sum(row.state == "holds" for row in self.worst_rows)
        counts = f"{held} of {len(self.worst_rows)} parts hold, {len(self.duties)} duties, {len(self.findings)} findings"
        return [self.sentence, counts]

    def plot(self, **others: Verdict) -> "Axes":
        """Margins of the parts with least left, beside those of other verdicts given by name."""
        return plots.plot_margins({"this": self, **others})


class ExplainAnswer(Answer, Explained):
    """Where a part's degrees come from. `table`: causes, K of its rise over ambient."""

    @property
    def table(self) -> "pandas.DataFrame":
        """Causes, largest first; they add up to the rise."""
        return tables.causes_frame(self)

    def lines(self) -> list[str]:
        """Part, duty, instant, temperature and the largest cause."""
        text = f"{self.title} in {self.duty_name} at {self.time:.0f} s: {self.temperature - ZERO_C:.1f} degC"
        largest = (
            f"{self.causes[0][1]:.1f} K of its rise of {self.rise:.1f} K from {self.causes[0][0]}"
            if self.causes
            else ""
        )
        return [line for line in (text, largest) if line]


class CompareAnswer(Answer, Comparison):
    """Variants side by side. `table`: least margin of every part (K), a column a variant."""

    @property
    def table(self) -> "pandas.DataFrame":
        """Least margin of every part in K, a column a variant."""
        return tables.comparison_frame(self)

    def lines(self) -> list[str]:
        """Each variant's name and its verdict's sentence."""
        return [f"{compared.name}: {compared.verdict.sentence}" for compared in self.variants]

    def _cautions(self) -> tuple[str, ...]:
        return (
            tuple(dict.fromkeys(c for compared in self.variants for c in compared.verdict.cautions)) or USUAL
        )


class ChooseAnswer(Answer, Chosen):
    """The cheapest set of measures that holds. `table`: it, and those near it."""

    @property
    def table(self) -> "pandas.DataFrame":
        """The sets worth a look: best, closest, runners-up, front."""
        return tables.sets_frame(self)

    def lines(self) -> list[str]:
        """The set found, or the one that comes nearest."""
        best = self.best or self.closest
        head = "Cheapest set that holds" if self.best else "No set holds; closest"
        measures = ", ".join(best.measures) or "no measures"
        return [f"{head}: {measures}", f"{best.cost:g} {self.currency}, least slack {best.slack:+.1f} K"]

    def _cautions(self) -> tuple[str, ...]:
        return self.verdict.cautions


class ToleranceAnswer(Answer, Tolerances):
    """How far values may be off. `table`: each alone and together, in its own unit."""

    @property
    def table(self) -> "pandas.DataFrame":
        """One row a value."""
        return tables.tolerances_frame(self)

    def lines(self) -> list[str]:
        """How many values, and what share of draws holds."""
        return [
            f"{len(self.items)} values; together at {self.share:.0%} of the room each has alone, {self.holding:.0%} hold"
        ]


class RatingAnswer(Answer, Rating):
    """Highest ambient by use and boost. `table`: one row a cell."""

    @property
    def table(self) -> "pandas.DataFrame":
        """One row a cell."""
        return tables.rating_frame(self)

    def lines(self) -> list[str]:
        """The lowest of the highest ambients."""
        known = [cell.ambient for cell in self.cells if cell.ambient is not None]
        never = len(self.cells) - len(known)
        text = f"{len(self.cells)} cells, {never} that never hold"
        return [text, f"holds everywhere else up to {min(known) - ZERO_C:.1f} degC"] if known else [text]


class SizeAnswer(Answer, Sized):
    """Sizes found within their ranges. `table`: before and found, each in its own unit."""

    @property
    def table(self) -> "pandas.DataFrame":
        """One row a size."""
        return tables.sizes_frame(self)

    def lines(self) -> list[str]:
        """Slack before and after."""
        return [
            f"{'Holds' if self.holds else 'Does not hold'}: slack {self.slack[0]:+.1f} K before, {self.slack[1]:+.1f} K found"
        ]


class SweepAnswer(Answer, Swept):
    """Many variants. `table`: one row each."""

    @property
    def table(self) -> "pandas.DataFrame":
        """One row a variant."""
        return tables.sweep_frame(self)

    def lines(self) -> list[str]:
        """How many variants there are and how many hold."""
        return [f"{len(self.outcomes)} variants, {self.holding} hold by their margins alone"]


class SolvedDuty(Solved):
    """One duty of one variant, solved."""

    @property
    def data(self) -> "xarray.Dataset":
        """Temperatures, flows and signals over time, as stored; `histories(run, every=…)` for even steps."""
        return tables.histories(self)

    def plot(self, *masses: str) -> "Axes":
        """Temperatures (°C) over time (min) of the named parts."""
        return plots.plot_history(self, *masses)

    def __repr__(self) -> str:
        run = self.run
        size = f"{run.time.size} rows, {len(run.network.masses)} masses, {len(run.network.branches)} branches"
        return f"<Solved {self.duty.name}: {float(run.time[-1]):.0f} s, {size}; see .data>"

    def _repr_html_(self) -> str:
        return f"<p>{html.escape(repr(self))}</p>{self.data._repr_html_()}"


class Runs(dict[str, SolvedDuty]):
    """Duty key to its run."""

    def __repr__(self) -> str:
        return "\n".join(["<Runs>", *(f"  {key}: {run!r}" for key, run in self.items())])

    def only(self) -> SolvedDuty:
        """The run, where there is just one. ValueError otherwise."""
        (run,) = self.values()
        return run


def answer(kind: type[Any], result: Any) -> Any:
    """The result as an answer of that kind."""
    return kind(**vars(result))
