"""Run by `make dist` in an environment that holds the built package and nothing else: it must work as installed.

`python installed.py SOURCES` with the folder of the sources, which must not be what is imported.
"""

import json
import subprocess
import sys
import tempfile
from importlib import metadata, resources
from pathlib import Path

import heatproof


def heatproof_says(*arguments: str) -> "subprocess.CompletedProcess[str]":
    """What the installed command answers; statuses 0 and 1 are verdicts, all others are failures."""
    command = Path(sys.executable).with_name("heatproof")
    answer = subprocess.run([command, *arguments], capture_output=True, text=True)
    assert answer.returncode in (0, 1), f"{arguments}: status {answer.returncode}\n{answer.stderr}"
    return answer


def main(sources: Path) -> None:
    """Version and licence, files that are no code, and a check of each shipped example."""
    package = Path(heatproof.__file__).resolve()
    assert sources.resolve() not in package.parents or "fresh" in package.parts, f"imported from {package}"
    assert metadata.version("heatproof") == heatproof.__version__
    assert metadata.metadata("heatproof")["License-Expression"] == "MIT"
    licences = [f for f in metadata.files("heatproof") or () if f.name == "LICENSE"]
    assert licences, "the licence is not in the package"
    page = resources.files("heatproof") / "doors" / "page" / "static"
    assert any(entry.name.endswith(".html") for entry in page.iterdir()), (
        "the page's files are not in the package"
    )
    assert (resources.files("heatproof") / "py.typed").is_file()
    with tempfile.TemporaryDirectory() as folder:
        listed = heatproof_says("new", "--list").stdout
        examples = [line.split(":")[0].split()[0] for line in listed.splitlines() if line.strip()]
        assert examples
        for example in examples:
            project = str(Path(folder) / example)
            heatproof_says("new", project, "--from", example)
            verdict = json.loads(heatproof_says("check", project, "--no-spread", "--json").stdout)
            assert verdict["limits"], example
            print(f"{example}: {len(verdict['limits'])} limits judged, verdict {verdict['verdict']}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
