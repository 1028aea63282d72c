"""Measuring outside the request: worker processes with limits, watched over, that may die at any moment."""
