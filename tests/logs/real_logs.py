"""Where the two real logs lie (CC BY 4.0, see tests/data/logs/README.md)."""

from pathlib import Path

DATA = Path(__file__).parents[1] / "data" / "logs"
SUMMER = DATA / "obd_summer_motorway.csv.gz"
WINTER = DATA / "obd_winter_cold_start.csv.gz"
