"""What happens after key-off? Histories as an xarray Dataset and as a plot."""

from pathlib import Path
from typing import TYPE_CHECKING

from shared import project_named

from heatproof import Project, run
from heatproof.session.plots import plot_history
from heatproof.session.tables import histories

if TYPE_CHECKING:
    import xarray

PARTS = ("bearing_housing", "brake_line", "engine_cover")


def main(project: Project, picture: Path, duty: str = "ten_pulls") -> "xarray.Dataset":
    """The Dataset; the plot is written to `picture`."""
    import matplotlib

    matplotlib.use("agg")
    from matplotlib import pyplot

    solved = run(project, None, duty)[duty]
    data = histories(solved, every=10.0)
    after = data.temperature.sel(time=slice(data.attrs["key_off_s"], None))
    peaks = (after.max("time") - after.isel(time=0)).sel(mass=list(PARTS))
    print("Rise after key-off [K]:")
    print(peaks.to_series().round(1))
    plot_history(solved, *PARTS)
    pyplot.savefig(picture, dpi=120)
    print(f"Wrote {picture}")
    return data


if __name__ == "__main__":
    main(project_named(), Path("after_key_off.png"))
