"""The test day, a folder a step (see `docs/architecture.md`). Needs `pip install "heatproof[logs]"` to read
files."""
