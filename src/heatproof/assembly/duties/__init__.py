"""Duties: what the car does, second by second, as the network wants it."""
