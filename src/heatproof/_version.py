"""The version, where every room may ask for it."""

__version__ = "0.2.0"
