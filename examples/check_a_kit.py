"""Does anything get too hot? The verdict as a table, and why the closest part is as hot as it is."""

from typing import TYPE_CHECKING

from shared import project_named

from heatproof import Project, check, explain
from heatproof.session.tables import causes_frame, limits_frame

if TYPE_CHECKING:
    import pandas


def main(project: Project, *, spreads: bool = True) -> "tuple[pandas.DataFrame, pandas.DataFrame]":
    """Limits as a pandas table, and the causes of the closest part's rise."""
    verdict = check(project, spreads=spreads)
    print(verdict.sentence)
    limits = limits_frame(verdict)
    print(limits[["title", "peak_degC", "limit_degC", "margin_K", "state"]].head(8).round(1))
    worst = verdict.worst
    causes = causes_frame(explain(project, worst.part, duty=worst.duty, spreads=False))
    print(causes.head(5).round(1))
    for caution in verdict.cautions:
        print("Caution:", caution)
    return limits, causes


if __name__ == "__main__":
    main(project_named())
