"""Release and sheets from a session: what `heatproof release` and `heatproof sheets` do, as functions."""

from pathlib import Path

from shared import project_named

from heatproof import Project
from heatproof.report.release import build, write
from heatproof.report.sheets.build import sheets
from heatproof.report.sheets.build import write as write_sheets


def main(project: Project, folder: Path) -> list[Path]:
    """Paths written. A kit that is over without a signed deviation gives a review marked as a draft."""
    built = build(project)
    print(
        "Released."
        if built.released
        else "Not released: " + ", ".join(one.title for one in built.gathered.blocks)
    )
    paths = [*write(built, folder), *write_sheets(sheets(built.gathered, ["customer", "calibrator"]), folder)]
    for path in paths:
        print(path)
    return paths


if __name__ == "__main__":
    main(project_named(), Path("releases"))
