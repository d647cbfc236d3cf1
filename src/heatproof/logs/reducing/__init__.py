"""Spells, laps and steady windows; what a log says by itself."""
