"""Test logs: read, name, clean, align, find events, reduce. Needs `pip install "heatproof[logs]"` to read
files."""
