"""Answers for a terminal."""
