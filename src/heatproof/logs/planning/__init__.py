"""Which sensors, where, how many runs, what counts as pass."""
