"""Uncertain values fitted to logs; kit files, memory, the whole test day."""
