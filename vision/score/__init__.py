"""Measurements against known truths."""
