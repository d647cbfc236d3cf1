"""Structural checks: one list of rules (`variant`), each a small function in the file of its section."""
