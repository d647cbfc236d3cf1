"""Files of a small invented project with twelve measures and two short duties."""

import shutil
from pathlib import Path

HERE = Path(__file__).parent
SMALL = HERE.parent / "kit" / "small"

DUTY = """name: Hill
use: grade
air: {ambient: 38 degC, altitude: 500 m}
drive: {kind: grade, speed: 80 km/h, grade: 6 %, duration: 5 min}
soak: 8 min
"""
CRAWL = """name: Short crawl
use: street
air: {ambient: 40 degC}
drive: {kind: crawl, speed: 14 km/h, moving: 20 s, standing: 25 s, duration: 4 min}
soak: 5 min
"""


def write_choice(folder: Path) -> Path:
    """The project's files."""
    shutil.copytree(SMALL, folder)
    shutil.copy(HERE / "choice_kit.yaml", folder / "kit.yaml")
    for name, text in (("hill", DUTY), ("crawl", CRAWL)):
        (folder / "duties" / f"{name}.yaml").write_text("format: heatproof duty 1\n" + text, encoding="utf-8")
    return folder
