"""Measured speeds; `python -m bench` prints them all in one table."""
